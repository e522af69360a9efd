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
    for row in np.flatnonzero(moves.kind == MoveKind.ARC).tolist():
        axes = np.array([(moves.axis[row] + 1) % 3, (moves.axis[row] + 2) % 3])
        radial = (moves.start[row] - moves.centre[row])[axes]
        begin = np.arctan2(radial[1], radial[0])
        first, last = sorted((begin, begin + moves.sweep[row]))
        quarters = np.arange(np.ceil(first / (np.pi / 2)), np.floor(last / (np.pi / 2)) + 1) % 4
        for quarter in np.unique(quarters).astype(int).tolist():
            along, way = axes[quarter % 2], 1.0 if quarter < 2 else -1.0
            reach = moves.centre[row, along] + way * np.hypot(radial[0], radial[1])
            low[row, along], high[row, along] = min(low[row, along], reach), max(high[row, along], reach)
    return low, high
