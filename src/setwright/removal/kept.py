"""A run of motions that is kept: states of the metal on the way, and what each motion did to each tile.

From it any moment of the program is had by replaying a few motions (`Kept.after`), and a changed program by running again only what
the change can reach (see again). States share every tile that did not change between them. What is kept takes at most the memory
allowed: every second state is let go when they would take more than half of it, and when what the motions did would take more than
the other half, that is let go, and a changed program is then run as a whole.

Inside a kept run an end carries the row of its motion, raised by `base` above the numbers that the metal brought along; the numbers
of the motions are written in whenever a field is handed out.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.removal.contact import Progress
from setwright.removal.cut import Cut, Tally
from setwright.removal.field import Field, Tile
from setwright.removal.passage import MOTIONS_AT_ONCE
from setwright.removal.runs import Found, portions, run_bundle
from setwright.removal.sweeps import ACTION, MOTION, PIECE, TOUCH, Sweeps, checked, sweeps_of

__all__ = ["KEPT_LIMIT", "Kept", "Taker", "Trace", "Traces", "Watch", "advance", "base_of", "cut_kept", "memory_of", "with_numbers"]

KEPT_LIMIT: Final = 2**30
"""Bytes a kept run may take, unless the caller allows more."""


class Trace(NamedTuple):
    """What motions did to one tile, in their order: row of the motion, length removed (mm), rays changed, longest stretch removed
    on one ray (in the bundle along Z, else empty); and where they touched: row of the motion, piece counted within its tool,
    depth, place (mm)."""

    row: NDArray[np.int32]
    amount: NDArray[np.float64]
    rays: NDArray[np.int32]
    axial: NDArray[np.float64]
    hit_row: NDArray[np.int32]
    hit_piece: NDArray[np.int32]
    depth: NDArray[np.float64]
    at: NDArray[np.float64]

    @property
    def memory(self) -> int:
        """Bytes."""
        return sum(column.nbytes for column in self)


Traces = tuple[dict[int, Trace], dict[int, Trace], dict[int, Trace]]
"""For each bundle: number of the tile → what was done to it."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A kept run: `fields[k]` is the metal after `marks[k]` motions, `slacks[k]` the largest sagitta of a chord among the motions
    from mark k to the next; `traces` is None where there was no room for it."""

    moves: Moves
    pieces: PieceTable
    base: int
    marks: tuple[int, ...]
    fields: tuple[Field, ...]
    slacks: tuple[float, ...]
    traces: Traces | None
    memory_limit: int

    @property
    def memory(self) -> int:
        """Bytes of the states and of what the motions did."""
        return memory_of(self.fields) + sum(trace.memory for bundle in self.traces or () for trace in bundle.values())

    def after(self, motions: int) -> Field:
        """The metal after the first `motions` motions, the very state the run went through; clipped to the run's length."""
        wanted = min(max(motions, 0), len(self.moves))
        k = int(np.searchsorted(self.marks, wanted, side="right")) - 1
        field = self.fields[k]
        for start in range(self.marks[k], wanted, MOTIONS_AT_ONCE):
            field, _ = advance(field, self.moves, self.pieces, self.base, (start, min(wanted, start + MOTIONS_AT_ONCE)))
        return with_numbers(field, self.fields[0], self.base, self.moves.ident)


Watch = Callable[[Sweeps, int, list[Found], int], None]
"""Told what sweeps did to a bundle: sweeps, axis, what was found tile by tile, first row of their motions."""


def advance(
    field: Field, moves: Moves, pieces: PieceTable, base: int, rows: tuple[int, int], *, watch: Watch | None = None,
    wanted: tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]] | None = None
) -> tuple[Field, float]:  # fmt: skip
    """Run motions rows[0] up to rows[1] (excluded; at most MOTIONS_AT_ONCE) through a kept run's state, or through its `wanted`
    tiles only (bool (tiles,) of each bundle): the next state, and the largest sagitta among them."""
    start, stop = rows
    sweeps = sweeps_of(moves[start:stop], pieces, within=field.grid)
    ident = np.arange(base + start, base + stop, dtype=np.int32)
    for part in portions(sweeps, field):
        bundles = []
        for axis in range(3):
            bundle, found = run_bundle(field, axis, part, ident, wanted=None if wanted is None else wanted[axis])
            bundles.append(bundle)
            if watch is not None:
                watch(part, axis, found, start)
        field = Field(field.grid, (bundles[0], bundles[1], bundles[2]), field.slack)
    return Field(field.grid, field.bundles, max(field.slack, sweeps.slack)), sweeps.slack


def cut_kept(
    field: Field, moves: Moves, pieces: PieceTable, *, checkpoints: int = 48, memory_limit: int = KEPT_LIMIT,
    progress: Progress | None = None,
) -> tuple[Cut, Kept]:  # fmt: skip
    """`cut`, and the run to come back to: results, bytes and errors are those of `cut`. Up to `checkpoints` states are kept on
    the way, all in all within `memory_limit` bytes beside the first state and the last."""
    checked(moves, pieces)
    n, base = len(moves), base_of(field)
    tally, taker = Tally(moves, pieces, field), Taker(moves, pieces)
    step = max(1, min(-(-n // max(1, checkpoints)), MOTIONS_AT_ONCE))
    marks, fields, slacks = [0], [field], []

    def watch(sweeps: Sweeps, axis: int, found: list[Found], first_row: int) -> None:
        tally.add(sweeps, axis, found, first_row)
        taker.add(sweeps, axis, found, first_row)

    while marks[-1] < n:
        stop = min(n, marks[-1] + step)
        here, slack = advance(fields[-1], moves, pieces, base, (marks[-1], stop), watch=watch)
        marks.append(stop)
        fields.append(here)
        slacks.append(slack)
        if taker.memory > memory_limit // 2:
            taker.close()
        while len(marks) > 2 and memory_of(fields[1:-1]) > memory_limit // 2:
            marks, fields, slacks = _thinned(marks, fields, slacks)
            step = min(2 * step, MOTIONS_AT_ONCE)
        if progress is not None:
            progress(stop, n)
    kept = Kept(moves, pieces, base, tuple(marks), tuple(fields), tuple(slacks), taker.traces(), memory_limit)
    return tally.result(with_numbers(fields[-1], field, base, moves.ident), fields[-1].slack), kept


def _thinned(marks: list[int], fields: list[Field], slacks: list[float]) -> tuple[list[int], list[Field], list[float]]:
    """Every second state let go; the first and the last stay."""
    held = [*range(0, len(marks) - 1, 2), len(marks) - 1]
    between = [max(slacks[a:b]) for a, b in itertools.pairwise(held)]
    return [marks[k] for k in held], [fields[k] for k in held], between


class Taker:
    """Gathers what motions do to tiles, part after part."""

    def __init__(self, moves: Moves, pieces: PieceTable) -> None:
        self._first, self._tool = pieces.first, moves.tool
        self._parts: list[dict[int, list[Trace]]] | None = [{}, {}, {}]
        self.memory = 0

    def close(self) -> None:
        """Let go of everything and gather nothing more."""
        self._parts, self.memory = None, 0

    def add(self, sweeps: Sweeps, axis: int, found: list[Found], first_row: int) -> None:
        """Add what was found in one bundle; as for `Tally.add`."""
        if self._parts is None:
            return
        for one in found:
            did = np.flatnonzero(one.touched > 0)
            hit = np.flatnonzero((one.longest > 0) & (sweeps.code[one.rows, ACTION] == TOUCH))
            if did.size == 0 and hit.size == 0:
                continue
            row, hit_row = (first_row + sweeps.code[one.rows[some], MOTION] for some in (did, hit))
            piece = sweeps.code[one.rows[hit], PIECE] - self._first[self._tool[hit_row]]
            axial = one.longest[did] if axis == 2 else np.zeros(0)
            where = one.where[hit] if hit.size else np.zeros((0, 3))
            trace = Trace(row.astype(np.int32), one.amount[did], one.touched[did].astype(np.int32), axial, hit_row.astype(np.int32),
                          piece.astype(np.int32), one.longest[hit], where)  # fmt: skip
            self._parts[axis].setdefault(one.tile, []).append(trace)
            self.memory += trace.memory

    def traces(self, before: Traces = ({}, {}, {})) -> Traces | None:
        """Everything in the order of the tiles, what is in `before` first; None after `close`."""
        if self._parts is None:
            return None
        x, y, z = (_joined(old, new) for old, new in zip(before, self._parts, strict=True))
        return x, y, z


def _joined(before: dict[int, Trace], after: dict[int, list[Trace]]) -> dict[int, Trace]:
    tiles = sorted(before.keys() | after.keys())
    parts = ([*([before[tile]] if tile in before else []), *after.get(tile, [])] for tile in tiles)
    return {tile: Trace(*map(np.concatenate, zip(*some, strict=True))) for tile, some in zip(tiles, parts, strict=True)}


def base_of(field: Field) -> int:
    """The least number above all that a field's ends carry, 0 at least."""
    return 1 + max(int(tile.ident.max(initial=-1)) for bundle in field.bundles for tile in bundle.tiles)


def memory_of(fields: Sequence[Field]) -> int:
    """Bytes of several states; what they share counts once."""
    tiles = {id(tile): tile for field in fields for bundle in field.bundles for tile in bundle.tiles}
    return sum(t.count.nbytes + t.ends.nbytes + t.ident.nbytes + t.normal.nbytes for t in tiles.values())


def with_numbers(field: Field, first: Field, base: int, numbers: NDArray[np.int32], told: dict[int, Tile] | None = None) -> Field:
    """The field with the number numbers[k] at every end that carries base + k. Tiles of the state `first`, where no motion has
    been, are taken as they are; so are, in place of the tiles they came from, those in `told`, which is added to."""
    told = {} if told is None else told
    untouched = {id(tile) for bundle in first.bundles for tile in bundle.tiles}
    bundles = []
    for bundle in field.bundles:
        tiles = []
        for tile in bundle.tiles:
            if id(tile) not in untouched and id(tile) not in told:
                ours = (tile.ident >= base) & (np.arange(tile.ends.shape[1]) < tile.count[:, None])[:, :, None]
                ident = tile.ident.copy()
                ident[ours] = numbers[tile.ident[ours] - base]
                told[id(tile)] = replace(tile, ident=ident)
            tiles.append(told.get(id(tile), tile))
        bundles.append(replace(bundle, tiles=tuple(tiles)))
    return replace(field, bundles=(bundles[0], bundles[1], bundles[2]))
