"""A part made ready to be measured at many places: its ray ends in order, and what was found at a place remembered.

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
from setwright.base.jit import kernel
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.field import ACROSS, Bundle, Field, Tile
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

    def where(self, chosen: NDArray[np.bool_]) -> Ends:
        """The chosen ones."""
        return Ends(self.points[chosen], self.normals[chosen], self.axis[chosen], self.ident[chosen])


@dataclass(frozen=True, slots=True)
class _Rows:
    """The ray ends of a bundle, ray after ray. starts int64 (rays + 1,): where each ray's ends begin; along float64 (n,) mm; ident
    and packed normal int32 (n,)."""

    starts: NDArray[np.int64]
    along: _Array
    ident: NDArray[np.int32]
    normal: NDArray[np.int32]


class Ready:
    """A field made ready. `before`: another one, whose findings are taken over where the same regions hold the same ray ends."""

    def __init__(self, field: Field, *, before: Ready | None = None) -> None:
        self.slack = field.slack
        self.grid, self._bundles = field.grid, field.bundles
        self._rows: dict[int, _Rows] = {}
        self._known: dict[Hashable, Any] = {}
        alike = before is not None and before.slack == self.slack and before.grid is self.grid
        self._before = before if alike else None
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

    def forget_before(self) -> None:
        """Let go of the part before; what was taken over stays."""
        self._before = None

    def ends_in(self, region: Region, *, squarely: float = 0.0) -> Ends:
        """All ray ends of the three bundles inside a region, in the order of the bundles and of their rays; only those whose ray
        meets the surface at least so `squarely` (cosine to the normal)."""
        kind, numbers = region.packed
        packed, windows = np.array(numbers, np.float64), self._windows(region)
        room = sum(self._room(bundle, window) for bundle, window in zip(self._bundles, windows, strict=True))
        found = Ends(np.empty((room, 3)), np.empty((room, 3)), np.empty(room, np.int64), np.empty(room, np.int32))
        n = 0
        for bundle, (i0, i1, j0, j1) in zip(self._bundles, windows, strict=True):
            if i0 > i1 or j0 > j1:
                continue
            rows, (u, v) = self._rows_of(bundle), ACROSS[bundle.axis]
            place = np.array([self.grid.first[u], self.grid.pitch[u], self.grid.first[v], self.grid.pitch[v]])
            n = _gather(rows.starts, rows.along, rows.ident, rows.normal, np.array([bundle.axis, u, v, bundle.nu, i0, i1, j0, j1]),
                        place, kind, packed, squarely, found.points, found.normals, found.axis, found.ident, n)  # fmt: skip
        return Ends(found.points[:n], found.normals[:n], found.axis[:n], found.ident[:n])

    def _windows(self, region: Region) -> list[tuple[int, int, int, int]]:
        """First and last ray of each bundle, along both of its axes, that can pass a region."""
        low, high = region.bounds()
        first = np.maximum(np.ceil((low - self.grid.first) / self.grid.pitch), 0.0).astype(np.int64).tolist()
        last = np.minimum(np.floor((high - self.grid.first) / self.grid.pitch), self.grid.count - 1).astype(np.int64).tolist()
        return [(first[u], last[u], first[v], last[v]) for u, v in ACROSS]

    def _room(self, bundle: Bundle, window: tuple[int, int, int, int]) -> int:
        """Ray ends on the rays of a window."""
        i0, i1, j0, j1 = window
        if i0 > i1 or j0 > j1:
            return 0
        starts, lines = self._rows_of(bundle).starts, np.arange(j0, j1 + 1) * bundle.nu
        return int((starts[lines + i1 + 1] - starts[lines + i0]).sum())

    def _rows_of(self, bundle: Bundle) -> _Rows:
        if bundle.axis not in self._rows:
            self._rows[bundle.axis] = _rows(bundle)
        return self._rows[bundle.axis]

    def _unchanged(self, region: Region, before: Ready) -> bool:
        """Whether the tiles that a region touches hold what those of the part before hold."""
        for bundle, other, window in zip(self._bundles, before._bundles, self._windows(region), strict=True):
            i0, i1, j0, j1 = window
            for number, (mine, its) in enumerate(zip(bundle.tiles, other.tiles, strict=True)):
                near = mine.u0 <= i1 and mine.u0 + mine.nu > i0 and mine.v0 <= j1 and mine.v0 + mine.nv > j0
                if near and mine is not its and not self._tile_same((bundle.axis, number), mine, its):
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


def _rows(bundle: Bundle) -> _Rows:
    counts = np.zeros((bundle.nv, bundle.nu), np.int64)
    for tile in bundle.tiles:
        counts[tile.v0 : tile.v0 + tile.nv, tile.u0 : tile.u0 + tile.nu] = 2 * tile.count.reshape(tile.nv, tile.nu)
    starts = np.zeros(counts.size + 1, np.int64)
    np.cumsum(counts.ravel(), out=starts[1:])
    n = int(starts[-1])
    rows = _Rows(starts, np.empty(n), np.empty(n, np.int32), np.empty(n, np.int32))
    for tile in bundle.tiles:
        shape = np.array([tile.u0, tile.v0, tile.nu, bundle.nu])
        _put(shape, tile.count, tile.ends, tile.ident, tile.normal, starts, rows.along, rows.ident, rows.normal)
    return rows


@kernel
def _put(
    shape: Longs, count: Ints, ends: Floats, ident: Ints, normal: Ints, starts: Longs, along: Floats, idents: Ints, normals: Ints
) -> None:
    """Copy a tile's ends (shape: its first rays, its rays in u, those of the bundle) to where their rays begin."""
    u0, v0, nu, wide = shape[0], shape[1], shape[2], shape[3]
    for row in range(count.shape[0]):
        at = starts[(v0 + row // nu) * wide + u0 + row % nu]
        for k in range(count[row]):
            for side in range(2):
                along[at], idents[at], normals[at] = ends[row, k, side], ident[row, k, side], normal[row, k, side]
                at += 1


@kernel
def _gather(
    starts: Longs, along: Floats, idents: Ints, packed: Ints, where: Longs, place: Floats, kind: int, region: Floats,
    squarely: float, points: Floats, normals: Floats, axes: Longs, ident: Ints, n: int
) -> int:
    """Write down, from row n on, the ends inside a region of the rays that `where` names (axis, u, v, rays in u, first and last in
    u and v); the row after the last."""
    axis, u, v, wide = where[0], where[1], where[2], where[3]
    for j in range(where[6], where[7] + 1):
        for i in range(where[4], where[5] + 1):
            ray = j * wide + i
            for end in range(starts[ray], starts[ray + 1]):
                points[n, u], points[n, v], points[n, axis] = place[0] + place[1] * i, place[2] + place[3] * j, along[end]
                if _holds(kind, region, points[n, 0], points[n, 1], points[n, 2]):
                    normals[n, 0], normals[n, 1], normals[n, 2] = unpacked(packed[end])
                    if abs(normals[n, axis]) >= squarely:
                        axes[n], ident[n] = axis, idents[end]
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
        return bool(p[5] <= along <= p[6] and p[3] <= math.hypot(du, dv) <= p[4])
    dx, dy, dz = x - p[0], y - p[1], z - p[2]
    above = dx * p[3] + dy * p[4] + dz * p[5]
    if abs(above) > p[7]:
        return False
    dx, dy, dz = dx - above * p[3], dy - above * p[4], dz - above * p[5]
    return bool(math.sqrt(dx * dx + dy * dy + dz * dz) <= p[6])
