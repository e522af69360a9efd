"""The metal's surface as triangles, sharp at its edges, every triangle with the number of the motion that cut it.

Dual contouring: where an odd number of ray ends lies between two neighbouring crossings of rays the surface passes; around each
such edge of the lattice stand four cells, and each cell gets one corner, where the planes of the ray ends on its edges meet best
(least squares about their mean, small singular values dropped, kept inside the cell). So flat faces stay flat and edges sharp.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from setwright.base.threads import map_parts
from setwright.removal.contour import SUMS, Numbering, add_up, count_edges, find_edges, meet, numbered, put_triangles
from setwright.removal.field import ACROSS, Field, Tile

__all__ = ["Surface", "surface_of"]

_PARTS: Final = 8
T = TypeVar("T")


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
class _Edges:
    """Lattice edges that pass the surface, axis after axis, in the order of the tiles: arrays (n,) as `find_edges` writes them;
    `about` int64 (3, 5): for each axis the steps to the four cells about an edge, and the row where the next axis begins; `size`
    int64 (3,): cells about the lattice of ray crossings, one more than rays on each axis."""

    cell: NDArray[np.int64]
    end: NDArray[np.float64]
    facing: NDArray[np.int32]
    motion: NDArray[np.int32]
    low: NDArray[np.bool_]
    about: NDArray[np.int64]
    size: NDArray[np.int64]

    def rows(self, axis: int) -> tuple[int, int]:
        """First row of an axis, and the row after its last."""
        return int(self.about[axis - 1, 4]) if axis else 0, int(self.about[axis, 4])


def surface_of(field: Field) -> Surface:
    """The surface of the metal; empty for no metal. Metal or gaps thinner than the pitch between two neighbouring crossings of
    rays do not show. Corners in the order of their cells (first axis fastest), triangles in the order of the rays' tiles; the same
    bytes for any number of threads."""
    edges = _edges(field)
    numbering = numbered(edges.cell, edges.about, int(edges.size.prod()))
    n = edges.cell.size
    number, triangles, motion = np.empty((n, 4), np.int32), np.empty((2 * n, 3), np.int32), np.empty(2 * n, np.int32)

    def put(part: tuple[int, int, int]) -> None:
        axis, start, stop = part
        put_triangles(start, stop, edges.cell, edges.about[axis], numbering, edges.low, edges.motion, number, triangles, motion)

    map_parts(put, [(axis, *stretch) for axis in range(3) for stretch in _stretches(*edges.rows(axis), _PARTS)])
    return Surface(_corners(field, edges, numbering, number), triangles, motion)


def _stretches(start: int, stop: int, parts: int) -> list[tuple[int, int]]:
    """A range cut into so many, none empty."""
    cuts = sorted({start + (stop - start) * part // parts for part in range(parts + 1)})
    return list(itertools.pairwise(cuts))


def _each(work: Callable[[int], T], count: int) -> list[T]:
    """work(0) .. work(count - 1) on threads, many at a time."""
    parts = map_parts(lambda stretch: [work(k) for k in range(*stretch)], _stretches(0, count, _PARTS))
    return [result for part in parts for result in part]


def _edges(field: Field) -> _Edges:
    """Of each lattice edge with an odd number of ray ends the last one, which separates its two nodes."""
    grid = field.grid
    size = np.asarray(grid.count + 1, np.int64)
    step = np.array([1, size[0], size[0] * size[1]])
    tiles = [(axis, tile) for axis in range(3) for tile in field.bundles[axis].tiles]

    def along(axis: int) -> tuple[float, float, int]:
        return float(grid.first[axis]), float(grid.pitch[axis]), int(grid.count[axis])

    def count(k: int) -> int:
        axis, tile = tiles[k]
        return count_edges(tile.ends, tile.count, *along(axis))

    at = np.concatenate([[0], np.cumsum(_each(count, len(tiles)))]).astype(np.int64)
    n = int(at[-1])
    cell, end, facing = np.empty(n, np.int64), np.empty(n, np.float64), np.empty(n, np.int32)
    motion, low = np.empty(n, np.int32), np.empty(n, np.bool_)

    def find(k: int) -> None:
        axis, tile = tiles[k]
        steps = step[[axis, *ACROSS[axis]]]
        find_edges(tile.ends, tile.count, tile.ident, tile.normal, *along(axis), _below(tile, axis, step), steps, tile.nu,
                   int(at[k]), cell, end, facing, motion, low)  # fmt: skip

    _each(find, len(tiles))
    last = np.searchsorted([axis for axis, _ in tiles], np.arange(3), side="right")
    u, v = step[[1, 2, 0]], step[[2, 0, 1]]
    about = np.column_stack([np.zeros(3, np.int64), u, u + v, v, at[last]])
    return _Edges(cell, end, facing, motion, low, about, size)


def _below(tile: Tile, axis: int, step: NDArray[np.int64]) -> int:
    """Place of the cell below the tile's first ray, before the first node."""
    u, v = ACROSS[axis]
    return int(tile.u0 * step[u] + tile.v0 * step[v])


def _corners(field: Field, edges: _Edges, numbering: Numbering, number: NDArray[np.int32]) -> NDArray[np.float64]:
    """One point for each cell: the least-squares meeting of the planes on its edges, from their mean, kept inside the cell."""
    grid, place, size = field.grid, numbering.place, edges.size
    corners = np.empty((place.size, 3))

    def solve(stretch: tuple[int, int]) -> None:
        start, stop = stretch
        sums = np.zeros((stop - start, SUMS))
        for axis in range(3):
            rows = edges.rows(axis)
            add_up(axis, *rows, edges.cell, edges.end, edges.facing, number, grid.first, grid.pitch, size, start, sums)
        meet(sums, place[start:stop], grid.first, grid.pitch, size, grid.low, grid.high, corners[start:stop])

    map_parts(solve, _stretches(0, place.size, _PARTS // 2))
    return corners
