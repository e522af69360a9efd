"""Bodies the tool must keep clear of: table, vise, clamps, blank, each a set of solids in the frame of the moves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.clearance.support import Solid
from setwright.clearance.tree import Forest, grow, widened

__all__ = ["Bodies", "Box", "Cylinder", "Mesh", "Shape"]

_Packed = tuple[NDArray[np.uint8], NDArray[np.float64], NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class Box:
    """A box with its sides along the axes: least and greatest corner, mm."""

    least: tuple[float, float, float]
    greatest: tuple[float, float, float]

    def _packed(self) -> _Packed:
        corners = np.array([[*self.least, *self.greatest]], np.float64)
        if corners.shape != (1, 6) or not np.isfinite(corners).all() or (corners[:, 3:] < corners[:, :3]).any():
            raise InputRefused.because(f"a box from {self.least} to {self.greatest} mm is no box",
                                       why="its greatest corner must not lie below its least one on any axis",
                                       remedy="give the least corner first, then the greatest")  # fmt: skip
        return np.array([Solid.BOX], np.uint8), np.pad(corners, ((0, 0), (0, 3))), corners


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A solid cylinder along Z: centre x and y, radius, lower and upper z, mm."""

    x: float
    y: float
    radius: float
    z0: float
    z1: float

    def _packed(self) -> _Packed:
        numbers = np.array([[self.x, self.y, self.radius, self.z0, self.z1]], np.float64)
        if not np.isfinite(numbers).all() or self.radius < 0 or self.z1 < self.z0:
            raise InputRefused.because(f"a cylinder of radius {self.radius} mm from z {self.z0} to {self.z1} mm is no cylinder",
                                       why="its radius must not be negative and its upper z not below its lower one",
                                       remedy="give the radius, then the lower z, then the upper z")  # fmt: skip
        box = np.array([[self.x - self.radius, self.y - self.radius, self.z0, self.x + self.radius, self.y + self.radius, self.z1]])
        return np.array([Solid.CYLINDER], np.uint8), np.pad(numbers, ((0, 0), (0, 4))), box


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A closed surface of triangles, float64 (n, 3, 3): triangle, corner, x y z in mm.

    Corners shared by triangles must be equal to the last bit; every side of a triangle must be matched by a side that runs the
    other way. Several closed surfaces in one mesh, touching or overlapping, are one solid: what any of them encloses.
    """

    triangles: NDArray[np.float64]

    def _packed(self) -> _Packed:
        corners = np.asarray(self.triangles, np.float64)
        if corners.ndim != 3 or corners.shape[1:] != (3, 3) or not len(corners):
            raise InputRefused.because("the mesh has no triangles", why=f"its array has the shape {corners.shape}",
                                       remedy="give triangles as an array (n, 3, 3) in mm")  # fmt: skip
        if not np.isfinite(corners).all():
            raise InputRefused.because("a corner of the mesh is not a number", why="NaN or infinity among its coordinates",
                                       remedy="export the mesh again")  # fmt: skip
        open_sides = _open_sides(corners)
        if open_sides:
            raise InputRefused.because(f"the mesh is not closed: {open_sides} sides of triangles have no partner",
                                       why="whether the tool is inside it cannot be told",
                                       remedy="mend the holes, or give the body as boxes and cylinders")  # fmt: skip
        return (np.full(len(corners), Solid.TRIANGLE, np.uint8), np.ascontiguousarray(corners.reshape(-1, 9)),
                np.hstack([corners.min(axis=1), corners.max(axis=1)]))  # fmt: skip


Shape = Box | Cylinder | Mesh


def _open_sides(corners: NDArray[np.float64]) -> int:
    """How many directed sides lack one that runs the other way (zero for a closed, consistently turned surface)."""
    _, index = np.unique(corners.reshape(-1, 3) + 0.0, axis=0, return_inverse=True)
    index = index.reshape(-1, 3)
    start, end = index.ravel(), np.roll(index, -1, axis=1).ravel()
    side = np.minimum(start, end) * (int(index.max()) + 1) + np.maximum(start, end)
    _, which = np.unique(side, return_inverse=True)
    return int(np.abs(np.bincount(which.ravel(), weights=np.sign(end - start))).sum())


@dataclass(frozen=True, slots=True, eq=False)
class Bodies:
    """Named bodies made ready for distance questions. Build with `Bodies.of`."""

    names: tuple[str, ...]
    forest: Forest

    @classmethod
    def of(cls, bodies: Mapping[str, Shape | Iterable[Shape]]) -> Self:
        """Pack bodies, each one shape or several that count as one body.

        Raises `InputRefused` (key: the body's name) for an empty body, a box turned inside out, a mesh that is not closed.
        """
        packed = [_pack(name, [shapes] if isinstance(shapes, Box | Cylinder | Mesh) else list(shapes))
                  for name, shapes in bodies.items()]  # fmt: skip
        if not packed:
            raise InputRefused.because("there is no body to keep clear of", remedy="name at least one")
        return cls(tuple(bodies), grow([p[0] for p in packed], [p[1] for p in packed], [p[2] for p in packed]))

    def __len__(self) -> int:
        return len(self.names)

    def widened(self, by: NDArray[np.float64]) -> Bodies:
        """Each body carried along a box about itself: half as wide as its row of `by` float64 (bodies, 3), mm, on each axis. What
        is nearer to a body than that along every axis meets the widened one, and nothing else does; exact for every shape."""
        reach = np.asarray(by, np.float64)
        if reach.shape != (len(self), 3) or not (np.isfinite(reach) & (reach >= 0.0)).all():
            raise ValueError("three finite half-widths a body, none below 0")
        return Bodies(self.names, widened(self.forest, reach))


def _pack(name: str, shapes: list[Shape]) -> _Packed:
    if not shapes:
        raise InputRefused.because("the body has no shape", remedy="give it a box, a cylinder or a mesh", key=name)
    parts: list[_Packed] = []
    for shape in shapes:
        try:
            parts.append(shape._packed())
        except InputRefused as refused:
            problem = refused.problems[0]
            raise InputRefused.because(problem.what, why=problem.why, remedy=problem.remedy, key=name) from None
    return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts]), np.concatenate([p[2] for p in parts])
