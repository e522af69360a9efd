"""Contacts, and their depth: how far the tool must be pushed, straight along one axis, to come free."""

from __future__ import annotations

from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, DEPTH_STEP_MM
from setwright.clearance.scene import NOBODY, Scene
from setwright.clearance.separation import WORK_ROWS
from setwright.clearance.track import near_move, stray_of_chords

__all__ = ["PUSHES", "Verdict", "find_deepest", "push_out", "scan_verdicts"]


class Verdict(IntEnum):
    """What a move is to a body."""

    CLEAR = 0
    TOUCHING = 1
    """nearer than the calculation can tell from overlap: a push of the touching depth frees it"""
    CONTACT = 2


PUSHES: Final = ((0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))
"""The directions a contact's depth is tried in, +Z first: of equal pushes the first is named."""

_TOUCHING: Final = int(Verdict.TOUCHING)
_CONTACT: Final = int(Verdict.CONTACT)


@kernel
def _meets(
    scene: Scene, body: int, row: int, group: int, shift: NDArray[np.float64], push: int, amount: float, hints: NDArray[np.int64],
    work: NDArray[np.float64],
) -> bool:  # fmt: skip
    """Whether a group's pieces in move `row`, shifted and pushed by `amount` (mm) in direction `push`, are not proven free."""
    moved = _pushed(shift, push, amount)
    pieces, tool = scene.pieces, scene.tracks.tool[row]
    for piece in range(pieces.first[tool], pieces.first[tool + 1]):
        if pieces.group[piece] == group:
            lower, _, solid = near_move(scene, piece, row, body, moved, COORDINATE_ROUND_OFF_MM, hints[piece], work)
            if solid >= 0:
                hints[piece] = solid
            if lower <= 0.0:
                return True
    return False


@kernel
def _pushed(shift: NDArray[np.float64], push: int, amount: float) -> NDArray[np.float64]:
    moved = np.empty(3)
    for axis in range(3):
        moved[axis] = shift[axis] + amount * PUSHES[push][axis]
    return moved


@kernel
def _touch_depth(scene: Scene, row: int, touching: float) -> float:
    """Overlap (mm) below which move `row` is only touching: on an arc no less than its chords can tell.

    A push t along the nearest axis opens at least t / sqrt(3); a chord that strays by s is proven free only with a gap of s
    between it and the body, to which the arc itself may lie s nearer: 2 sqrt(3) s < 4 s.
    """
    return max(touching, 4.0 * stray_of_chords(scene, row))


@kernel
def scan_verdicts(
    scene: Scene, body: int, groups: int, rows: NDArray[np.int64], shift: NDArray[np.float64], touching: float,
    verdict: NDArray[np.uint8],
) -> None:  # fmt: skip
    """Write a `Verdict` for each of the moves `rows` and each group of pieces into `verdict` (len(rows), groups).

    `shift` (3,) moves everything, mm. A move that is not proven free is TOUCHING if a push by `touching` (mm; on an arc
    `_touch_depth`) along one of `PUSHES` frees it, else CONTACT.
    """
    work, hints = np.zeros((WORK_ROWS, 9)), np.full(scene.pieces.group.size, -1, np.int64)
    for place in range(rows.size):
        row = rows[place]
        for group in range(groups):
            verdict[place, group] = 0
            if not _meets(scene, body, row, group, shift, 0, 0.0, hints, work):
                continue
            verdict[place, group] = _CONTACT
            least = _touch_depth(scene, row, touching)
            for push in range(len(PUSHES)):
                if not _meets(scene, body, row, group, shift, push, least, hints, work):
                    verdict[place, group] = _TOUCHING
                    break


@kernel
def push_out(
    scene: Scene, body: int, row: int, group: int, shift: NDArray[np.float64], touching: float, hints: NDArray[np.int64], work:
    NDArray[np.float64],
) -> tuple[float, int]:  # fmt: skip
    """A push (mm) and the index of its direction in `PUSHES` that frees a group's pieces in move `row`, the least over the
    directions.

    In each direction the push is doubled from the touching depth until it frees, then halved in between down to DEPTH_STEP_MM. The
    returned push is proven to free; where free and held places alternate along a direction it may not be the smallest that does.
    """
    best, chosen = np.inf, -1
    for push in range(len(PUSHES)):
        held, free = 0.0, _touch_depth(scene, row, touching)
        while free < best and _meets(scene, body, row, group, shift, push, free, hints, work):
            held, free = free, 2.0 * free
        if free >= best:
            free = best - DEPTH_STEP_MM
            if free <= held or _meets(scene, body, row, group, shift, push, free, hints, work):
                continue
        while free - held > DEPTH_STEP_MM:
            middle = (held + free) / 2.0
            if _meets(scene, body, row, group, shift, push, middle, hints, work):
                held = middle
            else:
                free = middle
        best, chosen = free, push
    return best, chosen


@kernel
def _freed_last(
    scene: Scene, body: int, row: int, group: int, moved: NDArray[np.float64], work: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The place on the body (3,) nearest to a group's pieces in move `row` shifted to where they are just free."""
    place, near = np.full(3, np.nan), np.inf
    pieces, tool = scene.pieces, scene.tracks.tool[row]
    for piece in range(pieces.first[tool], pieces.first[tool + 1]):
        if pieces.group[piece] == group:
            _, upper, _ = near_move(scene, piece, row, body, moved, near, NOBODY, work)
            if upper < near:
                near = upper
                place[:] = work[8, 3:6]
    return place


@kernel
def find_deepest(
    scene: Scene, body: int, group: int, rows: NDArray[np.int64], shift: NDArray[np.float64], touching: float,
    found: NDArray[np.float64],
) -> None:  # fmt: skip
    """Of contact moves `rows` the first one whose depth no later one exceeds by more than DEPTH_STEP_MM.

    `found` (6,), in: depth that is to be exceeded (mm), a direction that often frees; out: depth, index of its direction in
    `PUSHES`, row, and the place on the body that frees last (x, y, z); unchanged if no depth exceeds it by more than DEPTH_STEP_MM.
    A move that the deepest push so far frees is not looked at further.
    """
    work, hints = np.zeros((WORK_ROWS, 9)), np.full(scene.pieces.group.size, -1, np.int64)
    for row in rows:
        deeper = True
        for turn in range(len(PUSHES)):
            push = (int(found[1]) + turn) % len(PUSHES)
            deeper = deeper and _meets(scene, body, row, group, shift, push, found[0] + DEPTH_STEP_MM, hints, work)
        if deeper or found[0] == 0.0:
            depth, push = push_out(scene, body, row, group, shift, touching, hints, work)
            found[0], found[1], found[2] = depth, push, row
            found[3:] = _freed_last(scene, body, row, group, _pushed(shift, push, depth), work)
