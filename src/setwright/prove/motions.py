"""From the path in the control's mind to the tip's motion over the real part.

The control moves the gauge point by its registers; the tip hangs the tool's true length below it, over a part that lies where it
really lies. With registers that fit the truth this gives back the programmed path; with any other it shows what happens.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.frames import turned_about_z
from setwright.geometry.moves import MoveKind, Moves
from setwright.kit.registers import Truth
from setwright.program.motions import carried, joined, polyline, programmed
from setwright.program.path import Path

__all__ = ["bent", "moves_over_part", "several_ways", "with_dog_legs"]


def moves_over_part(path: Path, truth: Truth, order: Mapping[int, int], *, right_hand: NDArray[np.bool_]) -> Moves:
    """Motions of the tip in the part's frame W, one per path row (arcs no longer about an axis of W become chords).

    `order` gives a station's row in the piece table (0: the empty spindle, unless a tool has that number), `right_hand` bool
    (rows,) whether that tool cuts clockwise. `cuts` is set for feed motions with the spindle turning the way the tool cuts.
    """
    work_from_machine = truth.machine_from_work.inverse()
    station = np.array([state.tool for state in path.states])
    length = np.array([truth.lengths.get(int(t), 0.0) for t in station])
    row = np.array([order[int(t)] for t in station], np.int32)
    turning = np.sign([state.spindle_rpm for state in path.states])
    rotation = np.array([(work_from_machine @ turned_about_z(f.rotation)).rotation for f in path.frames])
    gauge_to_tip = np.zeros((len(path), 3))
    gauge_to_tip[:, 2] = length[path.state]
    shift = np.array([frame.shift for frame in path.frames])[path.frame] - gauge_to_tip
    shift = work_from_machine.points(shift)
    tool = row[path.state]
    cutting_way = np.where(right_hand[tool], 1.0, -1.0)
    cuts = (path.kind != MoveKind.RAPID) & (turning[path.state] == cutting_way)
    return carried(programmed(path, tool, cuts), rotation, path.frame, shift)


def with_dog_legs(moves: Moves, rapid_mm_min: tuple[float, float, float], *, straight: bool) -> Moves:
    """Rapids as each axis runs by itself at its own speed until it arrives; with `straight`, the straight line is kept as well.

    The proof then covers whichever the control does. Parts of one rapid share its `ident`.
    """
    distance = np.abs(moves.end - moves.start)
    time = distance / np.array(rapid_mm_min)
    longest = time.max(axis=1) if len(moves) else np.zeros(0)
    differs = ((time > 0) & (time < longest[:, None])).any(axis=1)
    several = np.flatnonzero((moves.kind == MoveKind.RAPID) & differs)
    pieces, before = [], 0
    for i in several.tolist():
        pieces.append(moves[before : i + 1] if straight else moves[before:i])
        stops = np.unique(np.concatenate([[0.0], time[i]]))
        share = np.minimum(stops[:, None] / np.where(time[i] > 0, time[i], 1.0), 1.0)
        pieces.append(polyline(moves, i, moves.start[i] + share * (moves.end[i] - moves.start[i]), MoveKind.RAPID))
        before = i + 1
    pieces.append(moves[before:])
    return joined(pieces)


def several_ways(moves: Moves) -> NDArray[np.bool_]:
    """Of motions `with_dog_legs` and the straight line beside them: the parts of a rapid that may run either way, bool (rows,)."""
    same = np.zeros(len(moves) + 1, np.bool_)
    same[1:-1] = (np.diff(moves.ident) == 0) & (moves.kind[1:] == MoveKind.RAPID)
    return np.asarray(same[1:] | same[:-1])


def bent(moves: Moves) -> NDArray[np.bool_]:
    """The same, but for the straight line, which stands first."""
    begins = np.ones(len(moves), np.bool_)
    begins[1:] = np.diff(moves.ident) != 0
    return several_ways(moves) & ~begins
