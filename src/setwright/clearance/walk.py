"""Distance of one piece along one move from one body: down the body's tree, nearest box first.

A box is left out when it cannot hold anything nearer than what is known: its gap to the box around the moving piece, or its gap to
the slab that separates the nearest pair so far, is already as wide. Both are lower bounds, so nothing near is ever left out.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.clearance.cull import set_piece_box
from setwright.clearance.separation import separate
from setwright.clearance.support import farthest_of_piece
from setwright.clearance.tree import DEEPEST, Forest

__all__ = ["near_line"]


@kernel
def _nearer_end(meridian: int, shape: NDArray[np.float64], line: NDArray[np.float64], nx: float, ny: float, nz: float) -> float:
    """Least n·p over the moving piece."""
    x, y, z = farthest_of_piece(meridian, shape, -nx, -ny, -nz)
    at_tip = nx * x + ny * y + nz * z
    return at_tip + float(min(nx * line[0] + ny * line[1] + nz * line[2], nx * line[3] + ny * line[4] + nz * line[5]))


@kernel
def _gap(forest: Forest, node: int, swept: NDArray[np.float64], slab: NDArray[np.float64]) -> float:
    """Lower bound of the distance of anything in a node's box from the moving piece; `slab` (4,): unit normal, nearer end."""
    square = 0.0
    across = float(slab[3])
    for axis in range(3):
        low, high = forest.box[node, axis], forest.box[node, axis + 3]
        apart = max(low - swept[axis + 3], swept[axis] - high)
        if apart > 0.0:
            square += apart * apart
        across -= slab[axis] * (high if slab[axis] > 0.0 else low)
    return max(math.sqrt(square), across)


@kernel
def near_line(
    meridian: int, shape: NDArray[np.float64], line: NDArray[np.float64], forest: Forest, body: int, bound: float, hint: int,
    work: NDArray[np.float64],
) -> tuple[float, float, int]:  # fmt: skip
    """Least distance of a piece moved along a straight line from the solids of a body, if it is less than `bound`.

    Returns lower bound, upper bound (mm) and the nearest solid; the lower bound always holds and is never above `bound`; the
    others are inf and -1 if nothing nearer than `bound` was found. `line` (6,) tip at start and end; `hint`: a solid likely to be
    near, or -1; `work` as for `separate`, `work[8, :6]` on return the nearest points on piece and body. A piece wholly inside a
    closed surface is not noticed here: see `inside`.
    Error bound: as `separate`.
    """
    swept, slab = np.empty(6), np.zeros(4)
    slab[3] = -np.inf
    set_piece_box(shape, meridian, line, swept)
    best, low, nearest = bound, bound, -1
    stack, gaps = np.empty(DEEPEST, np.int32), np.empty(DEEPEST)
    stack[0], gaps[0], depth = forest.root[body], _gap(forest, forest.root[body], swept, slab), 1
    if gaps[0] >= bound:
        return bound, np.inf, -1
    first, last = max(hint, 0), hint + 1
    while True:
        for solid in range(first, last):
            lower, upper = separate(meridian, shape, line, forest.kind[solid], forest.data[solid], best, work)
            low = min(low, lower)
            if upper < best:
                best, nearest = upper, solid
                work[8, :6] = work[6, :6]
                slab[:3] = work[7, :3]
                slab[3] = _nearer_end(meridian, shape, line, slab[0], slab[1], slab[2])
        first = last = 0
        while depth > 0 and last == 0:
            depth -= 1
            node = stack[depth]
            if gaps[depth] >= best or _gap(forest, node, swept, slab) >= best:
                continue
            left = forest.left[node]
            if left < 0:
                first, last = forest.span[node, 0], forest.span[node, 1]
                continue
            one, other = _gap(forest, left, swept, slab), _gap(forest, left + 1, swept, slab)
            near = left if one <= other else left + 1
            stack[depth], gaps[depth] = 2 * left + 1 - near, max(one, other)
            stack[depth + 1], gaps[depth + 1] = near, min(one, other)
            depth += 2
        if last == 0 or best <= 0.0:
            return low, best if nearest >= 0 else np.inf, nearest
