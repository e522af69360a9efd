"""A part made ready to be measured at many places: what was found at a place is remembered.

A measurement looks at the ray ends of one region and at nothing else. So it need not be made again on another part whose tiles are
the same there, and the answer is the same to the last bit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.jit import borrowed, kernel
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.field import ACROSS, TILE, Bundle, Field, Tile
from setwright.removal.normals import unpacked
from setwright.removal.regions import BAND, BOX, Region

__all__ = ["Ends", "Ready", "ends_in", "made_ready"]

_Array = NDArray[np.float64]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Ends:
    """Ray ends: points float64 (n, 3) mm, outward normals float64 (n, 3), bundle int64 (n,), motion that made them int32 (n,)."""

    points: _Array
    normals: _Array
    axis: NDArray[np.int64]
    ident: NDArray[np.int32]

    def where(self, chosen: NDArray[np.bool_] | NDArray[np.intp] | slice) -> Ends:
        """The chosen ones, in the order in which they are chosen."""
        return Ends(self.points[chosen], self.normals[chosen], self.axis[chosen], self.ident[chosen])


_Window = tuple[int, int, int, int]
"""First and last ray of a bundle in u, first and last in v; none where a last one lies before the first."""


class Ready:
    """A field made ready. `before`: another one, whose findings are taken over where the same regions hold the same ray ends."""

    def __init__(self, field: Field, *, before: Ready | None = None) -> None:
        self.slack = field.slack
        self.grid, self._bundles = field.grid, field.bundles
        self._known: dict[Hashable, Any] = {}
        alike = before is not None and before.slack == self.slack and before.grid is self.grid
        self._before = before if alike else None
        self._of_rays: dict[Hashable, Any] = before._of_rays if before is not None and alike else {}
        self._same: dict[tuple[int, int], bool] = {}

    def once(self, key: Hashable, region: Region, work: Callable[[], T]) -> T:
        """`work()`, a measurement that looks at nothing but `region`; remembered under `key`, with a refusal as well."""
        if key not in self._known:
            before = self._before
            if before is not None and key in before._known and self._unchanged(region, before):
                self._known[key] = before._known[key]
            else:
                self._known[key] = _answer(work)
        found = self._known[key]
        if isinstance(found, InputRefused):
            raise InputRefused(found.problems)
        answer: T = found
        return answer

    def once_for_rays(self, key: Hashable, work: Callable[[], T]) -> T:
        """`work()`, which looks at nothing but how the rays stand; remembered under `key` for all parts with the same rays."""
        if key not in self._of_rays:
            self._of_rays[key] = work()
        answer: T = self._of_rays[key]
        return answer

    def forget_before(self) -> None:
        """Let go of the part before; what was taken over stays."""
        self._before = None

    def ends_in(self, region: Region, *, squarely: float = 0.0) -> Ends:
        """All ray ends of the three bundles inside a region, in the order of the bundles, of their tiles and of the rays; only
        those whose ray meets the surface at least so `squarely` (cosine to the normal)."""
        kind, numbers = region.packed
        packed = np.array(numbers, np.float64)
        near = [(bundle, window, tile) for bundle, window in zip(self._bundles, self._windows(region), strict=True)
                for tile in map(bundle.tiles.__getitem__, _tiles_near(bundle, window))]  # fmt: skip
        room = sum(2 * tile.ends.shape[1] * tile.count.size for _, _, tile in near)
        found = Ends(np.empty((room, 3)), np.empty((room, 3)), np.empty(room, np.int64), np.empty(room, np.int32))
        n = 0
        for bundle, window, tile in near:
            u, v = ACROSS[bundle.axis]
            place = np.array([self.grid.first[u], self.grid.pitch[u], self.grid.first[v], self.grid.pitch[v]])
            n = _gather(tile.count, tile.ends, tile.ident, tile.normal, (tile.u0, tile.v0, tile.nu, tile.nv), window,
                        (u, v, bundle.axis), place, kind, packed, squarely, found.points, found.normals, found.axis, found.ident,
                        n)  # fmt: skip
        return Ends(found.points[:n], found.normals[:n], found.axis[:n], found.ident[:n])

    def metal_at(self, axis: NDArray[np.int64], u: NDArray[np.int64], v: NDArray[np.int64], along: _Array) -> NDArray[np.bool_]:
        """Whether there is metal at places `along` (mm) rays of bundles `axis`, all (n,); `u`, `v`: the rays' numbers."""
        found = np.zeros(axis.size, np.bool_)
        for one in range(3):
            bundle, mine = self._bundles[one], np.flatnonzero(axis == one)
            number = v[mine] // TILE * -(-bundle.nu // TILE) + u[mine] // TILE
            for tile, rows in ((bundle.tiles[k], mine[number == k]) for k in np.unique(number).tolist()):
                ray = (v[rows] - tile.v0) * tile.nu + u[rows] - tile.u0
                ends, held = tile.ends[ray], np.arange(tile.ends.shape[1]) < tile.count[ray][:, None]
                inside = (ends[:, :, 0] < along[rows, None]) & (along[rows, None] < ends[:, :, 1])
                found[rows] = (inside & held).any(axis=1)
        return found

    def _windows(self, region: Region) -> list[_Window]:
        """The rays of each bundle that can pass a region."""
        low, high = region.bounds()
        first = np.maximum(np.ceil((low - self.grid.first) / self.grid.pitch), 0.0).astype(np.int64).tolist()
        last = np.minimum(np.floor((high - self.grid.first) / self.grid.pitch), self.grid.count - 1).astype(np.int64).tolist()
        return [(first[u], last[u], first[v], last[v]) for u, v in ACROSS]

    def _unchanged(self, region: Region, before: Ready) -> bool:
        """Whether the tiles that a region touches hold what those of the part before hold."""
        for bundle, other, window in zip(self._bundles, before._bundles, self._windows(region), strict=True):
            for number in _tiles_near(bundle, window):
                mine, its = bundle.tiles[number], other.tiles[number]
                if mine is not its and not self._tile_same((bundle.axis, number), mine, its):
                    return False
        return True

    def _tile_same(self, key: tuple[int, int], mine: Tile, its: Tile) -> bool:
        if key not in self._same:
            self._same[key] = mine.holds(its)
        return self._same[key]


def made_ready(part: Field | Ready) -> Ready:
    """The part itself if it is ready."""
    return part if isinstance(part, Ready) else Ready(part)


def ends_in(part: Field | Ready, region: Region) -> Ends:
    """All ray ends of the three bundles inside a region; for many regions of one part make it `Ready` first."""
    return made_ready(part).ends_in(region)


def _answer(work: Callable[[], T]) -> T | InputRefused:
    try:
        return work()
    except InputRefused as refusal:
        return refusal


def _tiles_near(bundle: Bundle, window: _Window) -> list[int]:
    """The tiles that a window reaches into, in order."""
    i0, i1, j0, j1 = window
    wide = -(-bundle.nu // TILE)
    return [row * wide + column for row in range(j0 // TILE, j1 // TILE + 1) for column in range(i0 // TILE, i1 // TILE + 1)]


@kernel
def _gather(
    count: Ints, ends: Floats, idents: Ints, packed: Ints, rays: tuple[int, int, int, int], window: tuple[int, int, int, int],
    axes: tuple[int, int, int], place: Floats, kind: int, region: Floats, squarely: float, points: Floats, normals: Floats,
    bundle: Longs, ident: Ints, n: int
) -> int:
    """Write down, from row n on, the ends inside a region of a tile's rays that lie in a window; the row after the last.

    `rays`: first ray of the tile in u and v, their number; `axes`: u, v and the axis along the rays; `place`: first ray's place and
    distance of rays in u, then in v, mm."""
    count, ends, packed = borrowed(count), borrowed(ends), borrowed(packed)
    u0, v0, nu, nv = rays
    u, v, axis = axes
    for j in range(max(window[2], v0), min(window[3] + 1, v0 + nv)):
        for i in range(max(window[0], u0), min(window[1] + 1, u0 + nu)):
            ray = (j - v0) * nu + i - u0
            for k in range(count[ray]):
                for side in range(2):
                    points[n, u], points[n, v] = place[0] + place[1] * i, place[2] + place[3] * j
                    points[n, axis] = ends[ray, k, side]
                    if _holds(kind, region, points[n, 0], points[n, 1], points[n, 2]):
                        normals[n, 0], normals[n, 1], normals[n, 2] = unpacked(packed[ray, k, side])
                        if abs(normals[n, axis]) >= squarely:
                            bundle[n], ident[n] = axis, idents[ray, k, side]
                            n += 1
    return n


@kernel
def _holds(kind: int, p: Floats, x: float, y: float, z: float) -> bool:
    """Whether a point lies in a packed region."""
    if kind == BOX:
        return bool(p[0] <= x <= p[3] and p[1] <= y <= p[4] and p[2] <= z <= p[5])
    if kind == BAND:
        along = x if p[0] == 0.0 else y if p[0] == 1.0 else z
        du = (y if p[0] == 0.0 else x) - p[1]
        dv = (y if p[0] == 2.0 else z) - p[2]
        return bool(p[5] <= along <= p[6] and p[3] * p[3] <= du * du + dv * dv <= p[4] * p[4])
    dx, dy, dz = x - p[0], y - p[1], z - p[2]
    above = dx * p[3] + dy * p[4] + dz * p[5]
    if abs(above) > p[7]:
        return False
    dx, dy, dz = dx - above * p[3], dy - above * p[4], dz - above * p[5]
    return bool(math.sqrt(dx * dx + dy * dy + dz * dz) <= p[6])
