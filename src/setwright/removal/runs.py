"""Sweeps run over the tiles of a bundle: each tile by one thread, all its sweeps in order, so that the bytes of the result do
not depend on how many threads there are."""

from __future__ import annotations

import itertools
from threading import local
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.base.threads import map_parts
from setwright.removal.bins import Bins, bins_of, pairs_of
from setwright.removal.field import ACROSS, TILE, Bundle, Field, Tile
from setwright.removal.gaps import GAP_COLUMNS, PLANE
from setwright.removal.sweeps import ACTION, MOTION, TOUCH, Sweeps, across_y
from setwright.removal.tiles import run_tile

__all__ = ["Found", "Known", "portions", "run_bundle"]

_PAIRS_AT_ONCE = 4_000_000


def portions(sweeps: Sweeps, field: Field) -> list[Sweeps]:
    """The sweeps in runs small enough to work on at once. A motion's sweeps stay together, so that what it removes is summed in
    the same order however a job is divided."""
    if len(sweeps) == 0:
        return []
    load = np.cumsum(pairs_of(sweeps, field)) // _PAIRS_AT_ONCE
    motion = sweeps.code[:, MOTION]
    cuts = np.searchsorted(motion, motion[np.flatnonzero(np.diff(load)) + 1])
    edges = np.unique(np.concatenate([[0], cuts, [len(sweeps)]])).tolist()
    return [Sweeps(sweeps.shape[a:b], sweeps.code[a:b], sweeps.box[a:b], sweeps.slack) for a, b in itertools.pairwise(edges)]


class Found(NamedTuple):
    """What the sweeps `rows` did to one tile (its number in the bundle); see tiles_along.work_along."""

    tile: int
    rows: NDArray[np.int32]
    amount: NDArray[np.float64]
    longest: NDArray[np.float64]
    touched: NDArray[np.int64]
    where: NDArray[np.float64]


class Known:
    """What one bundle's sweeps did to the tiles they met, until it is closed; for one list of sweeps and one grid of rays. Read by
    many threads, added to by one."""

    def __init__(self) -> None:
        self._reach: tuple[Sweeps, Bins, list[int]] | None = None
        self._done: dict[int, tuple[Tile, Tile, Found]] = {}
        self._open = True

    def close(self) -> None:
        """Remember no more."""
        self._open = False

    def reach(self, field: Field, axis: int, sweeps: Sweeps) -> tuple[Sweeps, Bins, list[int]]:
        """As `_reach`, worked out once."""
        if self._reach is None:
            self._reach = _reach(field, axis, sweeps, None)
        return self._reach

    def of(self, number: int, tile: Tile) -> tuple[Tile, Found] | None:
        """What became of a tile with this number, if it held what this one holds."""
        entry = self._done.get(number)
        if entry is None or not (entry[0] is tile or entry[0].holds(tile)):
            return None
        return entry[1:]

    def add(self, number: int, tile: Tile, done: tuple[Tile, Found]) -> None:
        """Remember, while open."""
        if self._open:
            self._done[number] = (tile, *done)


def _reach(
    field: Field, axis: int, sweeps: Sweeps, wanted: NDArray[np.bool_] | None
) -> tuple[Sweeps, Bins, list[int]]:  # fmt: skip
    """Sweeps as a bundle sees them, which of them reach which tile, and the tiles that any reaches."""
    seen = across_y(sweeps) if axis == 1 else sweeps
    bins = bins_of(seen, field, axis, wanted)
    return seen, bins, np.flatnonzero(np.diff(bins.first)).tolist()


def run_bundle(
    field: Field, axis: int, sweeps: Sweeps, ident: NDArray[np.int32], *, wanted: NDArray[np.bool_] | None = None,
    known: Known | None = None
) -> tuple[Bundle, list[Found]]:  # fmt: skip
    """Apply sweeps to one bundle, or to its `wanted` tiles only (bool (tiles,)): its new state, and what was found tile by tile,
    in the order of the tiles. `known`: what the same sweeps did before, instead of `wanted`."""
    bundle = field.bundles[axis]
    seen, bins, reached = _reach(field, axis, sweeps, wanted) if known is None else known.reach(field, axis, sweeps)
    tiles = list(bundle.tiles)
    done: dict[int, tuple[Tile, Found]] = {}
    if known is not None:
        done = {number: before for number in reached if (before := known.of(number, tiles[number])) is not None}
    missing = [number for number in reached if number not in done] if done else reached
    bench = _bench(field, axis, seen, bins, ident)
    done.update(zip(missing, map_parts(lambda number: _run_tile(bench, number), missing), strict=True))
    for number in reached:
        if known is not None:
            known.add(number, bundle.tiles[number], done[number])
        tiles[number] = done[number][0]
    return Bundle(axis, bundle.nu, bundle.nv, tuple(tiles)), [done[number][1] for number in reached]


class _Bench(NamedTuple):
    """What the tiles of a bundle have in common: place and distance of its rays float64 (2,), mm; columns for what the sweeps do,
    one place for each sweep and tile, in the order of the tiles (`where` has none if no sweep touches)."""

    bundle: Bundle
    sweeps: Sweeps
    bins: Bins
    ident: NDArray[np.int32]
    first: NDArray[np.float64]
    pitch: NDArray[np.float64]
    amount: NDArray[np.float64]
    longest: NDArray[np.float64]
    touched: NDArray[np.int64]
    where: NDArray[np.float64]


def _bench(field: Field, axis: int, sweeps: Sweeps, bins: Bins, ident: NDArray[np.int32]) -> _Bench:
    across, n = list(ACROSS[axis]), bins.rows.size
    places = n if (sweeps.code[:, ACTION] == TOUCH).any() else 0
    return _Bench(field.bundles[axis], sweeps, bins, ident, field.grid.first[across], field.grid.pitch[across], np.zeros(n),
                  np.zeros(n), np.zeros(n, np.int64), np.zeros((places, 3)))  # fmt: skip


_ROOM = local()


def _room() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Scratch of this thread: columns, scratch, held (see tiles_along.work_along)."""
    room: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]] | None = getattr(_ROOM, "room", None)
    if room is None:
        room = _ROOM.room = np.empty(GAP_COLUMNS * PLANE), np.empty((7, 2 * TILE)), np.empty((3, TILE), np.int64)
    return room


def _run_tile(bench: _Bench, number: int) -> tuple[Tile, Found]:
    tile, sweeps = bench.bundle.tiles[number], bench.sweeps
    here = slice(bench.bins.first[number], bench.bins.first[number + 1])
    found = Found(number, bench.bins.rows[here], bench.amount[here], bench.longest[here], bench.touched[here], bench.where[here])
    changed, count, ends, ident, normal = run_tile(
        bench.bundle.axis, bench.first, bench.pitch, tile.u0, tile.v0, tile.nu, tile.nv, sweeps.shape, sweeps.code, sweeps.box,
        bench.ident, found.rows, tile.count, tile.ends, tile.ident, tile.normal, found.amount, found.longest, found.touched,
        found.where, *_room())  # fmt: skip
    return Tile(tile.u0, tile.v0, tile.nu, tile.nv, count, ends, ident, normal) if changed else tile, found
