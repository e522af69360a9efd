"""What bench and strip show of a proof: the metal at any moment, the tip's track, and what went on from motion to motion."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import PieceTable
from setwright.prove.motions import bent
from setwright.prove.stage import rapids_known
from setwright.removal.cut import Cut
from setwright.removal.field import Field
from setwright.removal.kept import Kept, cut_kept
from setwright.removal.surface import Surface, surface_of

if TYPE_CHECKING:
    from setwright.prove.station import Proof

__all__ = [
    "CHECKPOINTS", "COURSE_WITHIN_MM", "TRACK_SAGITTA_MM", "Course", "Cutter", "Shown", "Track", "course_of", "removed_metal",
    "shown_of", "track_of",
]  # fmt: skip

CHECKPOINTS: Final = 128
"""States of the metal kept on the way, from which any moment is had by replaying."""

COURSE_WITHIN_MM: Final = 100.0
"""The clearance from motion to motion is followed up to this distance."""

TRACK_SAGITTA_MM: Final = 0.02
"""How far a chord of the track may lie beside its arc."""


class Cutter(Protocol):
    """Anything that does what `setwright.removal.cut.cut` does."""

    def __call__(
        self, field: Field, moves: Moves, pieces: PieceTable, *, progress: Callable[[int, int], None] | None = None
    ) -> Cut:
        """Results and errors of `cut`."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a proof keeps for the bench. `removed` float64 (rows,) mm³ and `clearance` float64 (rows,) mm (a lower bound of the
    distance to holding and table, up to COURSE_WITHIN_MM) by path row; `run`: the metal on the way."""

    removed: NDArray[np.float64]
    clearance: NDArray[np.float64]
    run: Kept

    def after_row(self, row: int) -> Field:
        """The metal once path row `row` has run whole; before the first row with -1."""
        return self.run.after(int(np.searchsorted(self.run.moves.ident, row, side="right")))

    def surface_after(self, row: int) -> Surface:
        """Its surface; errors as in `surface_of`."""
        return surface_of(self.after_row(row))


def removed_metal(
    before: Field, moves: Moves, pieces: PieceTable, *, bench: bool, cutter: Cutter, progress: Callable[[int, int], None] | None
) -> tuple[Cut, Kept | None]:
    """What `cutter` says, with the run to come back to where the bench wants it."""
    if not bench:
        return cutter(before, moves, pieces, progress=progress), None
    done, run = cut_kept(before, moves, pieces, checkpoints=CHECKPOINTS, progress=progress)
    return done, replace(run, traces=None)


def shown_of(
    done: Cut, removed: NDArray[np.float64], moves: Moves, course: NDArray[np.float64] | None, run: Kept | None, *, rows: int
) -> Shown | None:
    """What was asked for, by path row; None if it was not."""
    if course is None or run is None:
        return None
    by_row, clearance = np.zeros(rows), np.full(rows, COURSE_WITHIN_MM)
    np.add.at(by_row, done.motion, removed)
    np.minimum.at(clearance, moves.ident, course)
    return Shown(by_row, clearance, run)


@dataclass(frozen=True, slots=True)
class Course:
    """A proof from path row to path row, arrays (rows,).

    `kind` uint8 MoveKind; `tool` int32 station; `file` int16 index into `files`; `line` int32 from 1; `feed` float64 mm/min (nan
    for rapids); `speed` float64 rpm, + clockwise; `begin`, `end` float64 s, pauses lying between rows, all 0 where `total_s` is
    None; `removed` float64 mm³; `rate` float64 mm³/min, the row's mean; `clearance` float64 mm as in `Shown`; `power` float64 kW,
    the likely greatest, nan where none was computed.
    """

    files: tuple[str, ...]
    total_s: float | None
    kind: NDArray[np.uint8] = field(repr=False)
    tool: NDArray[np.int32] = field(repr=False)
    file: NDArray[np.int16] = field(repr=False)
    line: NDArray[np.int32] = field(repr=False)
    feed: NDArray[np.float64] = field(repr=False)
    speed: NDArray[np.float64] = field(repr=False)
    begin: NDArray[np.float64] = field(repr=False)
    end: NDArray[np.float64] = field(repr=False)
    removed: NDArray[np.float64] = field(repr=False)
    rate: NDArray[np.float64] = field(repr=False)
    clearance: NDArray[np.float64] = field(repr=False)
    power: NDArray[np.float64] = field(repr=False)


def course_of(proof: Proof, shown: Shown) -> Course:
    """What the strip shows."""
    path, timing = proof.reading.interpreted.path, proof.timing
    tool = np.array([state.tool for state in path.states], np.int32)[path.state]
    speed = np.array([state.spindle_rpm for state in path.states])[path.state]
    rate = np.divide(60.0 * shown.removed, timing.by_row, out=np.zeros(len(path)), where=timing.by_row > 0.0)
    rows = None if proof.load is None else proof.load.rows
    power = np.full(len(path), np.nan) if rows is None else rows.power
    return Course(path.files, timing.total_s, path.kind, tool, path.file, path.line, path.feed, speed,
                  timing.end_by_row - timing.by_row, timing.end_by_row, shown.removed, rate, shown.clearance, power)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Track:
    """The way of the tip over the part as one polyline in W, mm, arcs as chords within TRACK_SAGITTA_MM.

    `point` float64 (n, 3); `row` int32 (n,): the path row that reaches it; `share` float64 (n,): the part of that row's length
    behind it; `joined` bool (n,): whether the tip moves there from the point before (else it is put there: another tool's tip).
    """

    point: NDArray[np.float64] = field(repr=False)
    row: NDArray[np.int32] = field(repr=False)
    share: NDArray[np.float64] = field(repr=False)
    joined: NDArray[np.bool_] = field(repr=False)


def track_of(proof: Proof) -> Track:
    """The tip's way; where it is not known how the control runs its rapids, they go straight here."""
    moves = proof.moves
    if not rapids_known(proof.kit, proof.reading.profile):
        moves = moves[~bent(moves)]
    chords = _chords(moves)
    lifted = np.ones(len(moves), np.bool_)
    lifted[1:] = np.abs(moves.start[1:] - moves.end[:-1]).max(axis=1, initial=0.0) > SAME_PLACE_MM
    each = chords + lifted
    move = np.repeat(np.arange(len(moves)), each)
    number = np.arange(move.size) - np.repeat(np.cumsum(each) - each, each) + (~lifted[move])  # 0: the start, 1 ..: chord ends
    within = number / chords[move]
    point = moves.start[move] + within[:, None] * (moves.end[move] - moves.start[move])
    arc = np.flatnonzero(moves.kind[move] == MoveKind.ARC)
    for axis in range(3):
        rows = arc[moves.axis[move[arc]] == axis]
        a, b = (axis + 1) % 3, (axis + 2) % 3
        turn = within[rows] * moves.sweep[move[rows]]
        radial = moves.start[move[rows]] - moves.centre[move[rows]]
        point[rows, a] = moves.centre[move[rows], a] + radial[:, a] * np.cos(turn) - radial[:, b] * np.sin(turn)
        point[rows, b] = moves.centre[move[rows], b] + radial[:, a] * np.sin(turn) + radial[:, b] * np.cos(turn)
    last = number == chords[move]
    point[last] = moves.end[move[last]]
    joined = number > 0
    return Track(point, moves.ident[move], _shares(point, moves.ident[move], joined), joined)


def _chords(moves: Moves) -> NDArray[np.int64]:
    """How many chords stand for each motion, at least 1."""
    radial = moves.start - moves.centre
    radial[np.arange(len(moves)), moves.axis] = 0.0
    radius = np.maximum(np.sqrt(np.square(radial).sum(axis=1)), SAME_PLACE_MM)
    step = 2.0 * np.arccos(np.maximum(1.0 - TRACK_SAGITTA_MM / radius, 0.0))
    wanted = np.where(moves.kind == MoveKind.ARC, np.ceil(np.abs(moves.sweep) / step), 1.0)
    return np.maximum(wanted, 1.0).astype(np.int64)


def _shares(point: NDArray[np.float64], row: NDArray[np.int32], joined: NDArray[np.bool_]) -> NDArray[np.float64]:
    """How much of its row's length lies behind each point; rows are ascending."""
    if not row.size:
        return np.zeros(0)
    length = np.zeros(row.size)
    length[1:] = np.where(joined[1:], np.sqrt(np.square(np.diff(point, axis=0)).sum(axis=1)), 0.0)
    behind = np.cumsum(length)
    first = np.flatnonzero(np.concatenate([[True], row[1:] != row[:-1]]))
    last = np.concatenate([first[1:] - 1, [row.size - 1]])
    group = np.repeat(np.arange(first.size), last - first + 1)
    start = behind[first] - length[first]
    whole = (behind[last] - start)[group]
    return np.asarray(np.divide(behind - start[group], whole, out=np.ones(row.size), where=whole > 0.0))
