"""Metal under the centre of a tool whose centre does not cut.

Before each motion that goes down into the work with such a tool, the same motion is run with the tool's core alone. What the core
removes is the metal the tool's middle would have had to push through. The core lies inside the cutter, so the metal left after
both is what the motion by itself would have left.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import radians, tan
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import CONTACT_DEPTH_MM
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, Piece, Role
from setwright.geometry.profile import Assembly
from setwright.removal.cut import Cut

__all__ = ["CORE_SHARE", "RAMP_DEG", "Plunge", "core_of", "plunges", "with_cores"]

CORE_SHARE: Final = 0.5
"""The core, as a share of the cutting radius: inside it no edge is reckoned with."""

RAMP_DEG: Final = 3.0
"""Down to this slope the edges outside the core clear the way for it; what is steeper goes down into the full."""


@dataclass(frozen=True, slots=True)
class Plunge:
    """A tool that does not cut at its centre is fed down into metal under its centre.

    `row` is the first such motion, `depth_mm` the deepest metal of all `count` of them, met in `deepest_row`; `straight`: one of
    them goes straight down.
    """

    row: int
    deepest_row: int
    depth_mm: float
    count: int
    straight: bool


def core_of(assembly: Assembly) -> list[Piece]:
    """The middle of a cutter, CORE_SHARE of its radius wide; it lies wholly inside the cutter."""
    wide = CORE_SHARE * assembly.radius
    cutting = [piece for piece in assembly.pieces if piece.role is Role.CUTTING]
    return [Piece(Meridian.LINE, p.z0, p.z1, min(p.r0, wide), min(p.r1, wide)) for p in cutting]


def with_cores(moves: Moves, core_rows: Mapping[int, int]) -> tuple[Moves, NDArray[np.bool_]]:
    """The motions with those of a core before each steep feed motion down, and which rows are a core's, bool (rows,).

    `core_rows`: the piece-table row of a tool's core by the tool's own row, for tools that do not cut at their centre.
    """
    blunt = np.isin(moves.tool, np.array(list(core_rows), np.int32))
    steep = np.flatnonzero(blunt & moves.cuts & (moves.kind != MoveKind.RAPID) & _goes_down(moves))
    if not steep.size:
        return moves, np.zeros(len(moves), np.bool_)
    order = np.sort(np.concatenate([np.arange(len(moves)), steep]))
    core = np.zeros(order.size, np.bool_)
    core[:-1] = order[1:] == order[:-1]
    tool = moves.tool[order]
    tool[core] = [core_rows[row] for row in tool[core].tolist()]
    return replace(moves[order], tool=tool), core


def _goes_down(moves: Moves) -> NDArray[np.bool_]:
    """Which motions go down more steeply than a ramp of RAMP_DEG, bool (rows,)."""
    way = moves.end - moves.start
    level = np.hypot(way[:, 0], way[:, 1])
    arc = (moves.kind == MoveKind.ARC) & (moves.axis == 2)
    radius = np.hypot(moves.start[:, 0] - moves.centre[:, 0], moves.start[:, 1] - moves.centre[:, 1])
    level = np.where(arc, radius * np.abs(moves.sweep), level)
    return np.asarray(way[:, 2] < -np.maximum(level * tan(radians(RAMP_DEG)), CONTACT_DEPTH_MM))


def plunges(done: Cut, moves: Moves, core: NDArray[np.bool_]) -> tuple[Plunge, ...]:
    """What the cores met, one answer a tool, in the order of the program. `done` is the cut of `moves` with their cores."""
    met = core & (done.axial > CONTACT_DEPTH_MM + 2.0 * done.field.slack)
    found = [_plunge(np.flatnonzero(met & (moves.tool == tool)), moves, done) for tool in _in_order(moves.tool[met].tolist())]
    return tuple(found)


def _in_order(tools: Iterable[int]) -> list[int]:
    return list(dict.fromkeys(tools))


def _plunge(rows: NDArray[np.intp], moves: Moves, done: Cut) -> Plunge:
    deepest = int(rows[np.argmax(done.axial[rows])])
    level = np.abs(moves.end[rows, :2] - moves.start[rows, :2]).max(axis=1)
    straight = (moves.kind[rows] == MoveKind.LINE) & (level <= CONTACT_DEPTH_MM)
    return Plunge(int(moves.ident[rows[0]]), int(moves.ident[deepest]), float(done.axial[deepest]),
                  int(np.unique(moves.ident[rows]).size), bool(straight.any()))  # fmt: skip
