"""From the path in the control's mind to the tip's motion over the real part.

The control moves the gauge point by its registers; the tip hangs the tool's true length below it, over a part that lies where it
really lies. With registers that fit the truth this gives back the programmed path; with any other it shows what happens.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import CHORD_SAGITTA_MM, SAME_PLACE_MM, UNIT_VECTOR_ROUND_OFF
from setwright.geometry.frames import turned_about_z
from setwright.geometry.moves import MoveKind, Moves
from setwright.kit.registers import Truth
from setwright.program.path import Path

__all__ = ["moves_in_machine", "moves_over_part", "with_dog_legs"]

Array = NDArray[np.float64]


def moves_in_machine(path: Path) -> Moves:
    """Motions of the gauge point in machine coordinates, one per path row (see `moves_over_part` on chords)."""
    rotation = np.array([turned_about_z(frame.rotation).rotation for frame in path.frames])[path.frame]
    shift = np.array([frame.shift for frame in path.frames])[path.frame]
    nothing = np.zeros(len(path), np.int32)
    return _carried(_programmed(path, nothing, nothing.astype(np.bool_)), rotation, shift)


def _programmed(path: Path, tool: NDArray[np.int32], cuts: NDArray[np.bool_]) -> Moves:
    """The path's rows as motions in work coordinates."""
    arc = np.flatnonzero(path.arc >= 0)
    centre, axis, sweep = np.zeros((len(path), 3)), np.zeros(len(path), np.uint8), np.zeros(len(path))
    centre[arc] = path.arc_centre[path.arc[arc]]
    axis[arc], sweep[arc] = path.arc_axis[path.arc[arc]], path.arc_sweep[path.arc[arc]]
    return Moves(path.kind, path.start, path.end, centre, axis, sweep, tool, cuts, np.arange(len(path), dtype=np.int32))


def _applied(rotation: Array, shift: Array, points: Array) -> Array:
    moved: Array = np.einsum("nij,nj->ni", rotation, points) + shift
    return moved


def moves_over_part(path: Path, truth: Truth, order: Mapping[int, int], *, right_hand: NDArray[np.bool_]) -> Moves:
    """Motions of the tip in the part's frame W, one per path row (arcs no longer about an axis of W become chords).

    `order` gives a station's row in the piece table, `right_hand` (rows,) whether that tool cuts clockwise. `cuts` is set for
    feed motions with the spindle turning the way the tool cuts. Chords: radial error <= CHORD_SAGITTA_MM.
    """
    work_from_machine = truth.machine_from_work.inverse()
    station = np.array([state.tool for state in path.states])
    length = np.array([truth.lengths[t] if t in order else 0.0 for t in station])
    row = np.array([order.get(int(t), -1) for t in station], np.int32)
    turning = np.sign([state.spindle_rpm for state in path.states])
    rotation = np.array([(work_from_machine @ turned_about_z(f.rotation)).rotation for f in path.frames])[path.frame]
    gauge_to_tip = np.zeros((len(path), 3))
    gauge_to_tip[:, 2] = length[path.state]
    shift = np.array([frame.shift for frame in path.frames])[path.frame] - gauge_to_tip
    shift = work_from_machine.points(shift)
    tool = row[path.state]
    cutting_way = np.where(right_hand[tool], 1.0, -1.0)
    cuts = (path.kind != MoveKind.RAPID) & (turning[path.state] == cutting_way)
    return _carried(_programmed(path, tool, cuts), rotation, shift)


def _carried(moves: Moves, rotation: Array, shift: Array) -> Moves:
    """Motions through one rigid motion a row, `rotation` (n, 3, 3) about Z and `shift` (n, 3)."""
    moved = replace(moves, start=_applied(rotation, shift, moves.start), end=_applied(rotation, shift, moves.end),
                    centre=np.where(moves.kind[:, None] == MoveKind.ARC, _applied(rotation, shift, moves.centre), 0.0))  # fmt: skip
    turned = np.abs(rotation[:, 0, 1]) > UNIT_VECTOR_ROUND_OFF
    pieces, before = [], 0
    for i in np.flatnonzero((moves.kind == MoveKind.ARC) & (moves.axis != 2) & turned).tolist():
        # an arc about X or Y turned about Z lies in no plane of the frame any more: chords
        pieces += [moved[before:i], _polyline(moves, i, _arc_points(moves, i) @ rotation[i].T + shift[i], MoveKind.LINE)]
        before = i + 1
    return _joined([*pieces, moved[before:]])


def _arc_points(moves: Moves, i: int) -> Array:
    """Points on an arc or helix about a main axis, close enough that chords err by at most CHORD_SAGITTA_MM."""
    a, b = (moves.axis[i] + 1) % 3, (moves.axis[i] + 2) % 3
    radial = moves.start[i] - moves.centre[i]
    radius = float(np.hypot(radial[a], radial[b]))
    step = 2.0 * np.arccos(max(1.0 - CHORD_SAGITTA_MM / max(radius, SAME_PLACE_MM), 0.0))
    turn = np.linspace(0.0, moves.sweep[i], max(2, int(np.ceil(abs(moves.sweep[i]) / step)) + 1))
    points: Array = moves.start[i] + np.outer(turn / moves.sweep[i], moves.end[i] - moves.start[i])
    points[:, a] = moves.centre[i, a] + radial[a] * np.cos(turn) - radial[b] * np.sin(turn)
    points[:, b] = moves.centre[i, b] + radial[a] * np.sin(turn) + radial[b] * np.cos(turn)
    points[-1] = moves.end[i]
    return points


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
        pieces.append(_polyline(moves, i, moves.start[i] + share * (moves.end[i] - moves.start[i]), MoveKind.RAPID))
        before = i + 1
    pieces.append(moves[before:])
    return _joined(pieces)


def _polyline(moves: Moves, i: int, points: Array, kind: MoveKind) -> Moves:
    n = len(points) - 1
    return Moves(
        np.full(n, kind, np.uint8), points[:-1].copy(), points[1:].copy(), np.zeros((n, 3)), np.zeros(n, np.uint8), np.zeros(n),
        np.full(n, moves.tool[i]), np.full(n, moves.cuts[i]), np.full(n, moves.ident[i]),
    )  # fmt: skip


def _joined(pieces: list[Moves]) -> Moves:
    names = ("kind", "start", "end", "centre", "axis", "sweep", "tool", "cuts", "ident")
    return Moves(*(np.concatenate([getattr(piece, name) for piece in pieces]) for name in names))
