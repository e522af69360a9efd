"""Whether a point lies inside a body's closed triangle surfaces: the one case in which nothing is touched and all is lost.

A ray goes from the point along +Z; every triangle it passes adds the sense in which it is passed. The projected point is on one
definite side of every projected side, computed by the same operations in both triangles that share it, so a ray through a side or a
corner counts once: no case is ambiguous, no direction has to be tried again.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.clearance.tree import DEEPEST, Forest

__all__ = ["is_inside"]


@kernel
def _passed(data: NDArray[np.float64], px: float, py: float) -> int:
    """Turns of the projected triangle about the projected point: 1 or -1 if it holds the point, else 0."""
    turns = 0
    for corner in range(3):
        a, b = 3 * corner, 3 * ((corner + 1) % 3)
        up = data[b + 1] > data[a + 1]
        low, high = (a, b) if up else (b, a)
        if data[low + 1] <= py < data[high + 1]:
            side = (data[high] - data[low]) * (py - data[low + 1]) - (data[high + 1] - data[low + 1]) * (px - data[low])
            if side > 0.0:
                turns += 1 if up else -1
    return turns


@kernel
def _above(data: NDArray[np.float64], turns: int, px: float, py: float, pz: float) -> bool:
    """Whether the plane of a triangle whose projection holds the point passes above it."""
    if pz < min(data[2], data[5], data[8]):
        return True
    if pz > max(data[2], data[5], data[8]):
        return False
    ux, uy, uz = data[3] - data[0], data[4] - data[1], data[5] - data[2]
    vx, vy, vz = data[6] - data[0], data[7] - data[1], data[8] - data[2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    rise = nx * (data[0] - px) + ny * (data[1] - py) + nz * (data[2] - pz)
    return bool(rise * turns > 0.0)


@kernel
def is_inside(forest: Forest, body: int, px: float, py: float, pz: float) -> bool:
    """Whether point p (mm) lies inside what the triangles of `body` enclose.

    Exact for points farther from the surface than round-off; boxes and cylinders of the body do not count here.
    """
    stack = np.empty(DEEPEST, np.int32)
    stack[0], depth, winding = forest.root[body], 1, 0
    while depth:
        depth -= 1
        node = stack[depth]
        box = forest.box[node]
        if px < box[0] or px > box[3] or py < box[1] or py > box[4] or pz > box[5]:
            continue
        if forest.left[node] >= 0:
            stack[depth], stack[depth + 1] = forest.left[node], forest.left[node] + 1
            depth += 2
            continue
        for solid in range(forest.span[node, 0], forest.span[node, 1]):
            if forest.kind[solid] == 0:
                turns = _passed(forest.data[solid], px, py)
                if turns != 0 and _above(forest.data[solid], turns, px, py, pz):
                    winding += turns
    return winding != 0
