"""Farthest points: how a convex shape answers "what is your outermost point in this direction?".

That one question is all the distance iteration asks, so a cylinder is a cylinder and a torus zone a torus zone: nothing is
replaced by facets. A piece moved along a straight line answers with its own farthest point at whichever end lies further on.
"""

from __future__ import annotations

import math
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel

__all__ = ["Solid", "farthest_of_piece", "farthest_of_solid"]

Point = tuple[float, float, float]


class Solid(IntEnum):
    """What one entry of a body is, and what its first nine numbers mean (mm); the last three: how much farther it reaches along
    X, Y, Z, both ways (a box of that half-width carried along it)."""

    TRIANGLE = 0
    """three corners, x y z each"""
    BOX = 1
    """least corner, greatest corner; sides along the axes; three numbers unused"""
    CYLINDER = 2
    """centre x, y, radius, lower z, upper z; axis along Z; four numbers unused"""


_LINE: Final = 0
_TRIANGLE: Final = int(Solid.TRIANGLE)
_BOX: Final = int(Solid.BOX)


@kernel
def farthest_of_piece(meridian: int, shape: NDArray[np.float64], dx: float, dy: float, dz: float) -> Point:
    """The point of a revolved piece (tip at the origin) farthest in direction d.

    `meridian`: `geometry.pieces.Meridian`; `shape`: float64 (7,), columns as in `PieceTable`, mm. d need not be a unit vector but
    is not zero. Exact to round-off. On the axis of a flat end the centre is taken of all the equally far points.
    """
    across = math.sqrt(dx * dx + dy * dy)
    if meridian == _LINE:
        low = shape[2] * across + shape[0] * dz
        high = shape[3] * across + shape[1] * dz
        r, z = (shape[2], shape[0]) if low >= high else (shape[3], shape[1])
    else:
        length = math.sqrt(across * across + dz * dz)
        z = shape[5] + shape[6] * dz / length
        if z < shape[0]:
            r, z = shape[2], shape[0]
        elif z > shape[1]:
            r, z = shape[3], shape[1]
        else:
            r = shape[4] + shape[6] * across / length
    if across == 0.0:
        return 0.0, 0.0, z
    return r * dx / across, r * dy / across, z


@kernel
def farthest_of_solid(kind: int, data: NDArray[np.float64], dx: float, dy: float, dz: float) -> Point:
    """The point of one solid of a body farthest in direction d; `kind` and `data` float64 (12,) as in `Solid`, mm."""
    x, y, z = _farthest_of_bare(kind, data, dx, dy, dz)
    return (x + (data[9] if dx > 0.0 else -data[9]), y + (data[10] if dy > 0.0 else -data[10]),
            z + (data[11] if dz > 0.0 else -data[11]))  # fmt: skip


@kernel
def _farthest_of_bare(kind: int, data: NDArray[np.float64], dx: float, dy: float, dz: float) -> Point:
    """The same without the last three numbers."""
    if kind == _TRIANGLE:
        best = 0
        reach = data[0] * dx + data[1] * dy + data[2] * dz
        for corner in (3, 6):
            other = data[corner] * dx + data[corner + 1] * dy + data[corner + 2] * dz
            if other > reach:
                best, reach = corner, other
        return data[best], data[best + 1], data[best + 2]
    if kind == _BOX:
        return data[3] if dx > 0.0 else data[0], data[4] if dy > 0.0 else data[1], data[5] if dz > 0.0 else data[2]
    across = math.sqrt(dx * dx + dy * dy)
    z = data[4] if dz > 0.0 else data[3]
    if across == 0.0:
        return data[0], data[1], z
    return data[0] + data[2] * dx / across, data[1] + data[2] * dy / across, z
