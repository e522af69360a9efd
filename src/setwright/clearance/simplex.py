"""The point of a simplex (point, segment, triangle, tetrahedron) nearest to the origin, and the part of it that carries it.

Regions are told apart by the signs of dot products (the Voronoi regions of vertices, edges and faces); a triangle without area
or a tetrahedron without volume falls back on its edges or faces, so that no case divides by nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import SIMPLEX_FLATNESS

__all__ = ["INSIDE", "reduce_simplex"]

INSIDE = 0
"""What `reduce_simplex` returns when the origin lies in the tetrahedron."""

_FACES = ((0, 1, 2, 3), (0, 1, 3, 2), (0, 2, 3, 1), (1, 2, 3, 0))


@kernel
def _share_of_segment(s: NDArray[np.float64], i: int, j: int) -> float:
    """How far from vertex i towards vertex j, 0 to 1, the nearest point of the segment lies."""
    along = 0.0
    square = 0.0
    for axis in range(3):
        step = s[j, axis] - s[i, axis]
        along -= s[i, axis] * step
        square += step * step
    if along <= 0.0 or square == 0.0:
        return 0.0
    return min(along / square, 1.0)


@kernel
def _norm2(s: NDArray[np.float64], i: int, j: int, k: int, weights: tuple[float, float, float]) -> float:
    total = 0.0
    for axis in range(3):
        x = weights[0] * s[i, axis] + weights[1] * s[j, axis] + weights[2] * s[k, axis]
        total += x * x
    return total


@kernel
def _best_edge(s: NDArray[np.float64], i: int, j: int, k: int) -> tuple[float, float, float]:
    """Weights of the nearest point on the outline of a triangle."""
    t = _share_of_segment(s, i, j)
    best = (1.0 - t, t, 0.0)
    t = _share_of_segment(s, i, k)
    other = (1.0 - t, 0.0, t)
    if _norm2(s, i, j, k, other) < _norm2(s, i, j, k, best):
        best = other
    t = _share_of_segment(s, j, k)
    other = (0.0, 1.0 - t, t)
    if _norm2(s, i, j, k, other) < _norm2(s, i, j, k, best):
        best = other
    return best


@kernel
def _weights_of_triangle(s: NDArray[np.float64], i: int, j: int, k: int) -> tuple[float, float, float]:
    """Weights of the three vertices in the point of the triangle nearest to the origin.

    Inside the face the weights are the signed areas the origin's projection cuts off; they are all positive exactly there.
    """
    ux, uy, uz = s[j, 0] - s[i, 0], s[j, 1] - s[i, 1], s[j, 2] - s[i, 2]
    vx, vy, vz = s[k, 0] - s[i, 0], s[k, 1] - s[i, 1], s[k, 2] - s[i, 2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    square = nx * nx + ny * ny + nz * nz
    if square > 0.0:
        on_k = -(nx * (uy * s[i, 2] - uz * s[i, 1]) + ny * (uz * s[i, 0] - ux * s[i, 2]) + nz * (ux * s[i, 1] - uy * s[i, 0]))
        on_j = -(nx * (s[i, 1] * vz - s[i, 2] * vy) + ny * (s[i, 2] * vx - s[i, 0] * vz) + nz * (s[i, 0] * vy - s[i, 1] * vx))
        on_i = square - on_j - on_k
        if on_i > 0.0 and on_j > 0.0 and on_k > 0.0:
            return on_i / square, on_j / square, on_k / square
    return _best_edge(s, i, j, k)


@kernel
def _volume(s: NDArray[np.float64], i: int, j: int, k: int, x: float, y: float, z: float) -> float:
    """Six times the signed volume spanned by a face and the point (x, y, z)."""
    ux, uy, uz = s[j, 0] - s[i, 0], s[j, 1] - s[i, 1], s[j, 2] - s[i, 2]
    vx, vy, vz = s[k, 0] - s[i, 0], s[k, 1] - s[i, 1], s[k, 2] - s[i, 2]
    wx, wy, wz = x - s[i, 0], y - s[i, 1], z - s[i, 2]
    return float(wx * (uy * vz - uz * vy) + wy * (uz * vx - ux * vz) + wz * (ux * vy - uy * vx))


@kernel
def _weigh_tetrahedron(s: NDArray[np.float64], weight: NDArray[np.float64]) -> bool:
    """Fill the four weights of the nearest point; True if the origin is inside."""
    whole = _volume(s, 0, 1, 2, s[3, 0], s[3, 1], s[3, 2])
    size = 1.0
    for i in range(1, 4):
        size *= abs(s[i, 0] - s[0, 0]) + abs(s[i, 1] - s[0, 1]) + abs(s[i, 2] - s[0, 2])
    flat = abs(whole) <= SIMPLEX_FLATNESS * size
    best = np.inf
    for i, j, k, opposite in _FACES:
        if not flat:
            side = _volume(s, i, j, k, 0.0, 0.0, 0.0)
            if side * _volume(s, i, j, k, s[opposite, 0], s[opposite, 1], s[opposite, 2]) > 0.0:
                continue
        weights = _weights_of_triangle(s, i, j, k)
        distance = _norm2(s, i, j, k, weights)
        if distance < best:
            best = distance
            weight[i], weight[j], weight[k], weight[opposite] = weights[0], weights[1], weights[2], 0.0
    return best == np.inf


@kernel
def reduce_simplex(s: NDArray[np.float64], weight: NDArray[np.float64], count: int) -> int:
    """Keep of a simplex the vertices that carry its point nearest to the origin; return how many are left, `INSIDE` if it holds it.

    `s` float64 (4, 9): in each of the first `count` rows a vertex (3 numbers) and whatever travels with it. `weight` float64 (4,):
    on return the shares of the kept vertices, all positive, sum 1. Both are rewritten in place. Source: the sub-problem of Gilbert,
    Johnson and Keerthi 1988, solved by region instead of by cofactors.
    """
    if count == 1:
        weight[0] = 1.0
    elif count == 2:
        share = _share_of_segment(s, 0, 1)
        weight[0], weight[1] = 1.0 - share, share
    elif count == 3:
        weight[0], weight[1], weight[2] = _weights_of_triangle(s, 0, 1, 2)
    elif _weigh_tetrahedron(s, weight):
        return INSIDE
    kept = 0
    for row in range(count):
        if weight[row] > 0.0:
            if kept != row:
                weight[kept] = weight[row]
                for column in range(9):
                    s[kept, column] = s[row, column]
            kept += 1
    return kept
