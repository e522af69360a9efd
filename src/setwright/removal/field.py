"""The metal as three bundles of parallel rays: along X, along Y and along Z.

The box of the blank is divided into cells, a whole number on each axis, none larger than the pitch asked for. Each bundle has one
ray through each cell of its end face; the ray stands in the middle of the cell, aside by RAY_SHIFT_SHARE of it, so that it never
runs along a face of the blank nor along a wall or floor that a program writes in decimals. Each ray carries the sorted list of
intervals inside the metal, with float64 ends, and for each end the number of the motion that made it and the surface's normal.

Memory grows with the area of the faces and the number of surfaces a ray crosses: about 36 bytes a ray and interval.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused, LimitReached
from setwright.base.jit import kernel
from setwright.base.tolerance import RAY_SHIFT_SHARE, UNIT_VECTOR_ROUND_OFF
from setwright.geometry.bodies import BoxShape, CylinderShape, MeshShape
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.fill import Grid, Shape, inside_spans
from setwright.removal.volumes import Account, Volume, folds_between, told_by

__all__ = ["ACROSS", "BLANK", "MEMORY_LIMIT", "TILE", "Bundle", "Field", "Rays", "Tile", "bundle_of", "field_of"]

BLANK: Final = -1
"""The motion number of a surface that no motion made."""

MEMORY_LIMIT: Final = 2 * 2**30
"""Bytes a new field may take, unless the caller allows more."""

ACROSS: Final = ((1, 2), (0, 2), (0, 1))
"""For a bundle along X, Y, Z: the two axes across it, in the order of its ray numbers (first runs fastest)."""

TILE: Final = 32
"""Rays of a tile on each side."""

_BYTES_A_RAY = 36


@dataclass(frozen=True, slots=True)
class Tile:
    """A rectangle of rays of one bundle: rays u0 .. u0 + nu, v0 .. v0 + nv; ray number v * nu + u within it.

    count int32 (rays,); ends float64 (rays, room, 2) mm along the bundle's axis, ascending; ident int32 (rays, room, 2) number of
    the motion that made the end; normal int32 (rays, room, 2) packed outward normal (see normals). Rows beyond count are void.
    """

    u0: int
    v0: int
    nu: int
    nv: int
    count: NDArray[np.int32]
    ends: NDArray[np.float64]
    ident: NDArray[np.int32]
    normal: NDArray[np.int32]

    def holds(self, other: Tile) -> bool:
        """Whether a tile of the same rays holds the same intervals, made by the same motions."""
        mine, its = ((tile.count, tile.ends, tile.ident, tile.normal) for tile in (self, other))
        return bool(_same(*mine, *its))


@dataclass(frozen=True, slots=True)
class Rays:
    """The intervals of a whole bundle, ray after ray: ray int64 (n,) = v * (rays in u) + u; ends float64 (n, 2) mm; ident and
    normal int32 (n, 2)."""

    ray: NDArray[np.int64]
    ends: NDArray[np.float64]
    ident: NDArray[np.int32]
    normal: NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Bundle:
    """All rays along one axis, in tiles (v slowest)."""

    axis: int
    nu: int
    nv: int
    tiles: tuple[Tile, ...]

    def rays(self) -> Rays:
        """Its intervals in the order of the rays."""
        count = np.zeros((self.nv, self.nu), np.int64)
        for tile in self.tiles:
            count[tile.v0 : tile.v0 + tile.nv, tile.u0 : tile.u0 + tile.nu] = tile.count.reshape(tile.nv, tile.nu)
        first = np.concatenate([[0], np.cumsum(count)])
        n = int(first[-1])
        rays = Rays(np.repeat(np.arange(count.size), count.ravel()), np.empty((n, 2)), np.empty((n, 2), np.int32),
                    np.empty((n, 2), np.int32))  # fmt: skip
        for tile in self.tiles:
            _spread(tile.count, tile.ends, tile.ident, tile.normal, first, tile.v0 * self.nu + tile.u0, tile.nu, self.nu, rays.ends,
                    rays.ident, rays.normal)  # fmt: skip
        return rays

    @property
    def length(self) -> float:
        """Total length of its intervals, mm; summed tile after tile."""
        ways = (np.where(np.arange(t.ends.shape[1]) < t.count[:, None], t.ends[:, :, 1] - t.ends[:, :, 0], 0.0) for t in self.tiles)
        return float(sum(float(way.sum()) for way in ways))

    def account(self, grid: Grid) -> Account:
        """What it says of the metal's volume; summed tile after tile."""
        axis, (u, v) = self.axis, ACROSS[self.axis]
        pitch, low, high = grid.pitch.tolist(), float(grid.low[self.axis]), float(grid.high[self.axis])
        told = [told_by(t.count, t.ends, t.normal, axis, low, high, float(grid.first[axis]), pitch[axis]) for t in self.tiles]
        length, points, beyond, area, held = (float(sum(column)) for column in zip(*told, strict=True))
        face, folds, box = pitch[u] * pitch[v], 0.0, np.array([low, high])
        for a, b, place, across in self._neighbours():
            found = folds_between(a.count, a.ends, a.normal, b.count, b.ends, b.normal, np.array(place), axis, across, box,
                                  pitch[across], pitch[axis])  # fmt: skip
            folds += found * (pitch[across] ** 2 + pitch[axis] ** 2) / 2 * pitch[u + v - across]
        return Account(length * face, points * face * pitch[axis], beyond * face, folds, area * face, held * face)

    def _neighbours(self) -> Iterator[tuple[Tile, Tile, tuple[int, ...], int]]:
        """Tiles whose rays stand side by side along an axis: two or one and itself, which rays (see folds_between), axis."""
        (u, v), wide = ACROSS[self.axis], -(-self.nu // TILE)
        for k, tile in enumerate(self.tiles):
            yield tile, tile, (0, 1, tile.nv, tile.nu - 1, tile.nu, tile.nu), u
            yield tile, tile, (0, tile.nu, tile.nv - 1, tile.nu, tile.nu, tile.nu), v
            if tile.u0 + tile.nu < self.nu:
                after = self.tiles[k + 1]
                yield tile, after, (tile.nu - 1, 0, tile.nv, 1, tile.nu, after.nu), u
            if tile.v0 + tile.nv < self.nv:
                after = self.tiles[k + wide]
                yield tile, after, (tile.nu * (tile.nv - 1), 0, 1, tile.nu, tile.nu, after.nu), v


@dataclass(frozen=True, slots=True)
class Field:
    """The metal at one moment. Immutable: what changes it returns a new one that shares the untouched tiles.

    `slack` (mm): how far a surface may lie beside the programmed one because chords stood for arcs; 0 if none did.
    """

    grid: Grid
    bundles: tuple[Bundle, Bundle, Bundle]
    slack: float = 0.0

    def volume(self) -> Volume:
        """Volume of the metal."""
        return Volume.from_accounts([bundle.account(self.grid) for bundle in self.bundles], self.slack)

    @property
    def memory(self) -> int:
        """Bytes held by the rays."""
        return sum(t.count.nbytes + t.ends.nbytes + t.ident.nbytes + t.normal.nbytes for b in self.bundles for t in b.tiles)

    def points(self, axis: int) -> tuple[NDArray[np.float64], Rays]:
        """All ray ends of the bundle along `axis` as points float64 (n, 2, 3), mm, with the intervals they belong to."""
        rays = self.bundles[axis].rays()
        u, v = ACROSS[axis]
        points = np.empty((rays.ray.size, 2, 3))
        points[:, :, u] = (self.grid.first[u] + self.grid.pitch[u] * (rays.ray % self.bundles[axis].nu))[:, None]
        points[:, :, v] = (self.grid.first[v] + self.grid.pitch[v] * (rays.ray // self.bundles[axis].nu))[:, None]
        points[:, :, axis] = rays.ends
        return points, rays


def field_of(
    shapes: Shape | Sequence[Shape], *, pitch_mm: float, low: Sequence[float] | None = None, high: Sequence[float] | None = None,
    least_rays: int = 1, memory_limit: int = MEMORY_LIMIT,
) -> Field:  # fmt: skip
    """The union of solids (boxes, upright cylinders, closed meshes) as a field with rays at most `pitch_mm` apart.

    `low`, `high` (mm) widen the box of rays beyond the solids; `least_rays` is the least number on each axis. Raises
    InputRefused for a pitch or a solid that cannot be used (no
    volume, not finite, a mesh that is not closed), LimitReached if the rays would take more than `memory_limit` bytes.
    """
    solids = [shapes] if isinstance(shapes, BoxShape | CylinderShape | MeshShape) else list(shapes)
    grid = _grid(solids, pitch_mm, low, high, least_rays, memory_limit)
    bundles = tuple(_filled(solids, axis, grid) for axis in range(3))
    return Field(grid, (bundles[0], bundles[1], bundles[2]))


def _grid(
    solids: Sequence[Shape], pitch_mm: float, low: Sequence[float] | None, high: Sequence[float] | None, least_rays: int,
    memory_limit: int,
) -> Grid:  # fmt: skip
    if not (math.isfinite(pitch_mm) and pitch_mm > 0):
        raise InputRefused.because(f"a ray pitch of {pitch_mm} mm cannot be used", remedy="give a pitch above 0, as 0.2 mm")
    if not solids:
        raise InputRefused.because("there is no blank", remedy="give the blank as a box, a cylinder or a closed mesh")
    corners = [_corners(solid) for solid in solids]
    if low is not None and high is not None:
        corners.append((np.asarray(low, np.float64), np.asarray(high, np.float64)))
    least, greatest = np.min([c[0] for c in corners], axis=0), np.max([c[1] for c in corners], axis=0)
    size = greatest - least
    with np.errstate(over="ignore"):
        counts = np.maximum(np.ceil(size / pitch_mm * (1 - UNIT_VECTOR_ROUND_OFF)), max(1, least_rays))
        rays = float(counts[0] * counts[1] + counts[1] * counts[2] + counts[2] * counts[0])
    if rays * _BYTES_A_RAY > memory_limit:
        area = float(size[0] * size[1] + size[1] * size[2] + size[2] * size[0])
        fits = math.sqrt(area * _BYTES_A_RAY / memory_limit)
        raise LimitReached.because(
            f"rays {pitch_mm} mm apart would take {rays * _BYTES_A_RAY / 2**30:.1f} GiB",
            why=f"the limit is {memory_limit / 2**30:.1f} GiB",
            remedy=f"use a pitch of {math.ceil(fits * 1000) / 1000} mm or more, or allow more memory",
        )
    count = counts.astype(np.int64)
    pitch = size / count
    return Grid(least, greatest, least + pitch * (0.5 + RAY_SHIFT_SHARE), pitch, count)


def _corners(solid: Shape) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if isinstance(solid, BoxShape):
        low, high = np.array(solid.low, np.float64), np.array(solid.high, np.float64)
    elif isinstance(solid, CylinderShape):
        (x, y), r = solid.centre, solid.radius
        low, high = np.array([x - r, y - r, solid.bottom]), np.array([x + r, y + r, solid.top])
    else:
        points = solid.triangles.reshape(-1, 3)
        if points.size == 0:
            raise InputRefused.because("the mesh is empty", remedy="export the body, not only its outline")
        low, high = points.min(axis=0), points.max(axis=0)
    if not (np.isfinite(low).all() and np.isfinite(high).all()):
        raise InputRefused.because("the blank has a size that is not a number", remedy="give every size as a number")
    if not (high > low).all():
        size = " x ".join(f"{value:g}" for value in high - low)
        raise InputRefused.because(f"the blank measures {size} mm", why="it has no volume", remedy="give three sizes above 0")
    return low, high


def _filled(solids: Sequence[Shape], axis: int, grid: Grid) -> Bundle:
    ray, ends, normal = inside_spans(solids, axis, grid)
    u, v = ACROSS[axis]
    nu, nv = int(grid.count[u]), int(grid.count[v])
    return bundle_of(Rays(ray, ends, np.full(ends.shape, BLANK, np.int32), normal), axis=axis, nu=nu, nv=nv)


def bundle_of(rays: Rays, *, axis: int, nu: int, nv: int) -> Bundle:
    """A bundle of nu x nv rays with the given intervals (ascending in ray, then along it)."""
    first = np.searchsorted(rays.ray, np.arange(nu * nv + 1)).astype(np.int64)
    tiles = []
    for v0 in range(0, nv, TILE):
        for u0 in range(0, nu, TILE):
            tiles.append(_tile(rays, first, u0, v0, min(TILE, nu - u0), min(TILE, nv - v0), nu))
    return Bundle(axis, nu, nv, tuple(tiles))


def _tile(rays: Rays, first: NDArray[np.int64], u0: int, v0: int, nu: int, nv: int, width: int) -> Tile:
    number = ((v0 + np.arange(nv))[:, None] * width + u0 + np.arange(nu)).ravel()
    count = (first[number + 1] - first[number]).astype(np.int32)
    room = max(1, int(count.max()))
    within = np.arange(room)
    held = within < count[:, None]
    source = (first[number][:, None] + within)[held]
    ends = np.zeros((number.size, room, 2))
    ident, normal = np.zeros(ends.shape, np.int32), np.zeros(ends.shape, np.int32)
    ends[held], ident[held], normal[held] = rays.ends[source], rays.ident[source], rays.normal[source]
    return Tile(u0, v0, nu, nv, count, ends, ident, normal)


@kernel
def _spread(
    count: Ints, ends: Floats, ident: Ints, normal: Ints, first: Longs, begin: int, nu: int, width: int, all_ends: Floats,
    all_ident: Ints, all_normal: Ints
) -> None:
    """Write a tile's intervals where those of its rays stand among all; `begin`: number of its first ray in the bundle, `width`:
    rays in u of the bundle."""
    for ray in range(count.size):
        place = first[begin + ray // nu * width + ray % nu]
        for i in range(count[ray]):
            for side in range(2):
                all_ends[place + i, side], all_ident[place + i, side] = ends[ray, i, side], ident[ray, i, side]
                all_normal[place + i, side] = normal[ray, i, side]


@kernel
def _same(
    count: Ints, ends: Floats, ident: Ints, normal: Ints, count_b: Ints, ends_b: Floats, ident_b: Ints, normal_b: Ints
) -> bool:
    """Whether two tiles of the same rays hold the same intervals, made by the same motions."""
    for row in range(count.shape[0]):
        if count[row] != count_b[row]:
            return False
        for k in range(count[row]):
            for side in range(2):
                if (ends[row, k, side] != ends_b[row, k, side] or ident[row, k, side] != ident_b[row, k, side]
                        or normal[row, k, side] != normal_b[row, k, side]):  # fmt: skip
                    return False
    return True
