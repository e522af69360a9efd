"""A coarser surface in place of a fine one, with a bound on how far the two lie apart."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from setwright.base.jit import borrowed, kernel
from setwright.removal.arrays import Floats, Ints
from setwright.removal.surface import Surface

__all__ = ["Coarse", "coarsened"]

_QUADS_A_CELL: Final = 2.4
# odd numbers that stir the bits of a cell's index
_MIX: Final = (0x9E3779B97F4A7C15 - 2**64, 0x632BE59BD9B4E019, 0x2545F4914F6CDD1D)


@dataclass(frozen=True, slots=True)
class Coarse:
    """A surface of fewer triangles. None of its points lies farther than `bound_mm` from the surface it stands for, and the other
    way round; but metal and gaps narrower than twice that may fall together into a line and not show."""

    surface: Surface
    bound_mm: float


def coarsened(surface: Surface, *, triangles: int) -> Coarse:
    """About `triangles` triangles (more where the metal is intricate), for a picture that moves.

    Corners that share a cell of a lattice fall together in the one where the surface bends most, so that edges stay sharp. The
    new surface is the old one with each corner carried to another place, each triangle staying flat: so the greatest way of a
    corner bounds how far the two lie apart, both ways.
    """
    if len(surface.triangles) <= triangles:
        return Coarse(surface, 0.0)
    bends = np.zeros((len(surface.corners), 4))
    area = _bends(surface.corners, surface.triangles, bends)
    size = math.sqrt(_QUADS_A_CELL * area / triangles)
    group, chosen = _grouped(surface.corners, bends, surface.corners.min(axis=0), size)
    new, motion, bound = _carried(surface.corners, surface.triangles, surface.motion, group, chosen)
    return Coarse(Surface(surface.corners[chosen], new, motion), bound)


@kernel
def _bends(corners: Floats, triangles: Ints, bends: Floats) -> float:
    """Add to bends float64 (corners, 4) the sum of the normals about each corner, each as long as its triangle is large, and of
    their lengths. Returns the area of all triangles, mm²."""
    corners, triangles, bends = borrowed(corners), borrowed(triangles), borrowed(bends)
    a, b, normal = np.empty(3), np.empty(3), np.empty(4)
    whole = 0.0
    for row in range(triangles.shape[0]):
        p, q, r = triangles[row, 0], triangles[row, 1], triangles[row, 2]
        for k in range(3):
            a[k], b[k] = corners[q, k] - corners[p, k], corners[r, k] - corners[p, k]
        for k in range(3):
            normal[k] = 0.5 * (a[k - 2] * b[k - 1] - a[k - 1] * b[k - 2])
        normal[3] = math.sqrt(normal[0] * normal[0] + normal[1] * normal[1] + normal[2] * normal[2])
        whole += normal[3]
        for k in range(4):
            bends[p, k] += normal[k]
            bends[q, k] += normal[k]
            bends[r, k] += normal[k]
    return whole


@kernel
def _grouped(corners: Floats, bends: Floats, low: Floats, size: float) -> tuple[Ints, Ints]:
    """For each corner the number of its cell of a lattice with `size` mm from `low` on, and for each cell the corner where the
    surface bends most; numbers in the order in which cells are met."""
    corners, bends = borrowed(corners), borrowed(bends)
    n = corners.shape[0]
    room = 1
    while room < 2 * n:
        room *= 2
    slot = np.full(room, -1, np.int32)  # a cell's number, found by its index stirred
    index, chosen, straight = np.empty((n, 3), np.int64), np.empty(n, np.int32), np.empty(n)
    group, cells = np.empty(n, np.int32), 0
    for corner in range(n):
        i = np.int64(math.floor((corners[corner, 0] - low[0]) / size))
        j = np.int64(math.floor((corners[corner, 1] - low[1]) / size))
        k = np.int64(math.floor((corners[corner, 2] - low[2]) / size))
        at = (i * _MIX[0] + j * _MIX[1] + k * _MIX[2]) >> 7 & (room - 1)
        while slot[at] >= 0 and (index[slot[at], 0] != i or index[slot[at], 1] != j or index[slot[at], 2] != k):
            at = (at + 1) & (room - 1)
        x, y, z, whole = bends[corner, 0], bends[corner, 1], bends[corner, 2], bends[corner, 3]
        even = math.sqrt(x * x + y * y + z * z) / whole if whole > 0.0 else 1.0
        if slot[at] < 0:
            slot[at] = cells
            index[cells, 0], index[cells, 1], index[cells, 2] = i, j, k
            chosen[cells], straight[cells] = corner, even
            cells += 1
        here = slot[at]
        group[corner] = here
        if even < straight[here]:
            chosen[here], straight[here] = corner, even
    return group, chosen[:cells].copy()


@kernel
def _carried(corners: Floats, triangles: Ints, motion: Ints, group: Ints, chosen: Ints) -> tuple[Ints, Ints, float]:
    """The triangles whose corners lie in three cells, and their motions; how far a corner is carried at most, mm."""
    corners, triangles, motion = borrowed(corners), borrowed(triangles), borrowed(motion)
    group, chosen = borrowed(group), borrowed(chosen)
    farthest = 0.0
    for corner in range(group.size):
        to, square = chosen[group[corner]], 0.0
        for axis in range(3):
            away = corners[corner, axis] - corners[to, axis]
            square += away * away
        farthest = max(farthest, square)
    held, kept = 0, np.empty((triangles.shape[0], 3), np.int32)
    whose = np.empty(triangles.shape[0], np.int32)
    for row in range(triangles.shape[0]):
        p, q, r = group[triangles[row, 0]], group[triangles[row, 1]], group[triangles[row, 2]]
        if p != q and q != r and r != p:
            kept[held, 0], kept[held, 1], kept[held, 2] = p, q, r
            whose[held] = motion[row]
            held += 1
    return kept[:held].copy(), whose[:held].copy(), math.sqrt(farthest)
