"""Growing columns of path rows: what the interpreter writes into.

The columns grow by doubling; compiled code writes straight into them, single rows are gathered in a list and packed in batches.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM

__all__ = ["ARC_COLUMNS", "ROW_COLUMNS", "Rows"]

ROW_COLUMNS = {"start": ("f8", 3), "end": ("f8", 3), "feed": ("f8", 1), "arc": ("i4", 1), "line": ("i4", 1), "state": ("i4", 1),
               "frame": ("i4", 1), "file": ("i2", 1), "kind": ("u1", 1)}  # fmt: skip
"""Columns of a row, in the order of the tuple that `add` takes."""
ARC_COLUMNS = {"centre": ("f8", 3), "sweep": ("f8", 1), "axis": ("u1", 1)}
_BATCH = 1 << 13
_LEAST = 1 << 10
Triple = tuple[float, float, float]
Row = tuple[Triple, Triple, float, int, int, int, int, int, int]


class _Columns:
    """Arrays of equal length that grow together; `used` rows are filled."""

    def __init__(self, columns: dict[str, tuple[str, int]]) -> None:
        self.specs = columns
        self.used = 0
        self.size = 0
        self.arrays: dict[str, NDArray[Any]] = {}
        self._grow(_LEAST)

    def reserve(self, more: int) -> None:
        """Make room for `more` rows beyond those used."""
        if self.used + more > self.size:
            self._grow(max(2 * self.size, self.used + more))

    def _grow(self, size: int) -> None:
        for name, (kind, width) in self.specs.items():
            fresh = np.empty(size if width == 1 else (size, width), kind)
            if self.used:
                fresh[: self.used] = self.arrays[name][: self.used]
            self.arrays[name] = fresh
        self.size = size

    def put(self, rows: list[Any]) -> None:
        """Append rows given as tuples in the order of the columns."""
        if not rows:
            return
        self.reserve(len(rows))
        for (name, array), column in zip(self.arrays.items(), zip(*rows, strict=True), strict=True):
            del name
            array[self.used : self.used + len(rows)] = column
        self.used += len(rows)
        rows.clear()

    def finish(self) -> dict[str, NDArray[Any]]:
        """The filled part of every column; copied where much more was reserved."""
        wasteful = self.size > 2 * self.used + _LEAST
        return {name: array[: self.used].copy() if wasteful else array[: self.used] for name, array in self.arrays.items()}


class Rows:
    """Rows and arcs in the order of execution."""

    def __init__(self) -> None:
        self._rows = _Columns(ROW_COLUMNS)
        self._arcs = _Columns(ARC_COLUMNS)
        self.waiting: list[Row] = []
        self._packed = 0
        self._waiting_arcs: list[tuple[Triple, float, int]] = []

    def __len__(self) -> int:
        return self._rows.used + len(self.waiting)

    def add(self, row: Row) -> None:
        """Append one row, fields in the order of `ROW_COLUMNS`."""
        self.waiting.append(row)
        if len(self.waiting) >= _BATCH:
            self.pack()

    def last(self) -> tuple[Triple, float]:
        """Start and feed of the last row."""
        if self.waiting:
            return self.waiting[-1][0], self.waiting[-1][2]
        x, y, z = self._rows.arrays["start"][self._rows.used - 1].tolist()
        return (x, y, z), float(self._rows.arrays["feed"][self._rows.used - 1])

    def end_last_at(self, end: Triple) -> None:
        """Let the last row, a line, end elsewhere; it goes altogether where that is its start."""
        self.pack()
        here = self._rows.used - 1
        self._rows.arrays["end"][here] = end
        if np.abs(self._rows.arrays["start"][here] - end).max() <= COORDINATE_ROUND_OFF_MM:
            self._rows.used = here

    def add_arc(self, centre: Triple, sweep: float, axis: int) -> int:
        """Append one arc; returns its number for the `arc` field of its row."""
        self._waiting_arcs.append((centre, sweep, axis))
        return self._arcs.used + len(self._waiting_arcs) - 1

    @property
    def added(self) -> int:
        """How many rows were appended one by one."""
        return self._packed + len(self.waiting)

    def pack(self) -> None:
        """Move waiting rows into the columns."""
        self._packed += len(self.waiting)
        self._rows.put(self.waiting)
        self._arcs.put(self._waiting_arcs)

    def reserve(self, rows: int) -> None:
        """Make room for so many rows at once."""
        self._rows.reserve(rows)

    def room(self, rows: int, arcs: int) -> tuple[dict[str, NDArray[Any]], dict[str, NDArray[Any]], int]:
        """Columns with room for so many rows and arcs behind the filled part, and how many arcs there are."""
        self.pack()
        self._rows.reserve(rows)
        self._arcs.reserve(arcs)
        r, a = self._rows.used, self._arcs.used
        return ({name: array[r : r + rows] for name, array in self._rows.arrays.items()},
                {name: array[a : a + arcs] for name, array in self._arcs.arrays.items()}, a)  # fmt: skip

    def took(self, rows: int, arcs: int) -> None:
        """So many rows and arcs were written into the room given."""
        self._rows.used += rows
        self._arcs.used += arcs

    def finish(self) -> tuple[dict[str, NDArray[Any]], dict[str, NDArray[Any]]]:
        """The columns of all rows and of all arcs."""
        self.pack()
        return self._rows.finish(), self._arcs.finish()
