"""The run over many moves against one body: least distance a group of pieces, and the course of it from move to move."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.clearance.scene import Scene
from setwright.clearance.separation import WORK_ROWS
from setwright.clearance.track import near_move

__all__ = ["scan_least"]

@kernel
def scan_least(
    scene: Scene, body: int, rows: NDArray[np.int64], within: float, bounds: NDArray[np.float64], who: NDArray[np.int64],
    points: NDArray[np.float64], course: NDArray[np.float64],
) -> None:  # fmt: skip
    """Look at the moves `rows` in turn.

    `bounds` (g, 2) in and out: lower and upper bound of each group's least distance (mm); in, what is already known. `who` (g,
    2): move and piece that gave the upper bound, `points` (g, 6): the nearest points on tool and body; both written where a later
    move is nearer by more than SAME_PLACE_MM, so that of equal moves the first is named. `course` float64 (len(rows),): lower
    bound of each move's distance over all groups, as far as it is less than `within`, else `within` (proven); left alone if
    `within` is 0.
    Error bound: as `near_move`; the named move is within SAME_PLACE_MM of the least.
    """
    pieces, tool = scene.pieces, scene.tracks.tool
    work, shift = np.zeros((WORK_ROWS, 9)), np.zeros(3)
    hints = np.full(pieces.group.size, -1, np.int64)
    for place in range(rows.size):
        row = rows[place]
        nearest = within
        for piece in range(pieces.first[tool[row]], pieces.first[tool[row] + 1]):
            group = pieces.group[piece]
            if group < 0:
                continue
            bound = max(nearest, bounds[group, 1] if bounds[group, 0] > 0.0 else 0.0)
            if bound <= 0.0:
                continue
            lower, upper, solid = near_move(scene, piece, row, body, shift, bound, hints[piece], work)
            nearest = min(nearest, lower)
            bounds[group, 0] = min(bounds[group, 0], lower)
            if solid >= 0:
                hints[piece] = solid
            if upper < bounds[group, 1] - SAME_PLACE_MM or (upper < bounds[group, 1] and who[group, 0] < 0):
                bounds[group, 1] = upper
                who[group, 0], who[group, 1] = row, piece
                points[group] = work[8, :6]
        if within > 0.0:
            course[place] = nearest
