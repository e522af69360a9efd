"""A milled face cut again with rays closer together, where its evenness must be known better than the whole part's rays tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.bodies import BoxShape
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import Meridian, PieceTable, Role
from setwright.removal.cut import cut
from setwright.removal.evenness import Chosen, Evenness, between_rays, evenness
from setwright.removal.field import ACROSS, Field, field_of
from setwright.removal.regions import Region

__all__ = ["Closer"]

_MOST_RAYS = 300_000
_ROUNDS = 4
_Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Closer:
    """The metal before the program, and what cut it."""

    before: Field
    moves: Moves
    pieces: PieceTable

    def sharpest(self, motions: Sequence[int]) -> float:
        """The least radius (mm) of the round edges of the tools that made these motions; inf if none has one."""
        tools = np.unique(self.moves.tool[np.isin(self.moves.ident, motions)]).tolist()
        rows = [np.arange(self.pieces.first[tool], self.pieces.first[tool + 1]) for tool in tools]
        chosen = np.concatenate(rows) if rows else np.zeros(0, np.int64)
        round_ = (self.pieces.meridian[chosen] == Meridian.ARC) & (self.pieces.role[chosen] == Role.CUTTING)
        return float(self.pieces.shape[chosen[round_], 6].min(initial=math.inf))

    def again(
        self, seen: Evenness, region: Region, *, facing: Sequence[float], wanted_mm: float, whole: Chosen | None = None
    ) -> Evenness | None:
        """The face as rays close enough for a bound of `wanted_mm` show it, or as close as a number of rays allows. None where the
        metal did not fill the region before, so that a fresh block would not stand for it."""
        box = self._block(seen, region)
        if box is None:
            return None
        (low, high), sharpest, found = box, self.sharpest(seen.motions), seen
        u, v = ACROSS[seen.axis]
        finest = math.sqrt(float((high[u] - low[u]) * (high[v] - low[v])) / _MOST_RAYS)
        pitch = float(max(self.before.grid.pitch[u], self.before.grid.pitch[v]))
        for _ in range(_ROUNDS):  # closer rays can show steeper places, which want rays closer still
            pitch = _pitch_for(wanted_mm, pitch, finest, found.steepest, sharpest)
            block = field_of(BoxShape(_three(low), _three(high)), pitch_mm=pitch)
            found = evenness(cut(block, self.moves, self.pieces).field, region, facing=facing, sharpest_mm=sharpest,
                             whole=whole)  # fmt: skip
            if found.bound <= wanted_mm or pitch <= finest:
                break
        return found

    def _block(self, seen: Evenness, region: Region) -> tuple[_Array, _Array] | None:
        """The part of the metal before the program that the face was cut from: low and high corner; None where it had gaps."""
        axis, (u, v), grid = seen.axis, ACROSS[seen.axis], self.before.grid
        low, high = (corner.copy() for corner in region.bounds())
        points, rays = self.before.points(axis)
        inside = ((points[:, 0, [u, v]] >= low[[u, v]]) & (points[:, 0, [u, v]] <= high[[u, v]])).all(axis=1)
        whole = inside & (rays.ends[:, 0] <= seen.low) & (rays.ends[:, 1] >= seen.high)
        first, last = np.ceil((low - grid.first) / grid.pitch), np.floor((high - grid.first) / grid.pitch)
        wanted = int((last[u] - first[u] + 1) * (last[v] - first[v] + 1))
        if not whole.any() or np.unique(rays.ray[whole]).size < wanted:
            return None
        margin = seen.bound + float(grid.pitch[axis])
        low[axis] = max(seen.low - margin, float(rays.ends[whole, 0].max()))
        high[axis] = min(seen.high + margin, float(rays.ends[whole, 1].min()))
        return low, high


def _pitch_for(wanted_mm: float, pitch: float, finest: float, steepest: float, sharpest: float) -> float:
    """Halve the spacing until the bound is small enough, but not beyond the finest."""
    while pitch > finest and between_rays(pitch, pitch, steepest, sharpest) > wanted_mm:
        pitch /= 2.0
    return max(pitch, finest)


def _three(values: _Array) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return x, y, z
