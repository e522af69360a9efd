"""The path as motions: in work coordinates, in the machine, or carried into any other frame turned about Z."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import CHORD_SAGITTA_MM, SAME_PLACE_MM, UNIT_VECTOR_ROUND_OFF
from setwright.geometry.frames import turned_about_z
from setwright.geometry.moves import MoveKind, Moves
from setwright.program.path import Path

__all__ = ["carried", "joined", "moves_in_machine", "polyline", "programmed"]

Array = NDArray[np.float64]


def moves_in_machine(path: Path) -> Moves:
    """Motions of the gauge point in machine coordinates, one per path row (see `carried` on chords)."""
    rotation = np.array([turned_about_z(frame.rotation).rotation for frame in path.frames])
    shift = np.array([frame.shift for frame in path.frames])[path.frame]
    nothing = np.zeros(len(path), np.int32)
    return carried(programmed(path, nothing, nothing.astype(np.bool_)), rotation, path.frame, shift)


def programmed(path: Path, tool: NDArray[np.int32], cuts: NDArray[np.bool_]) -> Moves:
    """The path's rows as motions in work coordinates; `tool` int32 (n,) and `cuts` bool (n,) as in Moves."""
    arc = np.flatnonzero(path.arc >= 0)
    centre, axis, sweep = np.zeros((len(path), 3)), np.zeros(len(path), np.uint8), np.zeros(len(path))
    centre[arc] = path.arc_centre[path.arc[arc]]
    axis[arc], sweep[arc] = path.arc_axis[path.arc[arc]], path.arc_sweep[path.arc[arc]]
    return Moves(path.kind, path.start, path.end, centre, axis, sweep, tool, cuts, np.arange(len(path), dtype=np.int32))


def carried(moves: Moves, rotation: Array, which: NDArray[np.int32], shift: Array) -> Moves:
    """Motions through one rigid motion a row: about Z by its entry, `which` int32 (n,), in `rotation` (k, 3, 3), then by `shift`
    (n, 3), mm.

    Arcs that are no longer about a main axis become chords with a radial error of at most CHORD_SAGITTA_MM.
    """
    still = bool((rotation == np.eye(3)).all())  # then turning gives back the same numbers

    def applied(points: Array) -> Array:
        return points + shift if still else np.einsum("nij,nj->ni", rotation[which], points) + shift

    arcs = moves.kind == MoveKind.ARC
    centre = np.where(arcs[:, None], applied(moves.centre), 0.0) if arcs.any() else moves.centre
    moved = replace(moves, start=applied(moves.start), end=applied(moves.end), centre=centre)
    turned = np.abs(rotation[:, 0, 1])[which] > UNIT_VECTOR_ROUND_OFF
    pieces, before = [], 0
    for i in np.flatnonzero((moves.kind == MoveKind.ARC) & (moves.axis != 2) & turned).tolist():
        # an arc about X or Y turned about Z lies in no plane of the frame any more: chords
        pieces += [moved[before:i], polyline(moves, i, _arc_points(moves, i) @ rotation[which[i]].T + shift[i], MoveKind.LINE)]
        before = i + 1
    return joined([*pieces, moved[before:]])


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


def polyline(moves: Moves, i: int, points: Array, kind: MoveKind) -> Moves:
    """Row `i` as straight motions of `kind` from point to point, float64 (m + 1, 3); all else as in the row."""
    n = len(points) - 1
    return Moves(
        np.full(n, kind, np.uint8), points[:-1].copy(), points[1:].copy(), np.zeros((n, 3)), np.zeros(n, np.uint8), np.zeros(n),
        np.full(n, moves.tool[i]), np.full(n, moves.cuts[i]), np.full(n, moves.ident[i]),
    )  # fmt: skip


def joined(pieces: list[Moves]) -> Moves:
    """Motions one after the other."""
    if len(pieces) == 1:
        return pieces[0]
    names = ("kind", "start", "end", "centre", "axis", "sweep", "tool", "cuts", "ident")
    return Moves(*(np.concatenate([getattr(piece, name) for piece in pieces]) for name in names))
