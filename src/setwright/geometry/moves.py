"""Elementary motions of a tool in one frame, as arrays that kernels read.

This is the common currency of removal, clearance and motion time: what the tool tip does in one rectangular frame whose Z is
the tool axis, whatever program, offsets and lengths it came from.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

__all__ = ["MoveKind", "Moves", "extent_of"]


class MoveKind(IntEnum):
    """How the tip goes from start to end."""

    RAPID = 0
    LINE = 1
    ARC = 2


@dataclass(frozen=True, slots=True)
class Moves:
    """Motions of the tool tip in one frame. All coordinates mm.

    kind    uint8   (n,)    MoveKind; RAPID is a straight line here (a dog-leg is given as its straight parts)
    start   float64 (n, 3)
    end     float64 (n, 3)
    centre  float64 (n, 3)  of an ARC: a point on its axis, at the height of the start; zero for lines
    axis    uint8   (n,)    of an ARC: 0, 1, 2 = the arc turns about X, Y, Z
    sweep   float64 (n,)    of an ARC: signed turn in rad, positive counter-clockwise seen from the axis' + end; |sweep| may
                            exceed 2 pi. The tip also moves from start to end along the axis, evenly with the turn (helix)
    tool    int32   (n,)    index into the PieceTable that goes with it
    cuts    bool    (n,)    whether the tool may remove metal in this motion (a feed motion with the spindle running the right way)
    ident   int32   (n,)    the caller's number of the motion, >= 0, ascending: what ray ends and contacts refer to
    """

    kind: NDArray[np.uint8]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    centre: NDArray[np.float64]
    axis: NDArray[np.uint8]
    sweep: NDArray[np.float64]
    tool: NDArray[np.int32]
    cuts: NDArray[np.bool_]
    ident: NDArray[np.int32]

    def __len__(self) -> int:
        return int(self.kind.size)

    def __getitem__(self, rows: slice | NDArray[np.intp] | NDArray[np.bool_]) -> Moves:
        return Moves(self.kind[rows], self.start[rows], self.end[rows], self.centre[rows], self.axis[rows], self.sweep[rows],
                     self.tool[rows], self.cuts[rows], self.ident[rows])  # fmt: skip


def extent_of(moves: Moves) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest coordinates of the tip in each motion, float64 (n, 3) each, mm; exact for arcs and helices.

    An arc reaches an extreme of its plane wherever the turn passes a multiple of a quarter.
    """
    low, high = np.minimum(moves.start, moves.end), np.maximum(moves.start, moves.end)
    rows = np.flatnonzero(moves.kind == MoveKind.ARC)
    across = [(moves.axis[rows].astype(np.int64) + step) % 3 for step in (1, 2)]
    one, other = ((moves.start - moves.centre)[rows, axis] for axis in across)
    begin, radius = np.arctan2(other, one), np.hypot(one, other)
    turned = np.sort([begin, begin + moves.sweep[rows]], axis=0) / (np.pi / 2)
    first, last = np.ceil(turned[0]), np.floor(turned[1])
    for quarter in range(4):
        reached = first + (quarter - first) % 4 <= last
        at, along = rows[reached], across[quarter % 2][reached]
        reach = moves.centre[at, along] + (radius if quarter < 2 else -radius)[reached]
        low[at, along] = np.minimum(low[at, along], reach)
        high[at, along] = np.maximum(high[at, along], reach)
    return low, high
