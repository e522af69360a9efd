"""A boring bar while the spindle stands oriented: the bar about the axis, and its one edge beside it.

While it turns the edge sweeps the whole round, and nothing here is needed. While it stands (M19, the stop in G76 and G87) every
motion is run with the bar alone, and before that with the edge, about an axis of its own half way out to where the edge points.
Where nobody states where that is, the edge is tried both ways: away from the first way the tool then takes beside its axis, which
is what the stop is for, and towards it, which is told as a doubt.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import cos, sin
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Piece, Role
from setwright.geometry.profile import Assembly, standing_body, standing_edge
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.model.tool import BODY_SHARE
from setwright.program.path import Path
from setwright.program.profile import Profile
from setwright.prove.case import Contact

__all__ = ["STANDING_ROWS", "Edges", "settled", "standing_pieces", "with_edges"]

Doubts = Mapping[tuple[int, Role], str]
"""What a contact hangs on, by row of the piece table and role."""

_Pair = NDArray[np.float64]
_WAYS: Final = {"+X": (1.0, 0.0), "-X": (-1.0, 0.0), "+Y": (0.0, 1.0), "-Y": (0.0, -1.0)}
_TOWARDS: Final = "if its edge points the way it is moved while the spindle stands"
STANDING_ROWS: Final = 3
"""Rows of a piece table for one tool that stands: its bar, its edge, its edge the other way."""

_BODY: Final = f"if its body is as wide as {BODY_SHARE} of its diameter (nothing states body_diameter)"


def standing_pieces(assembly: Assembly) -> list[list[Piece]]:
    """The rows of a piece table for one tool that stands."""
    edge, _ = standing_edge(assembly)
    return [standing_body(assembly), edge, edge]


@dataclass(frozen=True, slots=True)
class Edges:
    """Motions with single-edged tools as they stand. `origin` int64 (rows,): the row it comes from; `extra`, `standing`, `doubtful`
    bool (rows,): an edge alone, which goes before its bar; of a tool that stands; an edge that may as well point the other way."""

    moves: Moves
    origin: NDArray[np.int64]
    extra: NDArray[np.bool_]
    standing: NDArray[np.bool_]
    doubtful: NDArray[np.bool_]
    doubts: Doubts


def with_edges(
    moves: Moves, path: Path, kit: Kit, truth: Truth, profile: Profile, rows: Mapping[int, int], *, shift_known: bool
) -> Edges:
    """The motions of `moves` over the part, with an edge's before the bar's wherever a single-edged tool stands oriented.

    `rows`: the first row of `standing_pieces` in the piece table by station; `shift_known`: where Q moves a stopped tool is stated
    for this machine, or not asked for.
    """
    state = path.state[moves.ident]
    station = np.array([one.tool for one in path.states], np.int64)[state]
    stands = np.array([one.oriented for one in path.states], np.bool_)[state] & np.isin(station, list(rows))
    shifts = [np.zeros((len(moves) if rows else 0, 3)) for _ in range(3)]  # of the bar, of its edge, of its edge the other way
    many = np.zeros(len(moves), np.int64)
    doubts: dict[tuple[int, Role], str] = {}
    for run in _runs(stands, station):
        hung, first = kit.tools[int(station[run.start])], rows[int(station[run.start])]
        stated, way = _edge_at(hung, profile, truth), _first_way(moves[run])
        if stated is None and way is None:
            continue  # straight up or down with the edge anywhere: as if it turned
        points = stated if stated is not None else -np.asarray(way)
        shifts[1][run, :2], shifts[2][run, :2] = points * standing_edge(hung)[1], -points * standing_edge(hung)[1]
        many[run] = 1 if stated is not None else 2
        doubts |= _doubts(hung, first, profile, shift_known=shift_known or stated is None)
    if not many.any():
        none = np.zeros(len(moves), np.bool_)
        return Edges(moves, np.arange(len(moves)), none, none, none, doubts)
    origin = np.repeat(np.arange(len(moves)), many + 1)
    nth = many[origin] - (np.arange(origin.size) - np.searchsorted(origin, origin))  # the bar comes last
    shift = np.choose(nth[:, None], [each[origin] for each in shifts])
    chosen, standing = moves[origin], (many > 0)[origin]
    base = np.array([rows.get(one, 0) for one in station.tolist()], np.int64)[origin]
    tool = np.where(standing, base + nth, chosen.tool).astype(np.int32)
    arc = (chosen.kind == MoveKind.ARC)[:, None]
    run_as = replace(chosen, tool=tool, start=chosen.start + shift, end=chosen.end + shift,
                     centre=np.where(arc, chosen.centre + shift, chosen.centre))  # fmt: skip
    return Edges(run_as, origin, nth > 0, standing, nth == 2, doubts)


def _runs(stands: NDArray[np.bool_], station: NDArray[np.int64]) -> Iterator[slice]:
    """Rows in which one tool stands without a break."""
    changes = np.flatnonzero((np.diff(stands) != 0) | (np.diff(station) != 0)) + 1
    ends = [0, *changes.tolist(), stands.size]
    for low, high in itertools.pairwise(ends):
        if low < high and stands[low]:
            yield slice(low, high)


def _edge_at(hung: Assembly, profile: Profile, truth: Truth) -> _Pair | None:
    """Where the edge points over the part while the spindle stands oriented, a unit vector; None where nobody states it."""
    if hung.tool.edge_angle is not None:
        x, y = cos(hung.tool.edge_angle), sin(hung.tool.edge_angle)
    elif profile.edge_at_stop != "unknown":
        x, y = _WAYS[profile.edge_at_stop]
    else:
        return None
    return truth.machine_from_work.inverse().directions(np.array([x, y, 0.0]))[:2]


def _first_way(moves: Moves) -> _Pair | None:
    """The way of the first motion that is not straight up or down, a unit vector; None if there is none."""
    level = np.hypot(*(moves.end - moves.start)[:, :2].T) > SAME_PLACE_MM
    if not level.any():
        return None
    same = np.flatnonzero(moves.ident == moves.ident[int(np.argmax(level))])
    way = (moves.end[same[-1]] - moves.start[same[0]])[:2]
    return np.asarray(way / np.hypot(*way))


def _doubts(hung: Assembly, first: int, profile: Profile, *, shift_known: bool) -> Doubts:
    doubts = {(first + 2, Role.CUTTING): _TOWARDS}
    if hung.tool.body_diameter is None:
        doubts[first, Role.CUTTING] = _BODY
        if hung.tool.shank is None:
            doubts[first, Role.SHANK] = _BODY
    if not shift_known:
        doubts[first + 1, Role.CUTTING] = f"if the control moves the stopped tool towards {profile.bore_shift} (nothing states it)"
    return doubts


def settled(contacts: Iterable[Contact], path: Path) -> list[Contact]:
    """One contact in doubt of a tool, part and kind of motion, and none beside one that is sure."""
    every = list(contacts)
    groups: dict[tuple[int, str, bool], list[Contact]] = {}
    for one in every:
        groups.setdefault((path.states[int(path.state[one.row])].tool, one.part, one.rapid), []).append(one)
    told = []
    for group in groups.values():
        sure = [one for one in group if not one.doubt]
        told += sure or [max(group, key=lambda one: one.depth_mm)]
    return sorted(told, key=lambda one: one.row)
