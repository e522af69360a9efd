"""The metal's surface as triangles, sharp at its edges, every triangle with the number of the motion that cut it.

Dual contouring: where an odd number of ray ends lies between two neighbouring crossings of rays the surface passes; around each
such edge of the lattice stand four cells, and each cell gets one corner, where the planes of the ray ends on its edges meet best
(least squares about their mean, small singular values dropped, kept inside the cell). So flat faces stay flat and edges sharp.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import UNIT_VECTOR_ROUND_OFF
from setwright.removal.field import ACROSS, Field
from setwright.removal.normals import unpack

__all__ = ["Surface", "surface_of"]

_FLAT: Final = 0.1  # singular values below this share of the largest say "no edge here"


@dataclass(frozen=True, slots=True)
class Surface:
    """Triangles: corners float64 (n, 3) mm; triangles int32 (m, 3), counter-clockwise seen from outside; motion int32 (m,), -1
    where
    the blank's own skin still stands. Between rays a smooth surface of curvature radius R is followed within pitch²/(8 R) (the sag
    of a chord), edges within the pitch's share that packed normals (1e-4 rad) leave."""

    corners: NDArray[np.float64]
    triangles: NDArray[np.int32]
    motion: NDArray[np.int32]

    def motion_at(self, point: tuple[float, float, float]) -> int:
        """Number of the motion that cut the surface nearest to a point (by the triangles' middles); -1: the blank's skin."""
        middles = self.corners[self.triangles].mean(axis=1)
        return int(self.motion[np.square(middles - np.asarray(point)).sum(axis=1).argmin()])


@dataclass(frozen=True, slots=True)
class _Crossings:
    """Lattice edges that pass the surface: cell of the edge's lower node int64 (n, 3), axis, point, normal, motion, whether
    the metal lies on the lower side."""

    node: NDArray[np.int64]
    axis: NDArray[np.int64]
    point: NDArray[np.float64]
    normal: NDArray[np.float64]
    motion: NDArray[np.int32]
    ends_metal: NDArray[np.bool_]


def surface_of(field: Field) -> Surface:
    """The surface of the metal; empty for no metal. Metal or gaps thinner than the pitch between two neighbouring crossings of
    rays do not show."""
    crossings = _crossings(field)
    size = field.grid.count + 1  # cells about the lattice of ray crossings, one more than rays on each axis
    number = _cells_about(crossings, size)
    cells, corner = np.unique(number, return_inverse=True)
    corner = corner.reshape(number.shape)
    corners = _corners(crossings, corner, cells, field, size)
    flip = crossings.ends_metal
    quads = np.where(flip[:, None], corner, corner[:, ::-1])
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]).astype(np.int32)
    motion = np.concatenate([crossings.motion, crossings.motion])
    real = (triangles[:, 0] != triangles[:, 1]) & (triangles[:, 1] != triangles[:, 2]) & (triangles[:, 2] != triangles[:, 0])
    return Surface(corners, triangles[real], motion[real])


def _crossings(field: Field) -> _Crossings:
    """Of each lattice edge with an odd number of ray ends the last one, which separates its two nodes."""
    parts = []
    for axis in range(3):
        points, rays = field.points(axis)
        u, v = ACROSS[axis]
        ray = np.repeat(rays.ray, 2)
        flat = points.reshape(-1, 3)
        along = np.floor((flat[:, axis] - field.grid.first[axis]) / field.grid.pitch[axis]).astype(np.int64)
        along = np.clip(along, -1, field.grid.count[axis] - 1)
        last = np.ones(ray.size, np.bool_)
        last[:-1] = (ray[1:] != ray[:-1]) | (along[1:] != along[:-1])
        first = np.concatenate([[0], np.flatnonzero(last)[:-1] + 1]) if ray.size else np.zeros(0, np.int64)
        odd = np.flatnonzero(last)[(np.flatnonzero(last) - first) % 2 == 0]
        node = np.empty((odd.size, 3), np.int64)
        node[:, axis], node[:, u], node[:, v] = along[odd], ray[odd] % field.bundles[axis].nu, ray[odd] // field.bundles[axis].nu
        normal = unpack(rays.normal.ravel()[odd])
        parts.append((node, np.full(odd.size, axis), flat[odd], normal, rays.ident.ravel()[odd], odd % 2 == 1))
    return _Crossings(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _cells_about(crossings: _Crossings, size: NDArray[np.int64]) -> NDArray[np.int64]:
    """Numbers of the four cells about each edge, counter-clockwise seen from the edge's upper end; int64 (n, 4). Cell (i, j,
    k) lies below node (i, j, k) on every axis."""
    cell = np.repeat(crossings.node[:, None, :], 4, axis=1)
    rows = np.arange(crossings.axis.size)
    cell[rows, :, crossings.axis] += 1
    u, v = (crossings.axis + 1) % 3, (crossings.axis + 2) % 3
    for corner, (du, dv) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1))):
        cell[rows, corner, u] += du
        cell[rows, corner, v] += dv
    return np.asarray((cell[..., 2] * size[1] + cell[..., 1]) * size[0] + cell[..., 0])


def _corners(
    crossings: _Crossings, corner: NDArray[np.int64], cells: NDArray[np.int64], field: Field, size: NDArray[np.int64]
) -> NDArray[np.float64]:
    """One point for each cell: the least-squares meeting of the planes on its edges, from their mean, kept inside the cell."""
    n = cells.size
    flat = corner.ravel()
    point, normal = np.repeat(crossings.point, 4, axis=0), np.repeat(crossings.normal, 4, axis=0)
    share = np.bincount(flat, minlength=n)[:, None]
    mean = np.column_stack([np.bincount(flat, point[:, k], n) for k in range(3)]) / share
    lean = np.sqrt(sum(np.square(np.bincount(flat, normal[:, k], n)) for k in range(3)))
    bent = lean < share[:, 0] * (1.0 - UNIT_VECTOR_ROUND_OFF)  # elsewhere all planes are parallel and their mean is the answer
    held = np.flatnonzero(bent[flat])
    place = (np.cumsum(bent) - 1)[flat[held]]
    step = np.zeros((n, 3))
    step[bent] = _meeting(point[held] - mean[flat[held]], normal[held], place, int(bent.sum()))
    index = np.column_stack([cells % size[0], cells // size[0] % size[1], cells // (size[0] * size[1])])
    high = np.minimum(field.grid.first + index * field.grid.pitch, field.grid.high)
    low = np.maximum(field.grid.first + (index - 1) * field.grid.pitch, field.grid.low)
    return np.asarray(np.clip(mean + step, low, high), np.float64)


def _meeting(point: NDArray[np.float64], normal: NDArray[np.float64], place: NDArray[np.intp], n: int) -> NDArray[np.float64]:
    """Where planes through `point` with `normal` (m, 3) meet best in each of `n` cells, least squares about the origin; `place`
    (m,) is each plane's cell."""
    away = (point * normal).sum(axis=1)
    matrix = np.empty((n, 3, 3))
    right = np.empty((n, 3))
    for a in range(3):
        right[:, a] = np.bincount(place, normal[:, a] * away, n)
        for b in range(a, 3):
            matrix[:, a, b] = matrix[:, b, a] = np.bincount(place, normal[:, a] * normal[:, b], n)
    values, vectors = np.linalg.eigh(matrix)
    kept = values > _FLAT * values[:, -1:]
    weights = np.where(kept, 1.0 / np.where(kept, values, 1.0), 0.0)
    return np.asarray(np.einsum("nij,nj,nkj,nk->ni", vectors, weights, vectors, right))
