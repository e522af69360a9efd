"""Which motions of a changed program are the same as before: rows matched in their order, compared bit for bit.

Two motions are the same if everything removal looks at is: kind, start, end, arc, whether they cut, and the stack of pieces of
their tool. Their numbers may differ. Rows are matched from both ends inward; of the rest, rows that occur once in either are
matched wherever that keeps the order. What is not matched counts as changed, which costs time and never exactness.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable

__all__ = ["Alike", "alike"]


@dataclass(frozen=True, slots=True)
class Alike:
    """`old` int64 (new motions,): the row each new motion had before, -1 for none; `new` int64 (old motions,): the other way."""

    old: NDArray[np.int64]
    new: NDArray[np.int64]

    @property
    def in_place(self) -> bool:
        """Whether every matched motion has the row it had."""
        kept = self.new >= 0
        return bool((self.new[kept] == np.flatnonzero(kept)).all())

    def place(self, row: int) -> int:
        """How many new motions stand before everything that follows the first `row` old motions: the row after the last of
        those that is matched."""
        before = self.new[:row]
        kept = np.flatnonzero(before >= 0)
        return int(before[kept[-1]]) + 1 if kept.size else 0


def alike(old: Moves, old_pieces: PieceTable, new: Moves, new_pieces: PieceTable) -> Alike:
    """Match the rows of two programs."""
    stacks: dict[bytes, int] = {}
    a, b = _keys(old, old_pieces, stacks), _keys(new, new_pieces, stacks)
    new_of_old = np.full(len(a), -1, np.int64)
    if len(a) == len(b):
        same = np.flatnonzero((a == b).all(axis=1))
        new_of_old[same] = same
    else:
        _match(a, b, new_of_old)
    old_of_new = np.full(len(b), -1, np.int64)
    kept = np.flatnonzero(new_of_old >= 0)
    old_of_new[new_of_old[kept]] = kept
    return Alike(old_of_new, new_of_old)


def _keys(moves: Moves, pieces: PieceTable, stacks: dict[bytes, int]) -> NDArray[np.int64]:
    """Each motion as int64 (n, 14): the bits of its numbers. `stacks` numbers the stacks of pieces met so far."""
    tools = []
    for first, last in zip(pieces.first[:-1].tolist(), pieces.first[1:].tolist(), strict=True):
        part = slice(first, last)
        packed = b"".join(np.ascontiguousarray(a[part]).tobytes() for a in (pieces.meridian, pieces.role, pieces.shape))
        tools.append(stacks.setdefault(packed, len(stacks)))
    stack = np.array(tools, np.int64)[moves.tool] if len(moves) else np.zeros(0, np.int64)
    bits = np.column_stack([moves.start, moves.end, moves.centre, moves.sweep]).view(np.int64)
    return np.column_stack([moves.kind, moves.axis, moves.cuts, stack, bits]).astype(np.int64)


def _match(a: NDArray[np.int64], b: NDArray[np.int64], new_of_old: NDArray[np.int64]) -> None:
    least = min(len(a), len(b))
    differs = np.flatnonzero((a[:least] != b[:least]).any(axis=1))
    head = int(differs[0]) if differs.size else least
    differs = np.flatnonzero((a[len(a) - least + head :][::-1] != b[len(b) - least + head :][::-1]).any(axis=1))
    tail = int(differs[0]) if differs.size else least - head
    new_of_old[:head] = np.arange(head)
    new_of_old[len(a) - tail :] = np.arange(len(b) - tail, len(b))
    rows, places = _once_in_both(a[head : len(a) - tail], b[head : len(b) - tail])
    for row, place in _longest_rise(rows, places):
        new_of_old[head + row] = head + place


def _once_in_both(a: NDArray[np.int64], b: NDArray[np.int64]) -> tuple[list[int], list[int]]:
    """Rows of a, ascending, that occur once in a and once in b, with their rows in b."""
    joined, inverse = np.unique(np.concatenate([a, b]), axis=0, return_inverse=True)
    inverse = inverse.ravel()
    in_a, in_b = inverse[: len(a)], inverse[len(a) :]
    once = (np.bincount(in_a, minlength=len(joined)) == 1) & (np.bincount(in_b, minlength=len(joined)) == 1)
    place = np.zeros(len(joined), np.int64)
    place[in_b] = np.arange(len(b))
    rows = np.flatnonzero(once[in_a])
    return rows.tolist(), place[in_a[rows]].tolist()


def _longest_rise(rows: list[int], places: list[int]) -> list[tuple[int, int]]:
    """The longest choice of (row, place), rows ascending as given, whose places ascend too."""
    tops: list[int] = []  # the least last place of a rise of each length
    holders: list[int] = []
    before: list[int] = []
    for k, place in enumerate(places):
        length = bisect_left(tops, place)
        before.append(holders[length - 1] if length else -1)
        if length == len(tops):
            tops.append(place)
            holders.append(k)
        else:
            tops[length], holders[length] = place, k
    chosen = []
    k = holders[-1] if holders else -1
    while k >= 0:
        chosen.append((rows[k], places[k]))
        k = before[k]
    return chosen[::-1]
