"""How deep each tool goes straight down into metal, against its flutes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Role
from setwright.geometry.profile import Assembly
from setwright.removal.cut import Cut

__all__ = ["CHIP_ROOM", "DeepCut", "DeepHole", "deep_cuts", "deep_holes"]

CHIP_ROOM: Final = 0.9
"""Above the flutes a body wider than this share of the cutter leaves chips no way out."""


@dataclass(frozen=True, slots=True)
class DeepHole:
    """The deepest metal one tool goes straight down through at one place; `row`: the motion in which it gets deeper than the
    flutes; `holes`: at how many places it does."""

    row: int
    depth_mm: float
    flutes_mm: float
    holes: int


def deep_holes(done: Cut, moves: Moves, order: Mapping[int, int], tools: Mapping[int, Assembly]) -> tuple[DeepHole, ...]:
    """One answer a tool that goes deeper than its flutes; `order` gives a station's row in the piece table."""
    level = np.abs(moves.end[:, :2] - moves.start[:, :2]).max(axis=1, initial=0.0)
    down = (moves.kind == MoveKind.LINE) & (level <= SAME_PLACE_MM) & (moves.end[:, 2] < moves.start[:, 2]) & (done.axial > 0.0)
    found = []
    for station, assembly in tools.items():
        rows = np.flatnonzero(down & (moves.tool == order[station]))
        if rows.size and not _lets_chips_out(assembly):
            flutes = max(piece.z1 for piece in assembly.pieces if piece.role is Role.CUTTING)
            deep = _deepest(rows, done.axial, moves, flutes)
            if deep is not None:
                found.append(deep)
    return tuple(sorted(found, key=lambda hole: hole.row))


def _lets_chips_out(assembly: Assembly) -> bool:
    """Whether the body right above the flutes is narrow enough for chips to pass."""
    above = [piece for piece in assembly.pieces if piece.role is not Role.CUTTING]
    return not above or above[0].widest < CHIP_ROOM * assembly.radius


def _deepest(rows: NDArray[np.intp], axial: NDArray[np.float64], moves: Moves, flutes: float) -> DeepHole | None:
    """Depths of all motions at one place add up: a hole drilled in pecks is as deep as one drilled at once."""
    _, place = np.unique(np.rint(moves.end[rows, :2] / SAME_PLACE_MM), axis=0, return_inverse=True)
    depth = np.bincount(place.ravel(), axial[rows])
    deep = np.flatnonzero(depth > flutes + SAME_PLACE_MM)
    if not deep.size:
        return None
    deepest = int(deep[np.argmax(depth[deep])])
    mine = rows[place.ravel() == deepest]
    first = int(mine[np.argmax(np.cumsum(axial[mine]) > flutes + SAME_PLACE_MM)])
    return DeepHole(int(moves.ident[first]), float(depth[deepest]), flutes, int(deep.size))


@dataclass(frozen=True, slots=True)
class DeepCut:
    """The deepest level or sloping cut of one tool beyond what it may take at once, mm along its axis.

    `row`: the first motion that is too deep, `deepest_row` the deepest of all `count`. `most_mm` is what the setup plans
    (`planned`), else the flutes. `higher_mm`: how much higher than stated the blank would have to stand, 0 where it is too deep as
    it is.
    """

    row: int
    deepest_row: int
    depth_mm: float
    most_mm: float
    count: int
    planned: bool
    higher_mm: float


def deep_cuts(
    done: Cut, moves: Moves, order: Mapping[int, int], tools: Mapping[int, Assembly], planned: Mapping[int, float], *,
    top_mm: float, varies_mm: float,
) -> tuple[DeepCut, ...]:  # fmt: skip
    """One answer a tool that takes more at once than `planned` (mm by station), or could take more than that or its flutes with a
    blank whose top stands up to `varies_mm` above `top_mm`. Holes straight down are left to `deep_holes`, cuts deeper than the
    flutes to the contact of what is above them."""
    level = np.abs(moves.end[:, :2] - moves.start[:, :2]).max(axis=1, initial=0.0) > SAME_PLACE_MM
    level |= moves.kind == MoveKind.ARC
    tip = np.minimum(moves.start[:, 2], moves.end[:, 2])
    on_skin = np.abs(top_mm - tip - done.axial) <= SAME_PLACE_MM
    found = []
    for station, assembly in tools.items():
        rows = np.flatnonzero(level & (moves.tool == order[station]) & (done.axial > 0.0))
        flutes = max(piece.z1 for piece in assembly.pieces if piece.role is Role.CUTTING)
        most, depth = planned.get(station, flutes), done.axial[rows]
        over = rows[depth > most + SAME_PLACE_MM]
        if over.size and station in planned:
            found.append(_deep_cut(over, done.axial, moves, most, planned=True, higher=0.0))
        elif not over.size:
            could = rows[on_skin[rows] & (depth + varies_mm > most + SAME_PLACE_MM)]
            if could.size:
                higher = max(most - float(done.axial[could].max()), SAME_PLACE_MM)
                found.append(_deep_cut(could, done.axial, moves, most, planned=station in planned, higher=higher))
    return tuple(sorted(found, key=lambda one: one.row))


def _deep_cut(
    over: NDArray[np.intp], axial: NDArray[np.float64], moves: Moves, most: float, *, planned: bool, higher: float
) -> DeepCut:
    deepest = int(over[np.argmax(axial[over])])
    motions, deep = moves.ident[over], float(axial[deepest])
    return DeepCut(int(motions[0]), int(moves.ident[deepest]), deep, most, int(np.unique(motions).size), planned, higher)
