"""Walls and floors that are left thinner than the setup asks for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.model.requirement import Thickness
from setwright.removal.field import BLANK, Field
from setwright.removal.normals import unpack

__all__ = ["ThinPlace", "thin_places"]

_SQUARE: Final = 0.94
"""Both sides must be met within 20 degrees of square, else a ray runs through an edge and not through a wall."""


@dataclass(frozen=True, slots=True)
class ThinPlace:
    """The thinnest wall or floor below what is asked for: mm, the middle of it (W, mm), the later motion of its two sides, and the
    motion that made the other side (-1: the blank's skin)."""

    what: str
    thickness_mm: float
    asked_mm: float
    at: tuple[float, float, float]
    row: int
    other_row: int


def thin_places(part: Field, asked: Thickness) -> tuple[ThinPlace, ...]:
    """The thinnest wall and the thinnest floor below what is asked for, each if there is one.

    Measured square to their sides on the rays that pass through: along X and Y for walls, along Z for floors. At least one side
    must be cut. Exact for flat sides; the thinnest place of a round one lies at most half a ray spacing aside.
    """
    found = (_thinnest(part, (0, 1), "wall", asked.wall), _thinnest(part, (2,), "floor", asked.floor))
    return tuple(place for place in found if place is not None)


def _thinnest(part: Field, axes: tuple[int, ...], what: str, least: float) -> ThinPlace | None:
    if least <= 0.0:
        return None
    places = [place for axis in axes if (place := _along(part, axis, what, least)) is not None]
    return min(places, key=lambda place: place.thickness_mm, default=None)


def _along(part: Field, axis: int, what: str, least: float) -> ThinPlace | None:
    points, rays = part.points(axis)
    length = rays.ends[:, 1] - rays.ends[:, 0]
    near = np.flatnonzero((length < least / _SQUARE) & (rays.ident != BLANK).any(axis=1))
    low, high = unpack(rays.normal[near, 0]), unpack(rays.normal[near, 1])
    square = (low[:, axis] <= -_SQUARE) & (high[:, axis] >= _SQUARE)
    thickness = length[near] * np.minimum(-low[:, axis], high[:, axis])
    thin = np.flatnonzero(square & (thickness < least - COORDINATE_ROUND_OFF_MM))
    if not thin.size:
        return None
    worst = int(thin[np.argmin(thickness[thin])])
    row, other = sorted(rays.ident[near[worst]].tolist(), reverse=True)
    x, y, z = points[near[worst]].mean(axis=0).tolist()
    return ThinPlace(what, float(thickness[worst]), least, (x, y, z), row, other)
