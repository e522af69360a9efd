"""A boring bar while the spindle stands oriented: the bar about the axis, and its one edge beside it.

While it turns the edge sweeps the whole round, and nothing here is needed. While it stands (M19, the stop in G76 and G87) every
motion is run with the bar alone, and before that with the edge, about an axis of its own half way out to where the edge points.
Where nobody states where that is, the edge is tried both ways: away from the first way the tool then takes beside its axis, which
is what the stop is for, and towards it, which is told as a doubt. Where nobody states which way the control moves a stopped tool by
Q, the shift is run all four ways: the one that is taken, and the others as doubts.
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
from setwright.program.interpret import Interpreted
from setwright.program.path import Path
from setwright.program.profile import Profile
from setwright.prove.case import Contact

__all__ = ["STANDING_ROWS", "Edges", "settled", "shift_is_known", "standing_pieces", "unstated_edges", "with_edges"]

Doubts = Mapping[tuple[int, Role], str]
"""What a contact hangs on, by row of the piece table and role."""

_Pair = NDArray[np.float64]
_MOVED: Final = "if the control moves the stopped tool towards {} (nothing states it)"
_WAYS: Final = {"+X": (1.0, 0.0), "+Y": (0.0, 1.0), "-X": (-1.0, 0.0), "-Y": (0.0, -1.0)}
"""Once round, counter-clockwise: cosine and sine."""
_TOWARDS: Final = "if its edge points the way it is moved while the spindle stands"
_TURNED: Final = 3
"""Where the rows of a piece table for the other ways of a shift begin: bar and edge, a quarter turn further on each time."""
STANDING_ROWS: Final = _TURNED + 2 * 3
"""Rows of a piece table for one tool that stands: its bar, its edge, its edge the other way, and those of `_TURNED`."""

_BODY: Final = f"if its body is as wide as {BODY_SHARE} of its diameter (nothing states body_diameter)"


def standing_pieces(assembly: Assembly) -> list[list[Piece]]:
    """The rows of a piece table for one tool that stands."""
    edge, bar = standing_edge(assembly)[0], standing_body(assembly)
    return [bar, edge, edge, *[bar, edge] * 3]


def shift_is_known(kit: Kit, interpreted: Interpreted) -> bool:
    """Whether the machine's file says where a boring cycle moves the stopped tool, or no cycle asks it."""
    asked = any(one.behaviour == "bore_shift" for one in interpreted.assumptions)
    return not asked or "bore_shift" in kit.machine.control.behaviours


def unstated_edges(moves: Moves, path: Path, kit: Kit, profile: Profile) -> list[int]:
    """Stations of single-edged tools that are moved beside their axis while they stand, of which nobody says where the edge
    points."""
    beside = np.hypot(*(moves.end - moves.start)[:, :2].T) > SAME_PLACE_MM
    states = [path.states[number] for number in np.unique(path.state[moves.ident[beside]]).tolist()]
    hung = {one.tool: kit.tools[one.tool].tool for one in states if one.oriented and one.tool in kit.tools}
    return sorted(station for station, tool in hung.items()
                  if tool.single_edged and tool.edge_angle is None and profile.edge_at_stop == "unknown")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Edges:
    """Motions with single-edged tools as they stand. `origin` int64 (rows,): the row it comes from; `extra`, `standing`, `doubtful`
    bool (rows,): an edge alone, or what may go another way, which goes before its bar; of a tool that stands; what may as well be
    elsewhere."""

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
    base = np.full(len(moves), -1, np.int64)
    copies: list[_Copy] = []
    doubts: dict[tuple[int, Role], str] = {}
    shifted, middle = _shifted(moves, path) if rows and not shift_known else (np.zeros(len(moves), np.bool_), moves.start)
    for run in _runs(stands, station):
        hung, first = kit.tools[int(station[run.start])], rows[int(station[run.start])]
        stated, way = _edge_at(hung, profile, truth), _first_way(moves[run])
        if stated is None and way is None:
            continue  # straight up or down with the edge anywhere: as if it turned
        points = (stated if stated is not None else -np.asarray(way)) * standing_edge(hung)[1]
        here = np.arange(run.start, run.stop)
        base[here] = first
        copies.append(_Copy(here, first + 1, points))
        if stated is None:
            copies.append(_Copy(here, first + 2, -points, doubtful=True))
        doubts |= _doubts(hung, first, profile, shift_known=shift_known or stated is None)
        if shifted[here].any():
            copies += _other_ways(here[shifted[here]], first, None if stated is None else points)
            doubts |= _shift_doubts(first, profile.bore_shift)
    if not copies:
        none = np.zeros(len(moves), np.bool_)
        return Edges(moves, np.arange(len(moves)), none, none, none, doubts)
    origin = np.concatenate([*(copy.rows for copy in copies), np.arange(len(moves))])
    number = np.repeat(np.arange(len(copies) + 1), [*(copy.rows.size for copy in copies), len(moves)])
    order = np.lexsort((number, origin))  # the bar itself comes last
    origin, number = origin[order], number[order]
    copies.append(_Copy(np.zeros(0, np.int64), 0, np.zeros(2)))
    tool = np.array([copy.row for copy in copies])[number]
    turns = _QUARTERS[np.array([copy.turn for copy in copies])[number]]
    shift = np.array([(*copy.shift.tolist(), 0.0) for copy in copies])[number]
    chosen, about, own = moves[origin], middle[origin], number == len(copies) - 1
    tool = np.where(own, np.where(base[origin] >= 0, base[origin], chosen.tool), tool).astype(np.int32)
    shift += about - np.einsum("nij,nj->ni", turns, about)
    start, end, centre = (np.einsum("nij,nj->ni", turns, each) + shift for each in (chosen.start, chosen.end, chosen.centre))
    arc = (chosen.kind == MoveKind.ARC)[:, None]
    run_as = replace(chosen, tool=tool, start=start, end=end, centre=np.where(arc, centre, chosen.centre))
    doubtful = np.array([copy.doubtful for copy in copies])[number]
    return Edges(run_as, origin, ~own, base[origin] >= 0, doubtful, doubts)


_QUARTERS: Final = np.array([[[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]] for c, s in _WAYS.values()])
"""By no, one, two, three quarter turns about Z."""


@dataclass(frozen=True, slots=True)
class _Copy:
    """Motions int64 (n,) run with a row of the piece table besides, `shift` mm (2,) beside their own place, `turn` quarter turns on
    about the place from which a stopped tool is shifted."""

    rows: NDArray[np.int64]
    row: int
    shift: _Pair
    turn: int = 0
    doubtful: bool = False


def _shifted(moves: Moves, path: Path) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Which motions belong to a stopped tool that Q moves off a wall, from the shift up to the way back, bool (n,), and from where
    that goes, float64 (n, 3)."""
    by_q, middle = np.zeros(len(moves), np.bool_), moves.start.copy()
    for event in (one for one in path.events if one.kind == "bore shift"):
        if float(event.value) > 0.0:
            begin = int(np.searchsorted(moves.ident, event.before))
            by_q[begin:], middle[begin:] = True, moves.start[begin : begin + 1]
        else:
            by_q[int(np.searchsorted(moves.ident, event.before, side="right")) :] = False
    return by_q, middle


def _other_ways(rows: NDArray[np.int64], first: int, points: _Pair | None) -> Iterator[_Copy]:
    """A shift by Q in the three directions that are not taken: the bar, and the edge where it is stated to point. An edge that may
    point anywhere is tried towards the way that is taken."""
    for turn in range(1, 4):
        row = first + _TURNED + 2 * (turn - 1)
        yield _Copy(rows, row, np.zeros(2), turn, doubtful=True)
        if points is not None:
            yield _Copy(rows, row + 1, points, turn, doubtful=True)


def _shift_doubts(first: int, taken: str) -> Doubts:
    found: dict[tuple[int, Role], str] = {}
    ways = tuple(_WAYS)
    for turn in range(1, 4):
        way = ways[(ways.index(taken) + turn) % 4]
        for row in range(2):
            found |= {(first + _TURNED + 2 * (turn - 1) + row, role): _MOVED.format(way) for role in Role}
    return found


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
        doubts[first + 1, Role.CUTTING] = _MOVED.format(profile.bore_shift)
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
