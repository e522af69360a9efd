"""Growing columns of path rows: what the interpreter writes into."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["ROW", "Rows"]

ROW = np.dtype(
    [("start", "f8", 3), ("end", "f8", 3), ("feed", "f8"), ("arc", "i4"), ("line", "i4"), ("state", "i4"), ("frame", "i4"),
     ("file", "i2"), ("kind", "u1")]
)  # fmt: skip
_ARC = np.dtype([("centre", "f8", 3), ("sweep", "f8"), ("axis", "u1")])
_BATCH = 1 << 14
Row = tuple[tuple[float, float, float], tuple[float, float, float], float, int, int, int, int, int, int]


class Rows:
    """Rows in the order of execution. Single rows are gathered in a list and packed in batches; whole runs are appended packed."""

    __slots__ = ("_arc_chunks", "_arc_list", "_arcs", "_chunks", "_list", "_packed")

    def __init__(self) -> None:
        self._list: list[Row] = []
        self._chunks: list[NDArray[np.void]] = []
        self._packed = 0
        self._arc_list: list[tuple[tuple[float, float, float], float, int]] = []
        self._arc_chunks: list[NDArray[np.void]] = []
        self._arcs = 0

    def __len__(self) -> int:
        return self._packed + len(self._list)

    def add(self, row: Row) -> None:
        """Append one row, fields in the order of `ROW`."""
        self._list.append(row)
        if len(self._list) >= _BATCH:
            self._pack()

    def add_arc(self, centre: tuple[float, float, float], sweep: float, axis: int) -> int:
        """Append one arc; returns its number for the `arc` field of its row."""
        self._arc_list.append((centre, sweep, axis))
        return self._arcs + len(self._arc_list) - 1

    def arc_count(self) -> int:
        """Arcs so far."""
        return self._arcs + len(self._arc_list)

    def extend(self, rows: NDArray[np.void], centre: NDArray[np.float64], sweep: NDArray[np.float64],
               axis: NDArray[np.uint8]) -> None:
        """Append packed rows whose `arc` fields already count from `arc_count()`."""
        self._pack()
        self._chunks.append(rows)
        self._packed += rows.size
        arcs = np.empty(sweep.size, _ARC)
        arcs["centre"], arcs["sweep"], arcs["axis"] = centre, sweep, axis
        self._arc_chunks.append(arcs)
        self._arcs += sweep.size

    def _pack(self) -> None:
        if self._list:
            self._chunks.append(np.array(self._list, ROW))
            self._packed += len(self._list)
            self._list.clear()
        if self._arc_list:
            self._arc_chunks.append(np.array(self._arc_list, _ARC))
            self._arcs += len(self._arc_list)
            self._arc_list.clear()

    def finish(self) -> tuple[NDArray[np.void], NDArray[np.void]]:
        """All rows and all arcs, packed; the store is empty afterwards."""
        self._pack()
        rows = self._chunks[0] if len(self._chunks) == 1 else np.concatenate([np.empty(0, ROW), *self._chunks])
        arcs = self._arc_chunks[0] if len(self._arc_chunks) == 1 else np.concatenate([np.empty(0, _ARC), *self._arc_chunks])
        self._chunks, self._arc_chunks = [], []
        return rows, arcs
