"""Pieces into which a program parts the metal, and which of them the holding still holds.

Intervals of neighbouring rays of one bundle that overlap belong together; what is connected so is connected indeed but for
gaps thinner than the pitch. Metal thinner than the pitch across a bundle may be missed by it, but not by all three bundles: so the
bundle that shows the fewest pieces is believed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body, BodyRole
from setwright.removal.field import ACROSS, Field, Rays

__all__ = ["LEAST_CELLS", "PartedPiece", "parted"]

LEAST_CELLS: Final = 27
"""A piece smaller than this many cells of the rays (three each way) is taken for a sliver between cuts."""


@dataclass(frozen=True, slots=True)
class PartedPiece:
    """A piece parted from the largest one of its blank.

    `volume` mm³; `middle` and `size` of its box in W, mm; `row`: the last motion that cut it, after which at the latest it is by
    itself; `held`: whether bodies of the holding stand against it from two opposite sides.
    """

    volume: float
    middle: tuple[float, float, float]
    size: tuple[float, float, float]
    row: int
    held: bool


@dataclass(frozen=True, slots=True)
class _Parts:
    """One bundle's intervals with the number of the part each belongs to, int32 (n,), and the volume of each part, mm³."""

    axis: int
    rays: Rays
    part: NDArray[np.int32]
    volume: NDArray[np.float64]
    large: NDArray[np.intp]


def parted(before: Field, after: Field, bodies: Sequence[Body]) -> tuple[PartedPiece, ...]:
    """The pieces the metal falls into besides the one that stays held (the largest, where none or several are), largest first."""
    blanks = _fewest(before, 1)
    parts = _fewest(after, blanks.large.size)
    if parts.large.size <= max(1, blanks.large.size):
        return ()
    held, last = _touched(after, parts, bodies)
    found = []
    of_blank = _blank_of(before, parts)
    for blank in np.unique(of_blank[parts.large]).tolist():
        mine = [part for part in parts.large.tolist() if of_blank[part] == blank]
        mine.sort(key=lambda part: (not held[part], -parts.volume[part]))
        found += [_piece(after, parts, part, int(last[part]), held=bool(held[part])) for part in mine[1:]]
    return tuple(sorted(found, key=lambda piece: -piece.volume))


def _fewest(field: Field, enough: int) -> _Parts:
    """The parts of the bundle that shows the fewest large ones; the first that shows no more than `enough`."""
    best = _parts_of(field, 2)
    for axis in (0, 1):
        if best.large.size > max(1, enough):
            best = min(best, _parts_of(field, axis), key=lambda parts: parts.large.size)
    return best


def _parts_of(field: Field, axis: int) -> _Parts:
    bundle = field.bundles[axis]
    rays = bundle.rays()
    size = rays.ray.size
    pairs = [_overlapping(rays, bundle.nu, bundle.nv, step) for step in ((1, 0), (0, 1))]
    first, second = (np.concatenate(column) for column in zip(*pairs, strict=True))
    graph = coo_array((np.ones(first.size, np.bool_), (first, second)), shape=(size, size))
    count, part = connected_components(graph, directed=False)
    cell = float(np.prod(field.grid.pitch))
    u, v = ACROSS[axis]
    lengths = rays.ends[:, 1] - rays.ends[:, 0]
    area = float(field.grid.pitch[u] * field.grid.pitch[v])
    volume = np.asarray(np.bincount(part, lengths, count) * area, np.float64)
    return _Parts(axis, rays, part, volume, np.flatnonzero(volume >= LEAST_CELLS * cell))


def _overlapping(rays: Rays, nu: int, nv: int, step: tuple[int, int]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of intervals that overlap, each on a ray and on its neighbour `step` further."""
    first = np.searchsorted(rays.ray, np.arange(nu * nv + 1))
    count = np.diff(first).reshape(nv, nu)
    here = np.arange(nu * nv).reshape(nv, nu)[: nv - step[1], : nu - step[0]].ravel()
    there = here + step[1] * nu + step[0]
    pairs: list[NDArray[np.int64]] = []
    for a in range(int(count.max(initial=0))):
        with_a = count.ravel()[here] > a
        for b in range(int(count.max(initial=0))):
            both = with_a & (count.ravel()[there] > b)
            i, j = first[here[both]] + a, first[there[both]] + b
            low = np.maximum(rays.ends[i, 0], rays.ends[j, 0])
            overlap = np.minimum(rays.ends[i, 1], rays.ends[j, 1]) - low > SAME_PLACE_MM
            pairs.append(np.stack([i[overlap], j[overlap]]))
    joined = np.concatenate(pairs, axis=1) if pairs else np.zeros((2, 0), np.int64)
    return joined[0], joined[1]


def _blank_of(before: Field, parts: _Parts) -> NDArray[np.int64]:
    """The part of the metal before the program that each part was cut from, int64 (parts,); by one interval of each."""
    source = _parts_of(before, parts.axis)
    one = np.unique(parts.part, return_index=True)[1]
    return _part_at(source, parts.rays.ray[one], parts.rays.ends[one].mean(axis=1))


def _part_at(parts: _Parts, ray: NDArray[np.int64], along: NDArray[np.float64]) -> NDArray[np.int64]:
    """The part at places on rays; -1 where there is no metal."""
    order = np.lexsort((parts.rays.ends[:, 0], parts.rays.ray))
    rays, ends = parts.rays.ray[order], parts.rays.ends[order]
    found = np.full(ray.size, -1, np.int64)
    begin, stop = np.searchsorted(rays, ray), np.searchsorted(rays, ray, side="right")
    for step in range(int((stop - begin).max(initial=0))):
        row = np.minimum(begin + step, max(rays.size - 1, 0))
        inside = (begin + step < stop) & (ends[row, 0] <= along) & (along <= ends[row, 1])
        found[inside] = parts.part[order[row[inside]]]
    return found


def _touched(field: Field, parts: _Parts, bodies: Sequence[Body]) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """Which parts have bodies of the holding against them from two opposite sides, bool (parts,), and the number of the last motion
    that cut each, int64 (parts,), -1 if none did."""
    holding = [body.bounds() for body in bodies if body.role is BodyRole.HOLDING]
    held, last = np.zeros(parts.volume.size, np.bool_), np.full(parts.volume.size, -1, np.int64)
    for axis in range(3):
        points, rays = field.points(axis)
        sides = np.zeros((2, held.size), np.bool_)
        for side in (0, 1):
            part = _part_of_ends(field, parts, points, axis=axis, side=side)
            known = part >= 0
            np.maximum.at(last, part[known], rays.ident[known, side])
            at, against = points[:, side], np.zeros(part.size, np.bool_)
            for low, high in holding:
                against |= ((at >= low - SAME_PLACE_MM) & (at <= high + SAME_PLACE_MM)).all(axis=1)
            sides[side, part[known & against]] = True
        held |= sides[0] & sides[1]
    return held, last


def _part_of_ends(field: Field, parts: _Parts, points: NDArray[np.float64], *, axis: int, side: int) -> NDArray[np.int64]:
    """The part of each interval float64 (n, 2, 3) of the bundle along `axis`, int64 (n,): looked up where it crosses the ray of the
    parts' own bundle next to its end `side`; -1 if it is too short to cross one."""
    if axis == parts.axis:
        return parts.part.astype(np.int64)
    grid = field.grid
    place = points[:, side].copy()
    index = (place[:, axis] - grid.first[axis]) / grid.pitch[axis]
    place[:, axis] = grid.first[axis] + grid.pitch[axis] * (np.ceil(index) if side == 0 else np.floor(index))
    crosses = (points[:, 0, axis] <= place[:, axis]) & (place[:, axis] <= points[:, 1, axis])
    number = np.rint((place - grid.first) / grid.pitch).astype(np.int64)
    crosses &= ((number >= 0) & (number < grid.count)).all(axis=1)
    u, v = ACROSS[parts.axis]
    ray = number[crosses, v] * int(grid.count[u]) + number[crosses, u]
    found = np.full(len(points), -1, np.int64)
    found[crosses] = _part_at(parts, ray, place[crosses, parts.axis])
    return found


def _piece(field: Field, parts: _Parts, part: int, row: int, *, held: bool) -> PartedPiece:
    points = field.points(parts.axis)[0]
    corners = points[parts.part == part].reshape(-1, 3)
    low, high = corners.min(axis=0), corners.max(axis=0)
    for axis in ACROSS[parts.axis]:  # rays stand in the middle of their cells
        low[axis] -= field.grid.pitch[axis] / 2
        high[axis] += field.grid.pitch[axis] / 2
    middle, size = ((low + high) / 2).tolist(), (high - low).tolist()
    return PartedPiece(float(parts.volume[part]), (middle[0], middle[1], middle[2]), (size[0], size[1], size[2]), row, held)
