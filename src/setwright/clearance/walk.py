"""Distance of one piece along one move from one body: down the body's tree, nearest box first.

A box is left out when it cannot hold anything nearer than what is known: its gap to the box around the moving piece, or its gap to
the slab that separates the nearest pair so far, is already as wide. Both are lower bounds, so nothing near is ever left out.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.clearance.separation import separate
from setwright.clearance.support import farthest_of_piece
from setwright.clearance.tree import DEEPEST, Forest

__all__ = ["near_line"]


@kernel
def _box_of(shape: NDArray[np.float64], meridian: int, line: NDArray[np.float64], swept: NDArray[np.float64]) -> None:
    """Least and greatest corner (6,) of the piece along the line."""
    wide = max(shape[2], shape[3])
    if meridian == 1 and shape[0] <= shape[5] <= shape[1]:
        wide = shape[4] + shape[6]
    for axis in range(3):
        low, high = (shape[0], shape[1]) if axis == 2 else (-wide, wide)
        swept[axis] = min(line[axis], line[axis + 3]) + low
        swept[axis + 3] = max(line[axis], line[axis + 3]) + high


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
def _try_solid(
    meridian: int, shape: NDArray[np.float64], line: NDArray[np.float64], forest: Forest, solid: int, bound: float,
    work: NDArray[np.float64], slab: NDArray[np.float64],
) -> tuple[float, float]:  # fmt: skip
    """Bounds of the distance to one solid; a pair nearer than `bound` leaves its points in `work[8]` and its slab in `slab`."""
    lower, upper = separate(meridian, shape, line, forest.kind[solid], forest.data[solid], bound, work)
    if upper < bound:
        for column in range(6):
            work[8, column] = work[6, column]
        if upper > 0.0:
            for axis in range(3):
                slab[axis] = work[7, axis]
            slab[3] = _nearer_end(meridian, shape, line, slab[0], slab[1], slab[2])
    return lower, upper


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
    _box_of(shape, meridian, line, swept)
    best, low, nearest = bound, bound, -1
    root = forest.root[body]
    if _gap(forest, root, swept, slab) >= bound:
        return bound, np.inf, -1
    if hint >= 0:
        lower, upper = _try_solid(meridian, shape, line, forest, hint, best, work, slab)
        low = min(low, lower)
        if upper < best:
            best, nearest = upper, hint
    stack, gaps = np.empty(DEEPEST, np.int32), np.empty(DEEPEST)
    stack[0], gaps[0], depth = root, 0.0, 1
    while depth and best > 0.0:
        depth -= 1
        node = stack[depth]
        if gaps[depth] >= best:
            continue
        left = forest.left[node]
        if left >= 0:
            first, second = _gap(forest, left, swept, slab), _gap(forest, left + 1, swept, slab)
            near, far = (left, left + 1) if first <= second else (left + 1, left)
            stack[depth], gaps[depth] = far, max(first, second)
            stack[depth + 1], gaps[depth + 1] = near, min(first, second)
            depth += 2
            continue
        if _gap(forest, node, swept, slab) >= best:
            continue
        for solid in range(forest.span[node, 0], forest.span[node, 1]):
            if solid != hint:
                lower, upper = _try_solid(meridian, shape, line, forest, solid, best, work, slab)
                low = min(low, lower)
                if upper < best:
                    best, nearest = upper, solid
    return low, best if nearest >= 0 else np.inf, nearest
