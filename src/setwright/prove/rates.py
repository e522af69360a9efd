"""How much metal a tool takes a minute at its most.

What a motion takes off is known from whole rays: a motion shorter than the rays are apart takes a ray's worth or nothing. So
motions are looked at together until they are longer than that, and no more counts than the tool can meet: on a way of 1 mm no more
metal than the outline of its cutting edges across the way, as deep as the blank reaches, and where it goes down the circle it
stands on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, PieceTable, Role

__all__ = ["Rates", "most_met", "rates_of", "with_twins"]

_RAYS: Final = 4.0
"""Ways this many times as long as the rays are apart are told from their noise: a ray's worth is a quarter of them."""

_Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rates:
    """What feed motions take, way by way: first row of the path int64 (n,), tool int64 (n,) as in the moves or whatever stands for
    it, mm³/min float64 (n,), how deep along the tool's axis, mm, float64 (n,)."""

    row: NDArray[np.int64]
    tool: NDArray[np.int64]
    rate: _Array
    axial: _Array

    def most(self) -> dict[int, float]:
        """The greatest rate of each tool, mm³/min."""
        return {tool: float(self.rate[self.tool == tool].max()) for tool in np.unique(self.tool).tolist()}

    @classmethod
    def joined(cls, each: Sequence[Rates]) -> Rates:
        """Those of several portions, one after the other."""
        row, tool, rate, axial = ([getattr(one, name) for one in each] for name in ("row", "tool", "rate", "axial"))
        return cls(np.concatenate(row), np.concatenate(tool), np.concatenate(rate), np.concatenate(axial))


def with_twins(before_own: NDArray[np.bool_], values: _Array, join: np.ufunc = np.add) -> _Array:
    """Of motions float64 (n,), what they took each together with the core or the edge (`before_own`, bool (n,)) that goes before
    it: added, or the greatest with `join` maximum."""
    found = np.zeros(int((~before_own).sum()))
    join.at(found, np.cumsum(~before_own) - ~before_own, values)
    return found


def rates_of(
    moves: Moves, pieces: PieceTable, removed: _Array, *, minutes: _Array | None = None, feed: _Array | None = None, axial: _Array,
    top_mm: float, pitch_mm: float
) -> Rates:
    """The removal of each tool (row of the piece table) over ways of some rays' distance, each never more than what the tool can
    meet there.

    `moves`: motions of the tip, W; `removed` float64 (n,) mm³ that each took, `axial` float64 (n,) mm how deep; how long they take:
    `minutes` float64 (rows,) by `ident`, which parts of one row share, or else their length at `feed` float64 (n,) mm/min;
    `top_mm`: how high metal reaches.
    """
    feeding = np.flatnonzero(moves.cuts & (moves.kind != MoveKind.RAPID))
    moves, removed, axial = moves[feeding], removed[feeding], axial[feeding]
    length, level, steep = _ways(moves)
    met = most_met(moves, pieces, level, steep, top_mm=top_mm)
    if feed is not None:
        took = np.divide(length, feed[feeding], out=np.zeros(len(moves)), where=feed[feeding] > 0.0)
    elif minutes is not None:
        share = np.divide(length, np.bincount(moves.ident, length, minutes.size)[moves.ident], out=np.zeros(len(moves)),
                          where=length > 0.0)  # fmt: skip
        took = minutes[moves.ident] * share
    else:
        raise AssertionError("how long the motions take is wanted")
    found = []
    for tool in np.unique(moves.tool).tolist():
        mine = np.flatnonzero(moves.tool == tool)
        before = np.cumsum(length[mine]) - length[mine]
        _, first, group = np.unique(np.floor(before / (_RAYS * pitch_mm)), return_index=True, return_inverse=True)
        volume, possible, time = (np.bincount(group, column[mine]) for column in (removed, met, took))
        rate = np.divide(np.minimum(volume, possible), time, out=np.zeros(time.size), where=time > 0.0)
        deep = np.zeros(time.size)
        np.maximum.at(deep, group, axial[mine])
        found.append(Rates(moves.ident[mine[first]].astype(np.int64), np.full(time.size, tool, np.int64), rate, deep))
    return Rates.joined(found) if found else Rates(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0), np.zeros(0))


def most_met(moves: Moves, pieces: PieceTable, level: _Array, steep: _Array, *, top_mm: float) -> _Array:
    """The most new metal a tool can meet in each motion, mm³, float64 (n,), if it starts where it has cut before. `level`, `steep`:
    ways along the table and up or down, mm, float64 (n,); `top_mm`: how high metal reaches."""
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    bent = (moves.kind == MoveKind.ARC) & (moves.axis != 2)
    low = low - np.where(bent, steep, 0.0)  # an upright arc can dip below both its ends
    met = np.zeros(len(moves))
    for tool in np.unique(moves.tool).tolist():
        mine, rows = moves.tool == tool, np.arange(pieces.first[tool], pieces.first[tool + 1])
        rows = rows[pieces.role[rows] == Role.CUTTING]
        deep = np.maximum(top_mm - low[mine], 0.0)
        across = 2.0 * sum((_outline(pieces.meridian[row], pieces.shape[row].tolist(), deep) for row in rows), np.zeros(deep.size))
        under = math.pi * max((_widest(pieces.shape[row].tolist()) for row in rows), default=0.0) ** 2
        met[mine] = across * level[mine] + np.where(deep > 0.0, under, 0.0) * steep[mine]
    return met


def _ways(moves: Moves) -> tuple[_Array, _Array, _Array]:
    """Lengths of motions: along their course, of it along the table, and up or down, mm; of an upright arc at most."""
    way = moves.end - moves.start
    level, steep = np.hypot(way[:, 0], way[:, 1]), np.abs(way[:, 2])
    arcs = np.flatnonzero(moves.kind == MoveKind.ARC)
    for k in arcs.tolist():
        axis, around = int(moves.axis[k]), moves.start[k] - moves.centre[k]
        turned = float(np.linalg.norm(np.delete(around, axis))) * abs(float(moves.sweep[k]))
        level[k] = turned if axis == 2 else math.hypot(turned, float(way[k, axis]))
        steep[k] = steep[k] if axis == 2 else turned
    bent = np.zeros(len(moves), np.bool_)
    bent[arcs] = moves.axis[arcs] != 2
    return np.where(bent, level, np.hypot(level, steep)), level, steep


def _outline(meridian: int, shape: Sequence[float], deep: _Array) -> _Array:
    """Area under a piece's radius from its foot up to `deep` above the tip, mm², float64 (n,); exact."""
    z0, z1, r0, r1, e, f, rho = shape
    top = np.clip(deep, z0, z1)
    if meridian == Meridian.LINE:
        slope = (r1 - r0) / (z1 - z0) if z1 > z0 else 0.0
        return np.asarray((r0 + 0.5 * slope * (top - z0)) * (top - z0))
    return np.asarray(e * (top - z0) + _segment(top - f, rho) - _segment(np.array(z0 - f), rho))


def _segment(u: _Array, rho: float) -> _Array:
    """Integral of sqrt(rho² - u²) from nought."""
    u = np.clip(u, -rho, rho)
    return np.asarray(0.5 * (u * np.sqrt(rho**2 - u**2) + rho**2 * np.arcsin(u / rho)))


def _widest(shape: Sequence[float]) -> float:
    z0, z1, r0, r1, e, f, rho = shape
    return e + rho if rho > 0.0 and z0 <= f <= z1 else max(r0, r1)
