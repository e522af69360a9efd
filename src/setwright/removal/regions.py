"""Where on a part something is measured: boxes, bands about an axis, discs along a plane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["BAND", "BOX", "DISC", "BandRegion", "BoxRegion", "DiscRegion", "Region"]

_Array = NDArray[np.float64]

BOX: Final = 0
BAND: Final = 1
DISC: Final = 2
"""What the numbers of `packed` describe."""


@dataclass(frozen=True, slots=True)
class BoxRegion:
    """Points within an axis-parallel box: least and greatest corner, mm."""

    low: Sequence[float]
    high: Sequence[float]

    @property
    def packed(self) -> tuple[int, tuple[float, ...]]:
        """BOX and its corners."""
        return BOX, (*map(float, self.low), *map(float, self.high))

    def bounds(self) -> tuple[_Array, _Array]:
        """Least and greatest corner, float64 (3,) each."""
        return np.asarray(self.low, np.float64), np.asarray(self.high, np.float64)


@dataclass(frozen=True, slots=True)
class BandRegion:
    """Points at a distance between `inner` and `outer` from an axis parallel to X, Y or Z (0, 1, 2) through `centre` (the other two
    coordinates, in order), between `bottom` and `top` along it, mm."""

    centre: tuple[float, float]
    inner: float
    outer: float
    bottom: float
    top: float
    axis: int = 2

    @property
    def packed(self) -> tuple[int, tuple[float, ...]]:
        """BAND and its axis, centre, radii and ends."""
        return BAND, (float(self.axis), *map(float, self.centre), self.inner, self.outer, self.bottom, self.top)

    def bounds(self) -> tuple[_Array, _Array]:
        """Least and greatest corner of the box around it, float64 (3,) each."""
        low, high = [value - self.outer for value in self.centre], [value + self.outer for value in self.centre]
        low.insert(self.axis, self.bottom)
        high.insert(self.axis, self.top)
        return np.array(low, np.float64), np.array(high, np.float64)


@dataclass(frozen=True, slots=True)
class DiscRegion:
    """Points within `radius` of `at` along a plane with unit `normal` and within `reach` of that plane, mm."""

    at: Sequence[float]
    normal: Sequence[float]
    radius: float
    reach: float

    @property
    def packed(self) -> tuple[int, tuple[float, ...]]:
        """DISC and its middle, normal, radius and reach."""
        return DISC, (*map(float, self.at), *map(float, self.normal), self.radius, self.reach)

    def bounds(self) -> tuple[_Array, _Array]:
        """Least and greatest corner of the box around it, float64 (3,) each."""
        normal = np.abs(np.asarray(self.normal, np.float64))
        half = self.radius * np.sqrt(np.maximum(0.0, 1.0 - normal**2)) + self.reach * normal
        return np.asarray(self.at, np.float64) - half, np.asarray(self.at, np.float64) + half


Region = BoxRegion | BandRegion | DiscRegion
