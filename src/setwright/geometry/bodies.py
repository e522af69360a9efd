"""Bodies that stand still: blank, jaws, parallels, stops, clamps, plate, table; boxes, upright cylinders and closed meshes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.frames import Transform

__all__ = ["Body", "BodyRole", "BoxShape", "CylinderShape", "MeshShape"]


class BodyRole(StrEnum):
    """What a body is to the setter."""

    BLANK = "blank"
    HOLDING = "holding"
    TABLE = "table"


@dataclass(frozen=True, slots=True)
class BoxShape:
    """An axis-parallel box by its least and greatest corner, mm."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class CylinderShape:
    """An upright cylinder: axis position, radius, lower and upper height, mm."""

    centre: tuple[float, float]
    radius: float
    bottom: float
    top: float


@dataclass(frozen=True, slots=True)
class MeshShape:
    """A closed surface: triangles float64 (n, 3, 3), mm, outward by the right-hand rule."""

    triangles: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Body:
    """A named solid in one frame."""

    name: str
    role: BodyRole
    shape: BoxShape | CylinderShape | MeshShape

    def bounds(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Least and greatest corner, float64 (3,) each, mm."""
        shape = self.shape
        if isinstance(shape, BoxShape):
            return np.array(shape.low), np.array(shape.high)
        if isinstance(shape, CylinderShape):
            centre = np.array([*shape.centre, 0.0])
            span = np.array([shape.radius, shape.radius, 0.0])
            return centre - span + [0, 0, shape.bottom], centre + span + [0, 0, shape.top]
        points = shape.triangles.reshape(-1, 3)
        return points.min(axis=0), points.max(axis=0)

    def moved(self, a_from_b: Transform) -> Body:
        """The body in another frame; boxes and cylinders stay such under shifts and quarter turns about Z, else become meshes."""
        shape = self.shape
        if isinstance(shape, MeshShape):
            return Body(self.name, self.role, MeshShape(a_from_b.points(shape.triangles)))
        turn = a_from_b.rotation
        if not np.array_equal(np.abs(turn), np.abs(np.rint(turn))) or turn[2, 2] != 1.0:
            raise ValueError("only shifts and quarter turns about Z keep a box or an upright cylinder what it is")
        low, high = self.bounds()
        corners = a_from_b.points(np.array([low, high]))
        low, high = corners.min(axis=0), corners.max(axis=0)
        if isinstance(shape, BoxShape):
            return Body(self.name, self.role, BoxShape(_three(low), _three(high)))
        x, y, _ = _three((low + high) / 2)
        return Body(self.name, self.role, CylinderShape((x, y), shape.radius, float(low[2]), float(high[2])))


def _three(values: NDArray[np.float64]) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])
