"""Contacts that are possible because the setup is only known so well: with the holding, and with the metal as it then stands.

Every body is carried along a box as wide as its spread (`margin`) for the tool that passes it. What meets it then and not where it
is computed is possible. For the metal the blank is made larger so and the program run through it again, for each tool in doubt: a
skin that an earlier cut takes off is gone for the larger blank as well. Lengths err against each other too: what other tools cut
is cut higher by the doubt of the two lengths, so that a tool's own cuts move with it and those of the others do not.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.clearance import Bodies, contact_verdicts, find_contacts, least_clearance, moves_near
from setwright.clearance.push import Verdict
from setwright.clearance.scene import GROUPS
from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape, MeshShape
from setwright.geometry.frames import shifted
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, Piece, PieceTable, Role, thickened
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.prove.case import BLANK, Contact, Nearness, Possible
from setwright.prove.compute import packed_bodies
from setwright.prove.margin import Spread, between_tools, spread_of
from setwright.removal.contact import Contact as Touch
from setwright.removal.contact import touch
from setwright.removal.cut import cut
from setwright.removal.field import BLANK as NO_MOTION
from setwright.removal.field import Field, field_of
from setwright.removal.passage import MOTIONS_AT_ONCE
from setwright.removal.ready import Ready
from setwright.removal.regions import BoxRegion

__all__ = ["Skin", "grown", "metal_nearness", "possible_with_holding", "possible_with_metal",
           "skin_of"]  # fmt: skip

_PARTS = tuple(GROUPS)
_GROUP_OF = {role: number for number, roles in enumerate(GROUPS.values()) for role in roles}
_COARSER = 1.5
_REACH_MM: Final = 10.0
"""Up to this distance passes inside the blank are told."""
_CLOSE_MM: Final = 0.001
"""So closely they are told, and nearer than that a tool touches what it passes."""
_STEPS: Final = 16
_MOST_PROBES: Final = 20_000
"""Into so many steps a distance is parted at once, but for so many motions of all probes together."""
_NOWHERE = (math.nan, math.nan, math.nan)
_Flags = NDArray[np.bool_]
_Spot = tuple[float, float, float]
_Key = tuple[int, int]
"""A tool and a group of its parts."""


# --- holding ---------------------------------------------------------------------------------------------------------
def possible_with_holding(
    moves: Moves, pieces: PieceTable, bodies: Bodies, spreads: Sequence[Sequence[Spread]], near: Iterable[Nearness],
    sure: Iterable[Contact]
) -> list[Possible]:  # fmt: skip
    """What may meet a body and surely meets none, one answer a body and part; `spreads` by row of the tool, each in the order of
    the bodies."""
    half = np.array([[spread.half for spread in own] for own in spreads])
    meets: _Flags = np.zeros((len(moves), len(bodies), len(_PARTS)), np.bool_)
    alike = _alike(half)[moves.tool]
    wide: dict[int, Bodies] = {}
    for one in np.unique(alike).tolist():
        if half[one].any():
            wide[one], rows = bodies.widened(half[one]), np.flatnonzero(alike == one)
            meets[rows] = contact_verdicts(moves[rows], pieces, wide[one]) == Verdict.CONTACT
    hit = {(contact.body, _part(contact)) for contact in sure}
    nearest = {(one.body, one.part): one for one in near}
    found = []
    for body, group in np.argwhere(meets.any(axis=0)).tolist():
        key = (bodies.names[body], _PARTS[group])
        if key in hit:
            continue
        one, rows = nearest.get(key), np.flatnonzero(meets[:, body, group])
        gap, known, row, at = (one.least_mm, one.known_mm, one.row, one.on_body) if one is not None else (0.0, 0.0, -1, _NOWHERE)
        if not 0.0 < gap < known:  # the nearest place is not the one in doubt
            each = [_deepest(moves, rows[alike[rows] == same], pieces, wide[same], half[same], body, group)
                    for same in np.unique(alike[rows]).tolist()]  # fmt: skip
            gap, known, row, at = min(each, key=lambda one: one[0] - one[1])
        count = int(np.unique(moves.ident[rows]).size)
        found.append(Possible(*key, row, count, gap, known, _is_rapid(moves, row), at))
    return found


def _alike(half: NDArray[np.float64]) -> NDArray[np.intp]:
    """The first tool that is known as well as each, int64 (tools,)."""
    _, first, same = np.unique(half.reshape(len(half), -1), axis=0, return_index=True, return_inverse=True)
    return first[same.ravel()]


def _deepest(moves: Moves, rows: NDArray[np.intp], pieces: PieceTable, wide: Bodies, half: NDArray[np.float64], body: int,
             group: int) -> tuple[float, float, int, _Spot]:  # fmt: skip
    """The gap, to what it is known, the motion and the place where a part comes deepest into a body that is widened by `half`."""
    table = find_contacts(moves[rows], pieces, wide)
    known = float(half[body][np.argmax(np.abs(table.push[body, group]))])
    gap, row = max(known - float(table.depth[body, group]), 0.0), int(moves.ident[rows[int(table.deepest[body, group])]])
    return gap, known, row, _three(table.place[body, group])


def _part(contact: Contact) -> str:
    """The group of the tool's parts that a contact's part belongs to."""
    return "shank" if contact.part == "neck" else contact.part


def _three(point: NDArray[np.float64]) -> _Spot:
    x, y, z = point.tolist()
    return x, y, z


def _is_rapid(moves: Moves, row: int) -> bool:
    return bool(moves.kind[int(np.searchsorted(moves.ident, row))] == MoveKind.RAPID)


# --- metal -----------------------------------------------------------------------------------------------------------
def _solids(kit: Kit) -> tuple[Body, ...]:
    """The blank before the program, every copy of it; of one that an earlier setup leaves, the box about it."""
    if kit.blank is not None:
        return tuple(kit.blank.moved(shifted(*copy)) for copy in kit.copies)
    low, high = (corner.tolist() for corner in kit.extent)
    return (Body(BLANK, BodyRole.BLANK, BoxShape((low[0], low[1], low[2]), (high[0], high[1], high[2]))),)


def _packed(solids: Sequence[Body]) -> Bodies:
    return packed_bodies([replace(solid, name=f"{number}") for number, solid in enumerate(solids)])


def _must_not(moves: Moves) -> _Flags:
    """Which parts must not meet metal in a motion, bool (n, groups): all in a rapid or where the spindle does not turn the way the
    tool cuts; else all but the cutter."""
    forbidden = np.ones((len(moves), len(_PARTS)), np.bool_)
    forbidden[:, _GROUP_OF[Role.CUTTING]] = (moves.kind == MoveKind.RAPID) | ~moves.cuts
    return forbidden


@dataclass(frozen=True, slots=True)
class Skin:
    """Motions and the blank before the program: its `solids`, who must not meet it, bool (n, groups), and who of these meets it.

    `tool` int32 (n,): which tool it is, of which the table may have several rows; `spreads`: by tool, how far the blank may lie
    elsewhere; `between` float64 (tools, tools): to what the height of one tool over a face that another cut is known, mm. Build
    with `skin_of`.
    """

    solids: tuple[Body, ...]
    packed: Bodies
    forbidden: _Flags
    meets: _Flags
    stated: bool
    tool: NDArray[np.int32]
    spreads: tuple[Spread, ...]
    between: NDArray[np.float64]


def skin_of(
    moves: Moves, pieces: PieceTable, kit: Kit, truth: Truth, order: Iterable[int], *, tool: NDArray[np.int32] | None = None
) -> Skin:
    """The skin of the blank for `metal_nearness` and `possible_with_metal`; `stated`: it is that of the stated solids, not the box
    about what an earlier setup leaves. `order`: stations as their tools stand in the table; `tool`: as in Skin, each row of the
    table a tool of its own unless said."""
    solids, stations = _solids(kit), list(order)
    lows, highs = zip(*(solid.bounds() for solid in solids), strict=True)
    corners, packed = (np.min(lows, axis=0), np.max(highs, axis=0)), _packed(solids)
    spreads = tuple(spread_of(kit, truth, corners, station=station) for station in stations)
    between = np.array([[between_tools(truth, one, other) for other in stations] for one in stations])
    forbidden = _must_not(moves)
    meets = _meet(moves, pieces, packed, forbidden)
    return Skin(solids, packed, forbidden, meets, kit.blank is not None, moves.tool if tool is None else tool, spreads, between)


def _meet(moves: Moves, pieces: PieceTable, solids: Bodies, forbidden: _Flags) -> _Flags:
    """Which of the parts that must not meet metal meet the solids, bool (n, groups); of a cutter that cuts nobody asks."""
    meets, cutter = np.zeros(forbidden.shape, np.bool_), _GROUP_OF[Role.CUTTING]
    for cuts in (False, True):
        rows = np.flatnonzero(forbidden[:, cutter] != cuts)
        asked = {part: roles for part, roles in GROUPS.items() if part != _PARTS[cutter] or not cuts}
        for first in range(0, rows.size, MOTIONS_AT_ONCE):
            some = rows[first : first + MOTIONS_AT_ONCE]
            found = (contact_verdicts(moves[some], pieces, solids, groups=asked) == Verdict.CONTACT).any(axis=1)
            for place, part in enumerate(asked):
                meets[some, _PARTS.index(part)] = found[:, place]
    return meets & forbidden


def metal_nearness(before: Field, moves: Moves, pieces: PieceTable, skin: Skin, sure: Iterable[Contact]) -> list[Nearness]:
    """Least distance of the parts that must not meet metal to the metal as it then stands, one answer a tool and part: exact (as in
    `least_clearance`) over the motions that stay outside the blank as it was before the program, within _CLOSE_MM and up to
    _REACH_MM over those inside. What touches metal inside is left out: a tool that rises out of its own cut does.
    `sure`: contacts."""
    left = _without(skin.forbidden, moves, skin, sure)
    found: dict[_Key, Nearness] = {}
    for tool, group in _tools_and_parts(skin.tool, left):
        near = _nearest(moves, np.flatnonzero(left[:, group] & ~skin.meets[:, group] & (skin.tool == tool)), pieces, skin, group)
        if near is not None:
            found[tool, group] = near
    inside = left & skin.meets
    if inside.any():
        metal = grown(before, skin.solids if skin.stated else (), np.zeros((2, 3)))
        found |= _Probes(metal, moves, pieces, skin).nearest(inside, found)
    return list(found.values())


def _without(forbidden: _Flags, moves: Moves, skin: Skin, sure: Iterable[Contact]) -> _Flags:
    """Who must not meet metal, but for the tools and parts that surely do."""
    left = forbidden.copy()
    for one in sure:
        if one.body == BLANK:
            left[skin.tool == skin.tool[np.searchsorted(moves.ident, one.row)], _PARTS.index(_part(one))] = False
    return left


def _tools_and_parts(tool: NDArray[np.int32], flags: _Flags) -> Iterator[_Key]:
    for group in range(len(_PARTS)):
        for one in np.unique(tool[flags[:, group]]).tolist():
            yield one, group


def _nearest(moves: Moves, rows: NDArray[np.intp], pieces: PieceTable, skin: Skin, group: int) -> Nearness | None:
    """The nearest pass of a part of one tool to the blank among the motions `rows`; None where none of them has such a part."""
    if not rows.size:
        return None
    part = _PARTS[group]
    table = least_clearance(moves[rows], pieces, skin.packed, groups={part: GROUPS[part]})
    body = int(np.argmin(table.upper[:, 0]))
    if table.ident[body, 0] < 0:
        return None
    tool, metal = table.on_tool[body, 0], table.on_body[body, 0]
    return Nearness(BLANK, part, float(table.lower[:, 0].min()), float(table.upper[body, 0]), int(table.ident[body, 0]),
                    _three(tool), _three(metal), skin.spreads[int(skin.tool[rows[0]])].along(tool - metal))  # fmt: skip


@dataclass(slots=True)
class _Bracket:
    """Between which distances (mm) a part of a tool comes nearest to metal, in which motions (rows) it may, and where."""

    low: float
    high: float
    rows: NDArray[np.intp]
    at: _Spot = _NOWHERE


@dataclass(frozen=True, slots=True)
class _Probes:
    """Looks for the nearest passes inside the blank: motions are run once more with parts thicker by several distances, and between
    the greatest of them that meets no metal and the least that does it is looked for again."""

    metal: Field
    moves: Moves
    pieces: PieceTable
    skin: Skin

    def nearest(self, inside: _Flags, outside: Mapping[_Key, Nearness]) -> dict[_Key, Nearness]:
        """What comes nearer inside than `outside`, by tool and part."""
        known: dict[_Key, _Bracket] = {}
        for key in _tools_and_parts(self.skin.tool, inside):
            reach = min(outside[key].at_most_mm, _REACH_MM) if key in outside else _REACH_MM
            if reach > _CLOSE_MM:
                known[key] = _Bracket(_CLOSE_MM, reach, np.flatnonzero(inside[:, key[1]] & (self.skin.tool == key[0])))
        open_ = dict(known)
        while open_:
            steps = int(np.clip(_MOST_PROBES // sum(one.rows.size for one in open_.values()), 1, _STEPS))
            sizes = {key: np.linspace(one.low, one.high, steps + 1).tolist() for key, one in open_.items()}
            met = self._met({key: (one.rows, sizes[key]) for key, one in open_.items()})
            for key, one in list(open_.items()):
                self._narrow(one, met.get(key, []), sizes[key])
                if not one.rows.size:  # nothing inside is as near
                    del known[key]
                if not one.rows.size or one.high - one.low <= _CLOSE_MM or steps == 1:
                    del open_[key]
        return {key: self._said(key, one) for key, one in known.items()}

    def _narrow(self, one: _Bracket, met: list[tuple[int, float, _Spot]], sizes: list[float]) -> None:
        """The bracket after a round; at its first size a motion touches what it passes."""
        touching = {row for row, size, _ in met if size == _CLOSE_MM}
        left = [each for each in met if each[0] not in touching]
        least = min((size for _, size, _ in left), default=math.inf)
        nearest = [(row, at) for row, size, at in left if size == least]
        one.rows = np.array(sorted({row for row, _ in nearest}), np.intp)
        if nearest:
            one.low, one.high = sizes[sizes.index(least) - 1], least
            one.at = min(nearest)[1]

    def _met(self, asked: Mapping[_Key, tuple[NDArray[np.intp], list[float]]]) -> dict[_Key, list[tuple[int, float, _Spot]]]:
        """Which of the motions meet metal with a part thicker by which of the sizes, and where."""
        each = [(row, key, size) for key, (rows, sizes) in asked.items() for size in sizes for row in rows.tolist()]
        hung = [[_piece(self.pieces, row) for row in range(first, last)]
                for first, last in itertools.pairwise(self.pieces.first.tolist())]  # fmt: skip
        cutters = [[piece for piece in own if piece.role is Role.CUTTING] for own in hung]
        number: dict[tuple[int, int, float], int] = {}
        for row, (_, group), size in each:
            number.setdefault((int(self.moves.tool[row]), group, size), len(hung) + len(number))
        thick = [[more for piece in hung[tool] if _GROUP_OF[piece.role] == group for more in thickened(piece, size)]
                 for tool, group, size in number]  # fmt: skip
        copied = np.array([row for row, _, _ in each], np.intp)
        cutting = _cutting_near(self.moves, self.pieces, np.unique(copied), max(sizes[-1] for _, sizes in asked.values()))
        rows = np.concatenate([cutting, copied])
        order = np.argsort(2 * rows + (np.arange(rows.size) >= cutting.size), kind="stable")  # a probe behind its own motion
        tool = [number[int(self.moves.tool[row]), key[1], size] for row, key, size in each]
        run = replace(self.moves[rows], tool=np.concatenate([self.moves.tool[cutting], np.array(tool, np.int32)]),
                      cuts=np.arange(rows.size) < cutting.size)[order]  # fmt: skip
        found: dict[_Key, list[tuple[int, float, _Spot]]] = {}
        for one in cut(self.metal, run, PieceTable.of([*cutters, *thick])).contacts:
            row, key, size = each[int(order[one.row]) - cutting.size]
            found.setdefault(key, []).append((row, size, one.at))
        return found

    def _said(self, key: _Key, one: _Bracket) -> Nearness:
        row = int(one.rows[0])
        cutting = _cutting_near(self.moves, self.pieces, one.rows[:1], one.high)
        stands = cut(self.metal, self.moves[cutting], self.pieces).field
        known = _known_at(stands, self.moves, self.skin, key[0], one.at)
        return Nearness(BLANK, _PARTS[key[1]], one.low, one.high, int(self.moves.ident[row]), one.at, one.at, known)


def _piece(pieces: PieceTable, row: int) -> Piece:
    z0, z1, r0, r1, e, f, rho = pieces.shape[row].tolist()
    return Piece(Meridian(pieces.meridian[row]), z0, z1, r0, r1, e, f, rho, Role(pieces.role[row]))


def _cutting_near(moves: Moves, pieces: PieceTable, chosen: NDArray[np.intp], within: float) -> NDArray[np.intp]:
    """The motions up to the last of the `chosen` that cut what one of these passes within that distance (mm), and maybe others."""
    some = moves[: int(chosen[-1]) + 1]
    near = moves_near(some, pieces, chosen, roles=(Role.CUTTING,), within=within)
    return np.flatnonzero(some.cuts & (some.kind != MoveKind.RAPID) & near)


def _known_at(stands: Field, moves: Moves, skin: Skin, tool: int, at: Sequence[float]) -> float:
    """To what the distance of a tool is known from the metal's surface nearest to a place: from the skin, or from what another tool
    cut, in the direction in which it looks there; from what the tool itself cut it is not in doubt."""
    around = np.outer((-1.0, 1.0), 2.0 * stands.grid.pitch) + np.array(at)
    ends = Ready(stands).ends_in(BoxRegion(*around.tolist()))
    if not ends.ident.size:
        return float(skin.spreads[tool].half.max())
    near = int(np.argmin(np.square(ends.points - at).sum(axis=1)))
    if ends.ident[near] == NO_MOTION:
        return skin.spreads[tool].along(ends.normals[near])
    maker = int(skin.tool[np.searchsorted(moves.ident, ends.ident[near])])
    return float(skin.between[tool, maker] * abs(ends.normals[near, 2]))


# --- in doubt --------------------------------------------------------------------------------------------------------
def possible_with_metal(
    before: Field, moves: Moves, pieces: PieceTable, skin: Skin, sure: Iterable[Contact]
) -> list[Possible]:
    """What may meet metal that it must not and surely meets none, one answer a tool and part. `before`: the blank as rays.

    Exact as `removal.cut` is for boxes and cylinders. A mesh, or what an earlier setup leaves, grows along each bundle of rays by
    itself: beside its edges, where two axes vary at once, no cut acquits.
    """
    left = _without(skin.forbidden, moves, skin, sure)
    return [one for tool in np.unique(skin.tool[left.any(axis=1)]).tolist()
            for one in _of_one_tool(before, moves, pieces, skin, left & (skin.tool == tool)[:, None], tool)]  # fmt: skip


def _of_one_tool(
    before: Field, moves: Moves, pieces: PieceTable, skin: Skin, doubtful: _Flags, tool: int
) -> Iterator[Possible]:
    """What of one tool may meet metal, one answer a part: in the blank larger by how well this tool is known against it, what the
    others cut higher by how well it is known against them."""
    ends = skin.spreads[tool].ends
    if not ends.any():
        return
    rest = np.flatnonzero((doubtful & ~skin.meets).any(axis=1))
    reached = skin.meets.copy()
    reached[rest] |= _meet(moves[rest], pieces, _wider(skin, ends), doubtful[rest])
    doubtful = doubtful & reached
    tried = np.flatnonzero(doubtful.any(axis=1))
    if not tried.size:
        return
    larger = grown(before, skin.solids if skin.stated else (), ends)
    raised = _raised(moves, skin.between[tool][skin.tool])
    rows = np.union1d(tried, _cutting_near(moves, pieces, tried, float(skin.between[tool].max())))
    run, table = _cutters_beside(raised[rows], pieces, np.isin(rows, tried))
    deepest: dict[tuple[int, int], Touch] = {}
    for one in cut(larger, run, table).contacts:
        row, group = int(rows[one.row]), _GROUP_OF[one.role]
        before_it = deepest.get((row, group))
        if doubtful[row, group] and (before_it is None or one.depth > before_it.depth):
            deepest[row, group] = one
    unseen = _unseen(larger, moves, pieces, doubtful & ~skin.meets, deepest)
    for group in sorted({group for _, group in (*deepest, *unseen)}):
        mine = sorted({row for row, own in (*deepest, *unseen) if own == group})
        outside = np.array([row for row in mine if not skin.meets[row, group]], np.intp)
        count, near = int(np.unique(moves.ident[mine]).size), _nearest(moves, outside, pieces, skin, group)
        if near is not None and near.least_mm < near.known_mm:
            row, gap, known, at = near.row, near.least_mm, near.known_mm, near.on_body
        else:
            first = max(mine, key=lambda row: deepest[row, group].depth if (row, group) in deepest else 0.0)
            touch_there = deepest.get((first, group))
            at = touch_there.at if touch_there is not None else _three(moves.end[first])
            stands = cut(larger, run[: int(np.searchsorted(rows, first))], table).field
            depth = touch_there.depth if touch_there is not None else 0.0
            sure = max(_known_at(stands, moves, skin, tool, at), depth)
            row, gap, known = int(moves.ident[first]), sure - depth, sure
        yield Possible(BLANK, _PARTS[group], row, count, gap, known, _is_rapid(moves, row), at)


def _wider(skin: Skin, ends: NDArray[np.float64]) -> Bodies:
    """The solids of a skin with their sides further out (see `grown`), or more than that."""
    larger = [_larger(solid.shape, ends) for solid in skin.solids]
    if any(shape is None for shape in larger):
        return skin.packed.widened(np.tile(ends.max(axis=0), (len(skin.packed), 1)))
    return _packed([replace(solid, shape=shape) for solid, shape in zip(skin.solids, larger, strict=True) if shape is not None])


def _raised(moves: Moves, by: NDArray[np.float64]) -> Moves:
    """Each motion higher by its own amount, float64 (n,), mm."""
    up = np.outer(by, (0.0, 0.0, 1.0))
    arc = (moves.kind == MoveKind.ARC)[:, None]
    return replace(moves, start=moves.start + up, end=moves.end + up, centre=np.where(arc, moves.centre + up, moves.centre))


def _cutters_beside(moves: Moves, pieces: PieceTable, whole: _Flags) -> tuple[Moves, PieceTable]:
    """The motions with a table that has each tool's cutter alone behind the tools: only the motions `whole` carry whole tools."""
    tools = pieces.first.size - 1
    bare = np.flatnonzero(pieces.role == Role.CUTTING)
    owner = np.searchsorted(pieces.first, bare, side="right") - 1
    count = np.cumsum(np.bincount(owner, minlength=tools))
    rows = np.concatenate([np.arange(pieces.role.size), bare])
    table = PieceTable(pieces.meridian[rows], pieces.role[rows], pieces.shape[rows],
                       np.concatenate([pieces.first, pieces.first[-1] + count]))  # fmt: skip
    return replace(moves, tool=np.where(whole, moves.tool, moves.tool + tools).astype(np.int32)), table


def _unseen(
    larger: Field, moves: Moves, pieces: PieceTable, doubtful: _Flags, found: Container[tuple[int, int]]
) -> set[tuple[int, int]]:
    """Who (row, group) meets the larger blank between its rays, where no cut could be seen to have taken it off."""
    left = doubtful.copy()
    for row, group in np.argwhere(doubtful).tolist():
        left[row, group] = (row, group) not in found
    rows = np.flatnonzero(left.any(axis=1))
    if not rows.size:
        return set()
    seen = {(int(rows[one.row]), _GROUP_OF[one.role]) for one in touch(larger, moves[rows], pieces)}
    return {(row, group) for row, group in np.argwhere(left).tolist()} - seen


# --- a larger blank --------------------------------------------------------------------------------------------------
def grown(before: Field, solids: Sequence[Body], ends: NDArray[np.float64]) -> Field:
    """The blank with its sides further out along X, Y, Z: the least ones by `ends[0]`, the greatest by `ends[1]` (mm, float64
    (2, 3)). Exact where it is the boxes and cylinders `solids`, with rays _COARSER times as far apart as those of `before`; else on
    those very rays, each longer by itself."""
    larger = [_larger(solid.shape, ends) for solid in solids]
    shapes = [shape for shape in larger if shape is not None]
    if shapes and len(shapes) == len(solids):
        return field_of(shapes, pitch_mm=_COARSER * float(before.grid.pitch.max()))
    if not ends.any():
        return before
    bundles = []
    for axis, bundle in enumerate(before.bundles):
        tiles = []
        for tile in bundle.tiles:
            out = tile.ends + ends[:, axis] * np.array([-1.0, 1.0])
            follows = np.arange(1, out.shape[1]) < tile.count[:, None]
            middle = (tile.ends[:, :-1, 1] + tile.ends[:, 1:, 0]) / 2.0  # where neighbours would overlap they meet
            out[:, :-1, 1] = np.where(follows, np.minimum(out[:, :-1, 1], middle), out[:, :-1, 1])
            out[:, 1:, 0] = np.where(follows, np.maximum(out[:, 1:, 0], middle), out[:, 1:, 0])
            tiles.append(replace(tile, ends=out))
        bundles.append(replace(bundle, tiles=tuple(tiles)))
    grid = replace(before.grid, low=before.grid.low - ends[0], high=before.grid.high + ends[1])
    return Field(grid, (bundles[0], bundles[1], bundles[2]), before.slack)


def _larger(shape: BoxShape | CylinderShape | MeshShape, ends: NDArray[np.float64]) -> BoxShape | CylinderShape | None:
    """A larger box; a larger cylinder, which is as round as the bar it is sawn from; None for a mesh."""
    less, more = ends
    if isinstance(shape, BoxShape):
        (a, b, c), (d, e, f) = (np.array(shape.low) - less).tolist(), (np.array(shape.high) + more).tolist()
        return BoxShape((a, b, c), (d, e, f))
    if isinstance(shape, CylinderShape):
        x, y = (np.array(shape.centre) + (more - less)[:2] / 2.0).tolist()
        wide = float((more + less)[:2].max()) / 2.0
        return CylinderShape((x, y), shape.radius + wide, shape.bottom - float(less[2]), shape.top + float(more[2]))
    return None
