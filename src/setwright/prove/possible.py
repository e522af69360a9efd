"""Contacts that are possible because the setup is only known so well: with the holding, and with the metal as it then stands.

Every body is carried along a box as wide as its spread (`margin`). What meets it then and not where it is computed is possible.
For the metal the blank is made larger so and the program run through it again: a skin that an earlier cut takes off is gone for the
larger blank as well. Lengths err against each other too: the motions of each tool are run lower by the doubt of two lengths through
what the tools before it left, so that its own cuts move with it and those of the others do not.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.clearance import Bodies, contact_verdicts, find_contacts, least_clearance, moves_near
from setwright.clearance.push import Verdict
from setwright.clearance.scene import GROUPS
from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape, MeshShape
from setwright.geometry.frames import shifted
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import PieceTable, Role
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.prove.case import BLANK, Contact, Nearness, Possible
from setwright.prove.compute import packed_bodies
from setwright.prove.margin import Spread, spread_of
from setwright.removal.contact import Contact as Touch
from setwright.removal.contact import touch
from setwright.removal.cut import cut
from setwright.removal.field import Field, field_of
from setwright.removal.passage import MOTIONS_AT_ONCE

__all__ = ["Skin", "grown", "metal_nearness", "possible_with_holding", "possible_with_metal",
           "skin_of"]  # fmt: skip

_PARTS = tuple(GROUPS)
_GROUP_OF = {role: number for number, roles in enumerate(GROUPS.values()) for role in roles}
_COARSER = 1.5
_NOWHERE = (math.nan, math.nan, math.nan)
_Flags = NDArray[np.bool_]
_Spot = tuple[float, float, float]


# --- holding ---------------------------------------------------------------------------------------------------------
def possible_with_holding(
    moves: Moves, pieces: PieceTable, bodies: Bodies, spreads: Sequence[Spread], near: Iterable[Nearness], sure: Iterable[Contact]
) -> list[Possible]:
    """What may meet a body and surely meets none, one answer a body and part; `spreads` in the order of the bodies."""
    half = np.array([spread.half for spread in spreads])
    if not half.any():
        return []
    hit = {(contact.body, _part(contact)) for contact in sure}
    wide, nearest = bodies.widened(half), {(one.body, one.part): one for one in near}
    meets: _Flags = np.equal(contact_verdicts(moves, pieces, wide), Verdict.CONTACT)
    found = []
    for body, group in np.argwhere(meets.any(axis=0)).tolist():
        key = (bodies.names[body], _PARTS[group])
        if key in hit:
            continue
        one, rows = nearest.get(key), np.flatnonzero(meets[:, body, group])
        gap, known, row, at = (one.least_mm, one.known_mm, one.row, one.on_body) if one is not None else (0.0, 0.0, -1, _NOWHERE)
        if not 0.0 < gap < known:  # the nearest place is not the one in doubt
            table = find_contacts(moves[rows], pieces, wide)
            deepest = int(table.deepest[body, group])
            known = float(half[body][np.argmax(np.abs(table.push[body, group]))])
            gap, row = max(known - float(table.depth[body, group]), 0.0), int(moves.ident[rows[deepest]])
            at = _three(table.place[body, group])
        count = int(np.unique(moves.ident[rows]).size)
        found.append(Possible(*key, row, count, gap, known, _is_rapid(moves, row), at))
    return found


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
    """Motions and the blank before the program: its `solids`, who must not meet it, bool (n, groups), who of these meets it, and
    how far it may lie elsewhere. `tool` int32 (n,): which tool it is, of which the table may have several rows. Build with
    `skin_of`."""

    solids: tuple[Body, ...]
    packed: Bodies
    forbidden: _Flags
    meets: _Flags
    spread: Spread
    stated: bool
    tool: NDArray[np.int32]


def skin_of(moves: Moves, pieces: PieceTable, kit: Kit, truth: Truth, *, tool: NDArray[np.int32] | None = None) -> Skin:
    """The skin of the blank for `metal_nearness` and `possible_with_metal`; `stated`: it is that of the stated solids, not the box
    about what an earlier setup leaves. `tool`: as in Skin, each row of the table a tool of its own unless said."""
    solids = _solids(kit)
    lows, highs = zip(*(solid.bounds() for solid in solids), strict=True)
    spread, packed = spread_of(kit, truth, (np.min(lows, axis=0), np.max(highs, axis=0))), _packed(solids)
    forbidden = _must_not(moves)
    meets = _meet(moves, pieces, packed, forbidden)
    return Skin(solids, packed, forbidden, meets, spread, kit.blank is not None, moves.tool if tool is None else tool)


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


def metal_nearness(moves: Moves, pieces: PieceTable, skin: Skin) -> list[Nearness]:
    """Least distance to the blank of the parts that must not meet it, over the motions that stay outside the blank as it was before
    the program: a lower bound of that to the metal (bounds as in `least_clearance`). What goes on inside is tried on the metal."""
    outside = skin.forbidden & ~skin.meets
    each = (_nearest(moves, np.flatnonzero(outside[:, group]), pieces, skin, part) for group, part in enumerate(_PARTS))
    return [one for one in each if one is not None]


def _nearest(moves: Moves, rows: NDArray[np.intp], pieces: PieceTable, skin: Skin, part: str) -> Nearness | None:
    """The nearest pass of a part among the motions `rows`; None where none of them has such a part."""
    if not rows.size:
        return None
    table = least_clearance(moves[rows], pieces, skin.packed, groups={part: GROUPS[part]})
    body = int(np.argmin(table.upper[:, 0]))
    if table.ident[body, 0] < 0:
        return None
    tool, metal = table.on_tool[body, 0], table.on_body[body, 0]
    return Nearness(BLANK, part, float(table.lower[:, 0].min()), float(table.upper[body, 0]), int(table.ident[body, 0]),
                    _three(tool), _three(metal), skin.spread.along(tool - metal))  # fmt: skip


def possible_with_metal(
    before: Field, moves: Moves, pieces: PieceTable, skin: Skin, between_mm: float, sure: Iterable[Contact]
) -> list[Possible]:
    """What may meet metal that it must not and surely meets none, one answer a tool and part. `before`: the blank as rays;
    `between_mm`: `margin.length_between_tools`, heeded where several tools run.

    Exact as `removal.cut` is for boxes and cylinders. A mesh, or what an earlier setup leaves, grows along each bundle of rays by
    itself: beside its edges, where two axes vary at once, no cut acquits.
    """
    half = skin.spread.half
    if not half.any():
        return []
    doubtful = skin.forbidden.copy()
    for one in sure:
        if one.body == BLANK:
            doubtful[skin.tool == skin.tool[np.searchsorted(moves.ident, one.row)], _PARTS.index(_part(one))] = False
    rest = np.flatnonzero((doubtful & ~skin.meets).any(axis=1))
    reached = skin.meets.copy()
    reached[rest] |= _meet(moves[rest], pieces, _wider(skin, half), doubtful[rest])
    doubtful &= reached
    if not doubtful.any():
        return []
    lower = between_mm if np.unique(skin.tool[moves.cuts | doubtful.any(axis=1)]).size > 1 else 0.0
    larger = grown(before, skin.solids if skin.stated else (), half - [0.0, 0.0, lower])
    deepest = _still_there(larger, moves, pieces, doubtful, skin, lower)
    _unseen(larger, moves, pieces, doubtful & ~skin.meets, float(half.max()), deepest)
    return list(_answers(moves, pieces, skin, deepest))


def _wider(skin: Skin, half: NDArray[np.float64]) -> Bodies:
    """The solids of a skin carried along a box of half-widths `half`."""
    larger = [_larger(solid.shape, half) for solid in skin.solids]
    if any(shape is None for shape in larger):
        return skin.packed.widened(np.tile(half, (len(skin.packed), 1)))
    return _packed([replace(solid, shape=shape) for solid, shape in zip(skin.solids, larger, strict=True) if shape is not None])


_Deepest = dict[tuple[int, int], tuple[float, float, _Spot]]
"""By motion and group: how deep, to what the distance is known there (mm), and where that is."""


def _still_there(larger: Field, moves: Moves, pieces: PieceTable, doubtful: _Flags, skin: Skin, lower: float) -> _Deepest:
    """Who of the doubtful meets the larger metal as it then stands."""
    tried = np.asarray(doubtful.any(axis=1), np.bool_)
    last = int(np.flatnonzero(tried)[-1])
    rows = np.flatnonzero((tried | (moves.cuts & (moves.kind != MoveKind.RAPID)))[: last + 1])
    rows = rows[tried[rows] | moves_near(moves[rows], pieces, np.flatnonzero(tried[rows]), roles=(Role.CUTTING,), within=lower)]
    run, table = _cutters_beside(moves[rows], pieces, tried[rows])
    found: _Deepest = {}
    for some in _by_tool(skin.tool[rows], lower):
        if tried[rows[some]].any():
            for one in cut(larger, _lowered(run[some], lower), table).contacts:
                row = int(rows[some.start + one.row])
                key = (int(moves.ident[row]), _GROUP_OF[one.role])
                if doubtful[row, key[1]] and one.depth > found.get(key, (0.0,))[0]:
                    found[key] = (one.depth, _known(one, skin, lower), one.at)
        if some.stop < rows.size:
            larger = cut(larger, run[some], table).field
    return found


def _known(one: Touch, skin: Skin, lower: float) -> float:
    """To what the distance is known that an overlap shows: that to the skin, or that to a face another tool cut."""
    half = float(skin.spread.half[one.axis])
    if lower == 0.0 or (one.axis != 2 and one.depth < half):
        return half
    top = one.at[2] + one.depth / 2.0
    return half if any(abs(solid.bounds()[1][2] + half - lower - top) <= SAME_PLACE_MM for solid in skin.solids) else lower


def _by_tool(tool: NDArray[np.int32], lower: float) -> Iterator[slice]:
    """Runs of one tool; all at once where no tool is lowered."""
    edges = [0, *(np.flatnonzero(np.diff(tool)) + 1).tolist(), tool.size] if lower > 0.0 else [0, tool.size]
    return (slice(a, b) for a, b in itertools.pairwise(edges))


def _lowered(moves: Moves, by: float) -> Moves:
    down = np.array([0.0, 0.0, -by])
    arc = (moves.kind == MoveKind.ARC)[:, None]
    return replace(moves, start=moves.start + down, end=moves.end + down, centre=np.where(arc, moves.centre + down, moves.centre))


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
    larger: Field, moves: Moves, pieces: PieceTable, doubtful: _Flags, known_mm: float, found: _Deepest
) -> None:
    """Add who meets the larger blank between its rays, where no cut could be seen to have taken it off."""
    for row, group in np.argwhere(doubtful).tolist():
        doubtful[row, group] = (int(moves.ident[row]), group) not in found
    rows = np.flatnonzero(doubtful.any(axis=1))
    if not rows.size:
        return
    seen = {(one.motion, _GROUP_OF[one.role]) for one in touch(larger, moves[rows], pieces)}
    for row, group in np.argwhere(doubtful).tolist():
        key = (int(moves.ident[row]), group)
        if key not in seen:
            found[key] = (0.0, known_mm, _three(moves.end[row]))


def _answers(moves: Moves, pieces: PieceTable, skin: Skin, deepest: _Deepest) -> Iterator[Possible]:
    """One for each tool and part: the nearest pass outside the blank if there is one in doubt, else the deepest inside."""
    groups: dict[tuple[int, int], list[int]] = {}
    for ident, group in sorted(deepest):
        groups.setdefault((int(skin.tool[np.searchsorted(moves.ident, ident)]), group), []).append(ident)
    for (_, group), idents in groups.items():
        rows = np.flatnonzero(np.isin(moves.ident, idents) & skin.forbidden[:, group] & ~skin.meets[:, group])
        near = _nearest(moves, rows, pieces, skin, _PARTS[group])
        if near is not None and near.least_mm < near.known_mm:
            row, gap, known, at = near.row, near.least_mm, near.known_mm, near.on_body
        else:
            row = max(idents, key=lambda ident: deepest[ident, group][0])
            depth, known, at = deepest[row, group]
            gap = max(known - depth, 0.0)
        yield Possible(BLANK, _PARTS[group], row, len(idents), gap, known, _is_rapid(moves, row), at)


# --- a larger blank --------------------------------------------------------------------------------------------------
def grown(before: Field, solids: Sequence[Body], half: NDArray[np.float64]) -> Field:
    """The blank larger by half-widths `half` along X, Y, Z (mm; below 0: smaller). Exact where it is the boxes and cylinders
    `solids`, with rays _COARSER times as far apart as those of `before`; else on those very rays, each longer by itself."""
    larger = [_larger(solid.shape, half) for solid in solids]
    shapes = [shape for shape in larger if shape is not None]
    if shapes and len(shapes) == len(solids):
        return field_of(shapes, pitch_mm=_COARSER * float(before.grid.pitch.max()))
    bundles = []
    for axis, bundle in enumerate(before.bundles):
        tiles = []
        for tile in bundle.tiles:
            ends = tile.ends + half[axis] * np.array([-1.0, 1.0])
            follows = np.arange(1, ends.shape[1]) < tile.count[:, None]
            middle = (tile.ends[:, :-1, 1] + tile.ends[:, 1:, 0]) / 2.0  # where neighbours would overlap they meet
            ends[:, :-1, 1] = np.where(follows, np.minimum(ends[:, :-1, 1], middle), ends[:, :-1, 1])
            ends[:, 1:, 0] = np.where(follows, np.maximum(ends[:, 1:, 0], middle), ends[:, 1:, 0])
            tiles.append(replace(tile, ends=ends))
        bundles.append(replace(bundle, tiles=tuple(tiles)))
    grid = replace(before.grid, low=before.grid.low - half, high=before.grid.high + half)
    return Field(grid, (bundles[0], bundles[1], bundles[2]), before.slack)


def _larger(shape: BoxShape | CylinderShape | MeshShape, half: NDArray[np.float64]) -> BoxShape | CylinderShape | None:
    """A larger box; a larger cylinder, which is as round as the bar it is sawn from; None for a mesh."""
    if isinstance(shape, BoxShape):
        (a, b, c), (d, e, f) = (np.array(shape.low) - half).tolist(), (np.array(shape.high) + half).tolist()
        return BoxShape((a, b, c), (d, e, f))
    if isinstance(shape, CylinderShape):
        x, y, z = half.tolist()
        return CylinderShape(shape.centre, shape.radius + max(x, y), shape.bottom - z, shape.top + z)
    return None
