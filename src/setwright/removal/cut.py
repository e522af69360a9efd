"""Run motions through the metal: what each removes, and what touches metal that must not.

A motion that may cut (`Moves.cuts`, not RAPID) removes what its cutting pieces sweep. Everything else the tool sweeps is tried
against the metal as it then stands, and a CONTACT is reported once for each motion and role of piece, with its deepest overlap:
neck, shank, holder and nose always; cutting pieces in a rapid or in a motion that may not cut. Metal that is only touched is left
where it is.

Depth of a contact: for each of the three directions of rays, the longest stretch of metal inside the swept piece on any one ray;
the depth is the least of the three that are not zero. It is not less than the true overlap in that direction on the rays; an
overlap that no ray passes (smaller than the pitch in two directions of every bundle) is not seen. A depth up to CONTACT_DEPTH_MM
plus twice the field's `slack` is touching, not contact.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.base.threads import map_parts
from setwright.base.tolerance import CONTACT_DEPTH_MM
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable, Role
from setwright.removal.bins import Bins, bins_of, pairs_of
from setwright.removal.field import ACROSS, Bundle, Field, Tile
from setwright.removal.normals import settle
from setwright.removal.sweeps import ACTION, MOTION, PIECE, TOUCH, Sweeps, across_y, checked, sweeps_of
from setwright.removal.tiles_across import work_across
from setwright.removal.tiles_along import work_along

__all__ = ["Contact", "Cut", "Progress", "cut"]

Progress = Callable[[int, int], None]
"""Called now and then with (motions done, motions in all); may raise Cancelled."""

_MOTIONS_AT_ONCE = 262_144
_PAIRS_AT_ONCE = 4_000_000


@dataclass(frozen=True, slots=True)
class Contact:
    """Metal touched by what must not touch it, in one motion.

    `motion`: its number (`Moves.ident`); `row`: its row; `role` and `piece` (row of the PieceTable): what touched; `depth` mm (see
    the module's text); `at`: middle of the overlap there, mm in the field's frame; `cutting`: the motion was one that may cut.
    """

    motion: int
    row: int
    role: Role
    piece: int
    depth: float
    at: tuple[float, float, float]
    cutting: bool


@dataclass(frozen=True, slots=True)
class Cut:
    """What a run of motions did.

    field     the metal after them
    motion    int32 (n,)       their numbers
    removed   float64 (n,)     mm³ removed by each, from the bundle in which it changed the most rays
    by_bundle float64 (3, n)   the same as each bundle has it; their sum over the motions is exactly the bundle's change
    axial     float64 (n,)     mm; the longest stretch removed on one ray along Z: the axial depth of cut
    contacts  in the order of the motions, then by role
    """

    field: Field
    motion: NDArray[np.int32]
    removed: NDArray[np.float64]
    by_bundle: NDArray[np.float64]
    axial: NDArray[np.float64]
    contacts: tuple[Contact, ...]

    def first_metal(self) -> int:
        """Number of the first motion that removed metal; -1 if none did."""
        rows = np.flatnonzero(self.by_bundle.max(axis=0) > 0)
        return int(self.motion[rows[0]]) if rows.size else -1


class _Touches(NamedTuple):
    """Overlaps found on rays: row of the motion, row of the piece, bundle, depth, place."""

    row: NDArray[np.int64]
    piece: NDArray[np.int64]
    axis: NDArray[np.int64]
    depth: NDArray[np.float64]
    at: NDArray[np.float64]


def cut(field: Field, moves: Moves, pieces: PieceTable, *, progress: Progress | None = None) -> Cut:
    """Run `moves` with `pieces` through `field`, in order. The field given is not changed.

    Raises InputRefused if motions or pieces cannot be computed with. Exact along every ray for lines and level arcs; for other
    arcs within CHORD_SAGITTA_MM (see sweeps). The result does not depend on the number of threads.
    """
    checked(moves, pieces)
    n = len(moves)
    by_bundle, rays, axial = np.zeros((3, n)), np.zeros((3, n), np.int64), np.zeros(n)
    touches: list[_Touches] = []
    slack = field.slack
    for start in range(0, n, _MOTIONS_AT_ONCE):
        stop = min(n, start + _MOTIONS_AT_ONCE)
        sweeps = sweeps_of(moves[start:stop], pieces)
        slack = max(slack, sweeps.slack)
        here = slice(start, stop)
        for part in _portions(sweeps, field):
            bundles = []
            for axis in range(3):
                bundle, found = _run_bundle(field, axis, part, moves.ident[here])
                bundles.append(bundle)
                _credit(part, axis, found, by_bundle[axis, here], rays[axis, here], axial[here], touches, start)
            field = Field(field.grid, (bundles[0], bundles[1], bundles[2]), slack)
            if progress is not None:
                progress(start + int(part.code[-1, MOTION]) + 1, n)
    area = [float(field.grid.pitch[u] * field.grid.pitch[v]) for u, v in ACROSS]
    by_bundle *= np.array(area)[:, None]
    removed = np.take_along_axis(by_bundle, rays.argmax(axis=0)[None], axis=0)[0]
    return Cut(field, moves.ident.copy(), removed, by_bundle, axial, _contacts(touches, moves, pieces, slack))


def _portions(sweeps: Sweeps, field: Field) -> list[Sweeps]:
    """The sweeps in runs small enough to work on at once."""
    if len(sweeps) == 0:
        return []
    load = np.cumsum(pairs_of(sweeps, field)) // _PAIRS_AT_ONCE
    edges = [0, *(np.flatnonzero(np.diff(load)) + 1).tolist(), len(sweeps)]
    return [
        Sweeps(sweeps.shape[a:b], sweeps.code[a:b], sweeps.box[a:b], sweeps.slack) for a, b in zip(edges[:-1], edges[1:], strict=True)
    ]


class _Found(NamedTuple):
    """What the sweeps `rows` did to one tile; see tiles.work_along."""

    rows: NDArray[np.int32]
    amount: NDArray[np.float64]
    longest: NDArray[np.float64]
    touched: NDArray[np.int64]
    where: NDArray[np.float64]


def _run_bundle(field: Field, axis: int, sweeps: Sweeps, ident: NDArray[np.int32]) -> tuple[Bundle, list[_Found]]:
    """Apply sweeps to one bundle: its new state, and what was found tile by tile, in the order of the tiles."""
    bundle = field.bundles[axis]
    seen = across_y(sweeps) if axis == 1 else sweeps
    bins = bins_of(seen, field, axis)
    reached = np.flatnonzero(np.diff(bins.first)).tolist()
    done = map_parts(lambda number: _run_tile(field, axis, bundle.tiles[number], seen, _rows(bins, number), ident), reached)
    tiles = list(bundle.tiles)
    for number, (tile, _) in zip(reached, done, strict=True):
        tiles[number] = tile
    return Bundle(axis, bundle.nu, bundle.nv, tuple(tiles)), [found for _, found in done]


def _rows(bins: Bins, number: int) -> NDArray[np.int32]:
    return bins.rows[bins.first[number] : bins.first[number + 1]]


def _run_tile(
    field: Field, axis: int, tile: Tile, sweeps: Sweeps, rows: NDArray[np.int32], ident: NDArray[np.int32]
) -> tuple[Tile, _Found]:
    across = list(ACROSS[axis])
    first, pitch = field.grid.first[across], field.grid.pitch[across]
    first = first + pitch * np.array([tile.u0, tile.v0])
    amount, longest, touched = np.zeros(rows.size), np.zeros(rows.size), np.zeros(rows.size, np.int64)
    where = np.zeros((rows.size if (sweeps.code[rows, ACTION] == TOUCH).any() else 0, 3))
    ends, count = tile.ends.copy(), tile.count.copy()
    tags = np.arange(ends.size, dtype=np.int32).reshape(ends.shape)
    work = work_along if axis == 2 else work_across
    ends, tags = work(first, pitch, tile.nu, tile.nv, sweeps.shape, sweeps.code, sweeps.box, rows, ends, tags, count, amount, longest,
                      touched, where)  # fmt: skip
    found = _Found(rows, amount, longest, touched, where[:, [1, 0, 2]] if axis == 1 else where)
    if not touched.any():
        return tile, found
    room = max(1, int(count.max()))
    ends, tags = np.ascontiguousarray(ends[:, :room]), np.ascontiguousarray(tags[:, :room])
    new_ident, new_normal = np.zeros(ends.shape, np.int32), np.zeros(ends.shape, np.int32)
    settle(first, pitch, tile.nu, axis, sweeps.shape, sweeps.code, ident, ends, tags, count, tile.ident.ravel(), tile.normal.ravel(),
           new_ident, new_normal)  # fmt: skip
    return Tile(tile.u0, tile.v0, tile.nu, tile.nv, count, ends, new_ident, new_normal), found


def _credit(
    sweeps: Sweeps, axis: int, found: list[_Found], length: NDArray[np.float64], rays: NDArray[np.int64], axial: NDArray[np.float64],
    touches: list[_Touches], start: int,
) -> None:  # fmt: skip
    """Add what was found in one bundle to its motions."""
    if not found:
        return
    rows = np.concatenate([one.rows for one in found])
    motion = sweeps.code[rows, MOTION].astype(np.int64)
    n = length.size
    length += np.bincount(motion, np.concatenate([one.amount for one in found]), n)
    rays += np.bincount(motion, np.concatenate([one.touched for one in found]), n).astype(np.int64)
    if axis == 2:
        longest = np.concatenate([np.where(one.touched > 0, one.longest, 0.0) for one in found])
        np.maximum.at(axial, motion, longest)
    for one in found:
        hit = np.flatnonzero((one.longest > 0) & (sweeps.code[one.rows, ACTION] == TOUCH))
        if hit.size:
            code = sweeps.code[one.rows[hit]].astype(np.int64)
            touches.append(_Touches(start + code[:, MOTION], code[:, PIECE], np.full(hit.size, axis), one.longest[hit], one.where[hit]))


def _contacts(touches: list[_Touches], moves: Moves, pieces: PieceTable, slack: float) -> tuple[Contact, ...]:
    """One contact for each motion and role: the deepest overlap of each bundle, then the bundle with the least of them."""
    if not touches:
        return ()
    row, piece, axis, depth, at = (np.concatenate(column) for column in zip(*touches, strict=True))
    role = pieces.role[piece].astype(np.int64)
    order = np.lexsort((-depth, axis, role, row))
    order = order[_firsts(row[order], role[order], axis[order])]
    order = order[np.lexsort((depth[order], role[order], row[order]))]
    order = order[_firsts(row[order], role[order])]
    contacts = []
    for k in order[depth[order] > CONTACT_DEPTH_MM + 2 * slack].tolist():
        motion = int(row[k])
        x, y, z = at[k].tolist()
        cutting = bool(moves.cuts[motion] and moves.kind[motion] != 0)
        contacts.append(Contact(int(moves.ident[motion]), motion, Role(int(role[k])), int(piece[k]), float(depth[k]), (x, y, z), cutting))
    return tuple(contacts)


def _firsts(*keys: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Where a run of equal keys begins."""
    begins = np.ones(keys[0].size, np.bool_)
    begins[1:] = np.any([np.diff(key) != 0 for key in keys], axis=0)
    return begins
