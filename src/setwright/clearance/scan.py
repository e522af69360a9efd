"""The run over many moves against one body: least distance a group of pieces, and the course of it from move to move."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, SAME_PLACE_MM
from setwright.clearance.cull import BLOCK, FAN, LEVELS, Blocks, room_around, set_piece_box, set_tip_box
from setwright.clearance.scene import Scene
from setwright.clearance.separation import WORK_ROWS
from setwright.clearance.track import near_move, starts_inside

__all__ = ["nearest_points", "scan_least", "scan_rows"]

_EVERY: Final = -1
_MOST_MARKED: Final = 62
_STACK: Final = FAN * (LEVELS + 1)


@kernel
def _look_at(
    scene: Scene, body: int, row: int, left: int, within: float, bounds: NDArray[np.float64], who: NDArray[np.int64],
    hints: NDArray[np.int64], work: NDArray[np.float64],
) -> float:  # fmt: skip
    """Look at one move, as `scan_least` says; `left`: bits of the tool's pieces that are to be looked at (-1: all). Returns the
    lower bound of its distance over all groups, at most `within`."""
    pieces, tool, shift = scene.pieces, scene.tracks.tool[row], np.zeros(3)
    nearest = within
    for piece in range(pieces.first[tool], pieces.first[tool + 1]):
        group = pieces.group[piece]
        if group < 0 or (left >= 0 and not left >> (piece - pieces.first[tool]) & 1):
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
    return nearest


@kernel
def scan_rows(
    scene: Scene, body: int, rows: NDArray[np.int64], bounds: NDArray[np.float64], who: NDArray[np.int64]
) -> None:
    """As `scan_least` without a course, for the moves `rows` one by one."""
    work, hints = np.zeros((WORK_ROWS, 9)), np.full(scene.pieces.group.size, -1, np.int64)
    for row in rows:
        _look_at(scene, body, row, _EVERY, 0.0, bounds, who, hints, work)


@kernel
def nearest_points(scene: Scene, body: int, row: int, piece: int) -> NDArray[np.float64]:
    """The nearest points (6,) on a piece in move `row` and on the body, found from nothing: of several that are equally near always
    the same ones."""
    work = np.zeros((WORK_ROWS, 9))
    near_move(scene, piece, row, body, np.zeros(3), np.inf, -1, work)
    return work[8, :6].copy()


@kernel
def _leave_out(
    scene: Scene, body: int, row: int, tip: NDArray[np.float64], left: int, within: float, bounds: NDArray[np.float64],
    who: NDArray[np.int64], box: NDArray[np.float64], work: NDArray[np.float64],
) -> int:  # fmt: skip
    """The bits of `left` without the pieces that change nothing in a block of moves of one tool, the first of which is `row`; `tip`
    (6,) is the box about the tip's way in it. `box` (6,) is overwritten.

    A piece changes nothing where there is as much room around it as is asked for. Where its group has a winner, which only a move
    nearer by SAME_PLACE_MM displaces, a little less room is enough, and that counts for the lower bound.
    """
    pieces, tool = scene.pieces, scene.tracks.tool[row]
    first, root, still = pieces.first[tool], scene.forest.box[scene.forest.root[body]], np.zeros(3)
    for piece in range(first, pieces.first[tool + 1]):
        group, bit = pieces.group[piece], 1 << (piece - first)
        if not left & bit:
            continue
        known = bounds[group, 1] if group >= 0 and bounds[group, 0] > 0.0 else 0.0
        if group < 0 or (known <= 0.0 and within <= 0.0):
            left ^= bit
            continue
        enough = max(within, known)
        if within <= 0.0 and who[group, 0] >= 0 and known > 2.0 * COORDINATE_ROUND_OFF_MM:
            enough = known - COORDINATE_ROUND_OFF_MM
        set_piece_box(pieces.shape[piece], pieces.meridian[piece], tip, box)
        room = room_around(scene.forest, body, box, enough)
        if room < enough:
            continue
        outside = not scene.forest.meshed[body]
        for axis in range(3):
            outside = outside or box[axis] > root[axis + 3] or box[axis + 3] < root[axis]
        if outside or not starts_inside(scene, piece, row, body, still, work):
            left ^= bit
            bounds[group, 0] = min(bounds[group, 0], room)
    return left


@kernel
def scan_least(
    scene: Scene, blocks: Blocks, body: int, part: int, within: float, bounds: NDArray[np.float64], who: NDArray[np.int64],
    course: NDArray[np.float64],
) -> None:  # fmt: skip
    """Look at the moves of block `part` of the highest level in turn; blocks in which nothing can be nearer are passed over whole.

    `bounds` (g, 2) in and out: lower and upper bound of each group's least distance (mm); in, what is already known. `who` (g,
    2): move and piece that gave the upper bound, written where a later move is nearer by more than SAME_PLACE_MM, so that of equal
    moves the first is named. `course` float64 (moves of the part,): lower bound of each move's distance over all groups, as far as
    it is less than `within` (proven); left alone elsewhere, and if `within` is 0.
    Error bound: as `near_move`; the named move is within SAME_PLACE_MM of the least.
    """
    pieces, count = scene.pieces, scene.tracks.kind.size
    work, hints = np.zeros((WORK_ROWS, 9)), np.full(pieces.group.size, -1, np.int64)
    tip, box = np.empty(6), np.empty(6)
    levels, places, marks = np.empty(_STACK, np.int64), np.empty(_STACK, np.int64), np.empty(_STACK, np.int64)
    levels[0], places[0], marks[0], depth = LEVELS, part, _EVERY, 1
    while depth:
        depth -= 1
        level, place, left = levels[depth], places[depth], marks[depth]
        size = FAN**level
        row = place * size
        block = blocks.first[level] + place
        tool = scene.tracks.tool[row] if level == 0 else blocks.tool[block]
        if tool >= 0 and pieces.first[tool + 1] - pieces.first[tool] <= _MOST_MARKED:
            if level == 0:
                set_tip_box(scene.tracks, row, tip)
            else:
                tip[:] = blocks.box[block]
            every = (1 << (pieces.first[tool + 1] - pieces.first[tool])) - 1
            left = _leave_out(scene, body, row, tip, every if left < 0 else left, within, bounds, who, box, work)
            if left == 0:
                continue
        if level == 0:
            nearest = _look_at(scene, body, row, left, within, bounds, who, hints, work)
            if within > 0.0:
                course[row - part * BLOCK] = nearest
            continue
        inner = size // FAN
        for step in range(FAN - 1, -1, -1):
            if row + step * inner < count:
                levels[depth], places[depth], marks[depth] = level - 1, place * FAN + step, left
                depth += 1
