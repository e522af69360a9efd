"""A changed program run again: only the tiles that the change can reach, each from the last kept state before the change.

Motions are matched with those of the kept run (see alike). A tile that no changed motion reaches, neither as it was nor as it is
now, sees the same sweeps in the same order as before, so its rays, and what was done to them, are taken over. In a tile that one
does reach, everything from the last state before the first of them is run again. The result has the bytes of `cut` on the whole.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.removal.alike import Alike, alike
from setwright.removal.bins import bins_of
from setwright.removal.contact import Progress, Touches
from setwright.removal.cut import Cut, Tally
from setwright.removal.field import Bundle, Field, Tile
from setwright.removal.kept import Kept, Taker, Trace, Traces, advance, cut_kept, memory_of, with_numbers
from setwright.removal.passage import MOTIONS_AT_ONCE
from setwright.removal.runs import portions
from setwright.removal.sweeps import MOTION, across_y, checked, sweeps_of

__all__ = ["cut_again"]


def cut_again(kept: Kept, moves: Moves, pieces: PieceTable, *, progress: Progress | None = None) -> tuple[Cut, Kept]:
    """`cut` of a changed program through the metal that `kept` began with, and that run to come back to.

    Same bytes as `cut`, same errors. As fast as the change is small; a program with nothing in common takes as long as a first
    run, and so does any after a run whose traces found no room.
    """
    checked(moves, pieces)
    same = alike(kept.moves, kept.pieces, moves, pieces)
    if kept.traces is None or not (same.new >= 0).any():
        return cut_kept(kept.fields[0], moves, pieces, memory_limit=kept.memory_limit, progress=progress)
    plan = _planned(kept, moves, pieces, same)
    taker = Taker(moves, pieces)
    fields, slacks = _states(kept, moves, pieces, same, plan, taker, progress)
    traces = taker.traces(_taken_over(kept, kept.traces, same, plan))
    tally = Tally(moves, pieces, kept.fields[0])
    if traces is not None:
        _add(tally, traces, moves, pieces)
    again = _within(kept, moves, pieces, plan.marks, fields, slacks, traces)
    return tally.result(with_numbers(fields[-1], fields[0], kept.base, moves.ident), fields[-1].slack), again


@dataclass(frozen=True, slots=True)
class _Plan:
    """`marks`: for each mark of the kept run how many of the new motions stand before it, and at last the end. `starts` int64
    (tiles,) of each bundle: from which mark the tile is run again, `never` if it is not. `changed` bool: stretches from mark to
    mark in which a motion changed, left or came."""

    marks: tuple[int, ...]
    starts: tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]
    never: int
    changed: NDArray[np.bool_]


def _planned(kept: Kept, moves: Moves, pieces: PieceTable, same: Alike) -> _Plan:
    """A state may be used for a tile if no changed motion before it reaches the tile, neither of the old run nor of the new."""
    marks = [same.place(mark) for mark in kept.marks]
    if marks[-1] < len(moves):
        marks.append(len(moves))
    gone, come = np.flatnonzero(same.new < 0), np.flatnonzero(same.old < 0)
    never, first = len(marks), kept.fields[0]
    starts = []
    for old, new in zip(_first_reaching(first, kept.moves, kept.pieces, gone), _first_reaching(first, moves, pieces, come),
                        strict=True):  # fmt: skip
        fit_old = np.searchsorted(kept.marks, old, side="right") - 1
        fit_new = np.searchsorted(marks[: len(kept.marks)], new, side="right") - 1
        untouched = (old == len(kept.moves)) & (new == len(moves))
        starts.append(np.where(untouched, never, np.minimum(fit_old, fit_new)))
    changed = np.zeros(len(marks), np.bool_)
    changed[np.searchsorted(kept.marks, gone, side="right") - 1] = True
    changed[np.searchsorted(marks, come, side="right") - 1] = True
    return _Plan(tuple(marks), (starts[0], starts[1], starts[2]), never, changed)


def _first_reaching(field: Field, moves: Moves, pieces: PieceTable, rows: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """For each tile of each bundle the first of the motions `rows` that may reach it; the number of motions for none."""
    first = [np.full(len(bundle.tiles), len(moves), np.int64) for bundle in field.bundles]
    for start in range(0, rows.size, MOTIONS_AT_ONCE):
        some = rows[start : start + MOTIONS_AT_ONCE]
        for part in portions(sweeps_of(moves[some], pieces, within=field.grid), field):
            for axis in range(3):
                bins = bins_of(across_y(part) if axis == 1 else part, field, axis)
                reached = np.flatnonzero(np.diff(bins.first))
                row = some[part.code[bins.rows[bins.first[reached]], MOTION]]
                first[axis][reached] = np.minimum(first[axis][reached], row)
    return first


def _states(
    kept: Kept, moves: Moves, pieces: PieceTable, same: Alike, plan: _Plan, taker: Taker, progress: Progress | None
) -> tuple[list[Field], list[float]]:
    """The states at the plan's marks, and the largest sagitta from each to the next; what runs again is told to `taker`."""
    told: dict[int, Tile] = {}
    numbers = (kept.base + same.new).astype(np.int32)
    fields, slacks = [kept.fields[0]], []
    for k, (first, last) in enumerate(itertools.pairwise(plan.marks)):
        running = (plan.starts[0] <= k, plan.starts[1] <= k, plan.starts[2] <= k)
        slack = kept.slacks[k] if k < len(kept.slacks) else 0.0
        here = fields[-1]
        if plan.changed[k]:
            slack = 0.0
        for start in range(first, last, MOTIONS_AT_ONCE):
            rows = (start, min(last, start + MOTIONS_AT_ONCE))
            if any(some.any() for some in running):
                here, more = advance(here, moves, pieces, kept.base, rows, watch=taker.add, wanted=running)
                slack = max(slack, more)
            elif plan.changed[k]:
                slack = max(slack, sweeps_of(moves[rows[0] : rows[1]], pieces, within=here.grid).slack)
        before = kept.fields[min(k + 1, len(kept.fields) - 1)]
        if not same.in_place:
            before = with_numbers(before, kept.fields[0], kept.base, numbers, told)
        bundles = [_chosen(a, b, some) for a, b, some in zip(here.bundles, before.bundles, running, strict=True)]
        fields.append(Field(here.grid, (bundles[0], bundles[1], bundles[2]), max(fields[-1].slack, slack)))
        slacks.append(slack)
        if progress is not None:
            progress(last, len(moves))
    return fields, slacks


def _chosen(here: Bundle, before: Bundle, running: NDArray[np.bool_]) -> Bundle:
    """The tiles that run again from `here`, the others from `before`."""
    tiles = (a if again else b for a, b, again in zip(here.tiles, before.tiles, running.tolist(), strict=True))
    return replace(here, tiles=tuple(tiles))


def _taken_over(kept: Kept, traces: Traces, same: Alike, plan: _Plan) -> Traces:
    """The traces of the kept run up to where each tile runs again, with the rows as they are now."""
    ends = np.array([*kept.marks, *[len(kept.moves)] * (plan.never + 1 - len(kept.marks))])
    x, y, z = (
        {tile: _up_to(trace, int(ends[starts[tile]]), same) for tile, trace in bundle.items()}
        for bundle, starts in zip(traces, plan.starts, strict=True)
    )
    return x, y, z


def _up_to(trace: Trace, end: int, same: Alike) -> Trace:
    did, hit = np.searchsorted(trace.row, end), np.searchsorted(trace.hit_row, end)
    row, hit_row = (same.new[rows].astype(np.int32) for rows in (trace.row[:did], trace.hit_row[:hit]))
    return Trace(row, trace.amount[:did], trace.rays[:did], trace.axial[:did], hit_row, trace.hit_piece[:hit], trace.depth[:hit],
                 trace.at[:hit])  # fmt: skip


def _add(tally: Tally, traces: Traces, moves: Moves, pieces: PieceTable) -> None:
    for axis, bundle in enumerate(traces):
        if not bundle:
            continue
        row, amount, rays, axial, *_ = (np.concatenate(column) for column in zip(*bundle.values(), strict=True))
        tally.add_rows(axis, row.astype(np.int64), amount, rays.astype(np.int64), axial, slice(0, len(moves)))
        for trace in bundle.values():
            if trace.hit_row.size:
                row = trace.hit_row.astype(np.int64)
                piece = pieces.first[moves.tool[row]] + trace.hit_piece
                tally.touches.append(Touches(row, piece, np.full(row.size, axis), trace.depth, trace.at))


def _within(
    kept: Kept, moves: Moves, pieces: PieceTable, marks: tuple[int, ...], fields: list[Field], slacks: list[float],
    traces: Traces | None
) -> Kept:  # fmt: skip
    """The new run as it is kept: one state a mark, and no more than the memory allowed."""
    last = [k for k in range(len(marks)) if k + 1 == len(marks) or marks[k] != marks[k + 1]]
    half = kept.memory_limit // 2
    while len(last) > 2 and memory_of([fields[k] for k in last[1:-1]]) > half:
        last = [*last[:-1:2], last[-1]]
    between = tuple(max(slacks[a:b]) for a, b in itertools.pairwise(last))
    if traces is not None and sum(trace.memory for bundle in traces for trace in bundle.values()) > half:
        traces = None
    return Kept(moves, pieces, kept.base, tuple(marks[k] for k in last), tuple(fields[k] for k in last), between, traces,
                kept.memory_limit)  # fmt: skip
