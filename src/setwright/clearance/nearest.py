"""The least distance from points to a closed surface of triangles, through a tree of boxes."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.clearance.tree import DEEPEST, grow

__all__ = ["nearest_distance"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]


def nearest_distance(
    points: NDArray[np.float64], triangles: NDArray[np.float64], at_most: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Distance of points float64 (n, 3) from triangles float64 (m, 3, 3), m >= 1, all mm; float64 (n,), never more than `at_most`
    float64 (n,), an upper bound known before (inf if none). Exact to round-off of the coordinates."""
    low, high = triangles.min(axis=1), triangles.max(axis=1)
    tree = grow([np.zeros(len(triangles), np.uint8)], [triangles.reshape(-1, 9)], [np.hstack([low, high])])
    return _all_nearest(np.ascontiguousarray(points), tree.data, tree.box, tree.left, tree.span, at_most)


@kernel
def _all_nearest(points: Floats, data: Floats, box: Floats, left: Ints, span: Ints, at_most: Floats) -> Floats:
    found = np.empty(points.shape[0])
    waiting = np.empty(DEEPEST, np.int64)
    for i in range(points.shape[0]):
        p = points[i]
        best = at_most[i] * at_most[i]
        waiting[0] = 0
        depth = 1
        while depth > 0:
            depth -= 1
            node = waiting[depth]
            if _from_box(p, box[node]) >= best:
                continue
            if left[node] < 0:
                for solid in range(span[node, 0], span[node, 1]):
                    best = min(best, _from_triangle(p, data[solid]))
                continue
            near, far = left[node], left[node] + 1
            if _from_box(p, box[far]) < _from_box(p, box[near]):
                near, far = far, near
            waiting[depth] = far
            waiting[depth + 1] = near
            depth += 2
        found[i] = math.sqrt(best)
    return found


@kernel
def _from_box(p: Floats, box: Floats) -> float:
    """Square of the distance from a box (0 inside)."""
    total = 0.0
    for axis in range(3):
        away = max(box[axis] - p[axis], p[axis] - box[axis + 3], 0.0)
        total += away * away
    return total


@kernel
def _from_triangle(p: Floats, t: Floats) -> float:
    """Square of the distance from a triangle: from its plane if the foot lies inside, else from the nearest side."""
    ux, uy, uz = t[3] - t[0], t[4] - t[1], t[5] - t[2]
    vx, vy, vz = t[6] - t[0], t[7] - t[1], t[8] - t[2]
    wx, wy, wz = p[0] - t[0], p[1] - t[1], p[2] - t[2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    area = nx * nx + ny * ny + nz * nz
    if area > 0.0:
        a = ((uy * wz - uz * wy) * nx + (uz * wx - ux * wz) * ny + (ux * wy - uy * wx) * nz) / area
        b = ((wy * vz - wz * vy) * nx + (wz * vx - wx * vz) * ny + (wx * vy - wy * vx) * nz) / area
        if a >= 0.0 and b >= 0.0 and a + b <= 1.0:
            height = wx * nx + wy * ny + wz * nz
            return float(height * height / area)
    best = math.inf
    for k in range(3):
        i, j = 3 * k, 3 * ((k + 1) % 3)
        best = min(best, _from_side(p, t[i : i + 3], t[j : j + 3]))
    return float(best)


@kernel
def _from_side(p: Floats, a: Floats, b: Floats) -> float:
    """Square of the distance from a straight side."""
    length = along = 0.0
    for axis in range(3):
        length += (b[axis] - a[axis]) ** 2
        along += (b[axis] - a[axis]) * (p[axis] - a[axis])
    share = min(max(along / length, 0.0), 1.0) if length > 0.0 else 0.0
    total = 0.0
    for axis in range(3):
        total += (p[axis] - a[axis] - share * (b[axis] - a[axis])) ** 2
    return total
