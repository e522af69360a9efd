"""Distance of one convex piece, moved along a straight line, from one convex solid: between two proven bounds.

The iteration of Gilbert, Johnson and Keerthi walks towards the point of the difference set nearest to the origin. Every step gives
two numbers that hold whatever happens later: the distance of two points found (an upper bound) and the width of the empty slab
across the last direction (a lower bound). They close in on each other; if rounding stops them early, both still hold.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, DISTANCE_GAP_MM
from setwright.clearance.simplex import INSIDE, reduce_simplex
from setwright.clearance.support import farthest_of_piece, farthest_of_solid

__all__ = ["WORK_ROWS", "separate"]

WORK_ROWS: Final = 9
"""Rows of the (n, 9) work array: 0-3 the simplex, 4 its weights, 5 the direction, 6 the nearest points and 7 the direction of one
pair, 8 the nearest points of the best pair so far."""

_MOST_STEPS: Final = 200


@kernel
def _add_vertex(
    meridian: int, shape: NDArray[np.float64], line: NDArray[np.float64], kind: int, data: NDArray[np.float64],
    work: NDArray[np.float64], row: int,
) -> None:  # fmt: skip
    """Put into `work[row]` the difference-set vertex farthest in the direction `work[5]`, with its points on piece and solid."""
    dx, dy, dz = work[5, 0], work[5, 1], work[5, 2]
    px, py, pz = farthest_of_piece(meridian, shape, dx, dy, dz)
    end = 3 if (line[3] - line[0]) * dx + (line[4] - line[1]) * dy + (line[5] - line[2]) * dz > 0.0 else 0
    px, py, pz = px + line[end], py + line[end + 1], pz + line[end + 2]
    qx, qy, qz = farthest_of_solid(kind, data, -dx, -dy, -dz)
    work[row, 0], work[row, 1], work[row, 2] = px - qx, py - qy, pz - qz
    work[row, 3], work[row, 4], work[row, 5] = px, py, pz
    work[row, 6], work[row, 7], work[row, 8] = qx, qy, qz


@kernel
def _keep_points(work: NDArray[np.float64], count: int) -> None:
    """Write the nearest points found, piece then solid, into `work[6]`."""
    for column in range(6):
        work[6, column] = 0.0
        for row in range(count):
            work[6, column] += work[4, row] * work[row, 3 + column]


@kernel
def separate(
    meridian: int, shape: NDArray[np.float64], line: NDArray[np.float64], kind: int, data: NDArray[np.float64], bound: float,
    work: NDArray[np.float64],
) -> tuple[float, float]:  # fmt: skip
    """Lower and upper bound (mm) of the distance; (0, 0) when piece and solid meet.

    `meridian`, `shape` (7,): the piece as in `PieceTable`. `line` (6,): tip positions at start and end of the move. `kind`,
    `data` (12,): the solid as in `Solid`. The search ends as soon as the lower bound reaches `bound`: the upper bound may then be
    far. `work` float64 (`WORK_ROWS`, 9): `work[5, :3]` in: first direction to look in (zero: none known); on return `work[6, :6]`
    the points on piece and solid that give the upper bound, `work[7, :3]` the unit direction (solid to piece) that gives the
    lower one.
    Error bound: upper - lower <= DISTANCE_GAP_MM unless rounding stops the descent, each exact to COORDINATE_ROUND_OFF_MM.
    Source: Gilbert, Johnson, Keerthi 1988; the lower bound is the separating slab of van den Bergen 1999.
    """
    if work[5, 0] == 0.0 and work[5, 1] == 0.0 and work[5, 2] == 0.0:
        work[5, 2] = -1.0
    _add_vertex(meridian, shape, line, kind, data, work, 0)
    count = 1
    work[4, 0] = 1.0
    lower, upper = -np.inf, np.inf
    for _ in range(_MOST_STEPS):
        x = y = z = 0.0
        for row in range(count):
            x += work[4, row] * work[row, 0]
            y += work[4, row] * work[row, 1]
            z += work[4, row] * work[row, 2]
        distance = math.sqrt(x * x + y * y + z * z)
        if distance >= upper:
            break
        upper = distance
        _keep_points(work, count)
        if upper <= COORDINATE_ROUND_OFF_MM:
            return 0.0, 0.0
        nx, ny, nz = x / distance, y / distance, z / distance
        work[5, 0], work[5, 1], work[5, 2] = -nx, -ny, -nz
        _add_vertex(meridian, shape, line, kind, data, work, count)
        slab = nx * work[count, 0] + ny * work[count, 1] + nz * work[count, 2]
        if slab > lower:
            lower = slab
            work[7, 0], work[7, 1], work[7, 2] = nx, ny, nz
        if lower >= bound or upper - lower <= DISTANCE_GAP_MM:
            break
        count = reduce_simplex(work[:4], work[4], count + 1)
        if count == INSIDE:
            return (0.0, 0.0) if lower <= 0.0 else (lower, upper)
    return max(lower, 0.0), upper
