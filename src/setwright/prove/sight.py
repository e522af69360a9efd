"""Faces of the drawing, looked at on the simulated part: every ray through a stated extent, and where it meets the face.

A ray meets a stated face at a place, and stands for a piece of its area: the rays' cell, larger where the ray meets it aslant. Rays
of two bundles that meet the same piece share it. The ray's end nearest to the place, within REACH_MM and facing as stated, says how
far the metal stands above the stated face there; a ray without such an end says that the face is not there. What no ray passes, as
it is stated beyond the blank, is not there either. What another stated face or the drawing itself takes out of a face is no part of
it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused, Problem
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.base.units import format_share, format_size
from setwright.kit.station import Kit
from setwright.model.job import BOX_FACES, Bore, Face, Opening
from setwright.prove.case import WHOLE_SHARE
from setwright.removal.field import ACROSS, BLANK, Field
from setwright.removal.fill import Grid
from setwright.removal.ready import Ends, Ready, made_ready
from setwright.removal.regions import BandRegion, BoxRegion, DiscRegion, Region

__all__ = ["NEAREST_MM", "REACH_MM", "FaceAway", "Seen", "Sight", "facing_of", "is_round"]

REACH_MM: Final = 2.0
"""How far from its stated place a face is looked for, either way."""

NEAREST_MM: Final = 0.02
"""Nearer than this a face is at its place; and how far below its highest place the blank's own skin is one face."""

_BANDS: Final = (NEAREST_MM, 0.2, REACH_MM)
_AXES: Final = {"X": 0, "Y": 1, "Z": 2}
_LEAST_FACING: Final = 0.5  # a ray that meets a surface at less than 30 degrees tells little about where it is
_LEAST_AGREEING: Final = 0.94  # ends whose normal is within 20 degrees of the wanted one belong to a flat face
_LEAST_TOWARD: Final = 0.5  # 60 degrees for a round one, which may lie beside its place
_MOST_UPRIGHT: Final = 1.0 - _LEAST_AGREEING

T = TypeVar("T")
_Array = NDArray[np.float64]
_Rays = NDArray[np.int64]
_Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Places:
    """Where rays meet a face as it is stated: bundle and ray, place and outward normal float64 (n, 3), mm² it stands for."""

    axis: _Rays
    u: _Rays
    v: _Rays
    points: _Array
    normals: _Array
    area: _Array

    @property
    def key(self) -> _Rays:
        """One number for each ray and side."""
        rows = np.arange(self.axis.size)
        return _keys(self.axis, self.u, self.v, self.normals[rows, self.axis])

    def where(self, chosen: _Flags) -> _Places:
        """The chosen ones."""
        return _Places(*(getattr(self, name)[chosen] for name in ("axis", "u", "v", "points", "normals", "area")))


@dataclass(frozen=True, slots=True)
class _Met:
    """Places where rays meet what nothing takes out of a face, the order of their keys, and the keys in that order; `outside`: mm²
    of the face that no ray passes."""

    places: _Places
    order: NDArray[np.intp]
    key: _Rays
    outside: float


@dataclass(frozen=True, slots=True)
class Seen:
    """A face as rays find it. `ends`: one for each ray that finds it, `away` float64 (n,) mm how far metal stands above the stated
    face there (negative: is missing), `weight` float64 (n,) mm² it stands for, `ray` int64 (n,) alike for two faces on one ray,
    `level` int64 (n,) the ray's height. Of all the stated `area` (mm²), `proud`: metal stands more than REACH_MM above it; `gone`:
    more than REACH_MM is missing; `outside`: it lies beyond the blank, where no ray passes, along each axis of
    `sticks_out` by so many mm of so many; what is none of these and not found leans or is curved there."""

    face: Face
    ends: Ends = field(repr=False)
    away: _Array = field(repr=False)
    weight: _Array = field(repr=False)
    ray: _Rays = field(repr=False)
    level: _Rays = field(repr=False)
    area: float
    proud: float
    gone: float
    outside: float = 0.0
    sticks_out: tuple[tuple[str, float, float], ...] = ()
    _known: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)

    def once(self, name: str, work: Callable[[], T]) -> T:
        """`work()`, which looks at nothing but these ends; remembered under `name`, for other parts with the same ends as well."""
        if name not in self._known:
            self._known[name] = work()
        known: T = self._known[name]
        return known

    @property
    def found(self) -> float:
        """Share of the stated area on which the face is found within REACH_MM."""
        return min(1.0, round(float(self.weight.sum()) / self.area, 9))  # the whole is 1, whatever the order of the sum

    @property
    def mean(self) -> float:
        """Mean of `away`, mm."""
        return float(self.away.mean())

    @property
    def lost(self) -> float:
        """Share of the stated area on which metal certainly stands before the face, or is missing behind it."""
        return (self.proud + self.gone + self.outside) / self.area

    def beyond(self, units: str) -> str:
        """ "10.0 of 100.0 mm lies beyond the blank"; nothing for a face within it."""
        per, unit = (25.4, "in") if units in ("in", "inch") else (1.0, "mm")
        places = 1 if unit == "mm" else 2
        told = [f"{out / per:.{places}f} of {of / per:.{places}f} {unit}" + f" along {axis}" * (len(self.sticks_out) > 1)
                for axis, out, of in self.sticks_out]  # fmt: skip
        return f"{' and '.join(told)} lie{'s' * (len(told) == 1)} beyond the blank" if self.outside > 0.0 else ""

    def share(self, chosen: _Flags) -> float:
        """Share of the stated area that the chosen ends stand for."""
        return float(self.weight[chosen].sum()) / self.area


class FaceAway(InputRefused):
    """No ray finds a face within reach of its place; `lost`: the share of its stated area on which metal stands in front of it or
    is missing behind it, `outside`: on which it lies beyond the blank; 0 for a face of the blank, whose extent nobody has
    stated."""

    def __init__(self, seen: Seen, *, stated: bool, units: str) -> None:
        self.lost, self.outside = (seen.lost, seen.outside / seen.area) if stated else (0.0, 0.0)
        ways = (("metal stands there", seen.proud), ("there is no metal", seen.gone), ("it lies beyond the blank", seen.outside))
        why = [what if area > WHOLE_SHARE * seen.area else f"{what} on {format_share(area / seen.area)} of it"
               for what, area in ways if area > (1.0 - WHOLE_SHARE) * seen.area]  # fmt: skip
        text = f"“{seen.face.name}” is not found within {format_size(REACH_MM, units)} of its place"
        super().__init__(Problem(text, " and ".join(why), "look where the face is stated to lie"))


@dataclass(slots=True)
class Sight:
    """One part of a setup as it is looked at; `shift` (mm, in W): its place beside the first one of a pallet."""

    kit: Kit
    part: Field | Ready
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
    _open: dict[str, tuple[_Hole, ...]] = field(default_factory=dict)

    def face(self, name: str) -> Face:
        """A face by its name: one the setup states, or one of the blank's six. Raises InputRefused with the known ones."""
        for face in self.kit.setup.face:
            if face.name == name:
                return face
        if name in BOX_FACES or name.removesuffix(" face") in BOX_FACES:
            return _box_face(name.removesuffix(" face"), self.kit)
        known = ", ".join(f"“{face.name}”" for face in self.kit.setup.face) or "none but the blank's six"
        raise InputRefused.because(f"no face is called “{name}”", why=f"the setup states {known}")

    def region(self, face: Face, reach: float = REACH_MM) -> Region:
        """Where a face lies, `reach` (mm) to either side of it."""
        stated, shift = _round_of(face), np.array(self.shift)
        if stated is not None:
            radius, centre = stated.diameter / 2, np.array(stated.centre) + shift[:2]
            bottom, top = sorted((stated.from_, stated.to))
            x, y = centre.tolist()
            return BandRegion((x, y), max(radius - reach, 0.0), radius + reach, bottom + self.shift[2], top + self.shift[2])
        if face.slope is not None:
            return DiscRegion((np.array(face.slope.at) + shift).tolist(), facing_of(face).tolist(), face.slope.across / 2, reach)
        low, high = _extent(face)
        facing = np.abs(facing_of(face)) * reach
        return BoxRegion((low + shift - facing).tolist(), (high + shift + facing).tolist())

    def seen(self, face: Face) -> Seen:
        """A face as the rays through its stated extent find it. Of the blank's own six faces, whose extent nobody states, what
        still stands of the skin is the face. Raises InputRefused if no ray passes, FaceAway if none finds it."""
        part, stated, holes = made_ready(self.part), face in self.kit.setup.face, self.holes(face)
        region, facing = self.region(face), tuple(facing_of(face).tolist())
        arc = None if (round_ := _round_of(face)) is None else round_.arc
        key = ("seen", face.name, region.packed, facing, face.bore is not None, arc, holes, stated)
        seen = part.once(key, _wider(region), lambda: self._look(part, face, region, key))
        if not seen.away.size:
            raise FaceAway(seen, stated=stated, units=self.kit.folder.units)
        return seen

    def _look(self, part: Ready, face: Face, region: Region, key: Hashable) -> Seen:
        met = part.once_for_rays(key, lambda: self._met(part.grid, face, region))
        stated = face in self.kit.setup.face
        if not met.order.size and not (stated and met.outside):
            raise InputRefused.because(f"no ray passes through “{face.name}”", why="it is narrower than the rays are apart",
                                       remedy="give a finer --pitch, or state more of the face")  # fmt: skip
        ends = part.ends_in(_wider(region)).where(slice(None) if met.order.size else slice(0))
        if stated:
            seen = _found(part, face, met, ends, region, REACH_MM, whole=True)
            beyond = self._sticks_out(part.grid, face) if met.outside else ()
            return replace(seen, area=seen.area + met.outside, outside=met.outside, sticks_out=beyond)
        ends = ends.where(ends.ident == BLANK)
        each = (_found(part, face, met, ends, region, reach, whole=False) for reach in _BANDS)
        found = next((seen for seen in each if seen.away.size), None)
        return found or _found(part, face, met, ends, region, REACH_MM, whole=True)

    def _met(self, grid: Grid, face: Face, region: Region) -> _Met:
        places = _places(grid, face, region)
        places = places.where(self.whole(face, places.points))
        order, outside = np.argsort(places.key), 0.0
        if self._sticks_out(grid, face):
            points, normals, area = _divided(face, self.region(face, 0.0), grid)
            missed = area * _missed(grid, points, normals)
            outside = float(missed[self.whole(face, points)].sum())
        return _Met(places, order, places.key[order], outside)

    def _sticks_out(self, grid: Grid, face: Face) -> tuple[tuple[str, float, float], ...]:
        """The axes along which a face is stated beyond the box of the rays, by how many mm, and of how many; not that along which a
        flat one looks."""
        low, high = self.region(face, 0.0).bounds()
        out = np.maximum(grid.low - low, 0.0) + np.maximum(high - grid.high, 0.0)
        out[np.abs(facing_of(face)) == 1.0] = 0.0
        return tuple((axis, min(by, of), of) for axis, by, of in zip("XYZ", out.tolist(), (high - low).tolist(), strict=True)
                     if by > SAME_PLACE_MM)  # fmt: skip

    def holes(self, face: Face) -> tuple[_Hole, ...]:
        """What is taken out of a face: by the drawing, and by other stated faces."""
        if face.name not in self._open:
            others = [hole for other in self.kit.setup.face if other is not face for hole in _taken(face, other)]
            self._open[face.name] = (*(_opening(one) for one in face.open), *others)
        return self._open[face.name]

    def whole(self, face: Face, points: _Array) -> _Flags:
        """Which points float64 (n, 3), mm, lie outside all that is taken out of a face."""
        inside = np.zeros(len(points), np.bool_)
        for hole in self.holes(face):
            inside |= hole.holds(points - np.array(self.shift))
        return ~inside


@dataclass(frozen=True, slots=True)
class _Hole:
    """A box from `low` to `high`, or the upright round that fills it in plan."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    round: bool

    def holds(self, points: _Array) -> _Flags:
        """Which points lie in it."""
        low, high = np.array(self.low), np.array(self.high)
        if self.round:
            centre, radius = (low[:2] + high[:2]) / 2, (high[0] - low[0]) / 2
            return np.asarray(np.hypot(*(points[:, :2] - centre).T) <= radius)
        return np.asarray(((points >= low) & (points <= high)).all(axis=1))


def is_round(face: Face) -> bool:
    """Whether a face is a bore or a boss."""
    return _round_of(face) is not None


def facing_of(face: Face) -> _Array:
    """Unit vector a flat or leaning face looks along, float64 (3,); nought for a round one."""
    if face.slope is not None:
        return np.asarray(np.array(face.slope.facing) / np.linalg.norm(face.slope.facing), np.float64)
    facing = np.zeros(3)
    if face.flat is not None:
        facing[_AXES[face.flat.facing[1]]] = 1.0 if face.flat.facing[0] == "+" else -1.0
    return facing


def _round_of(face: Face) -> Bore | None:
    return face.bore or face.boss


def _extent(face: Face) -> tuple[_Array, _Array]:
    """Least and greatest corner of a flat face."""
    if face.flat is None:
        raise AssertionError("a flat face is wanted")
    axis, half = _AXES[face.flat.facing[1]], np.zeros(3)
    half[[i for i in range(3) if i != axis]] = np.array(face.flat.size) / 2
    return np.array(face.flat.at) - half, np.array(face.flat.at) + half


def _box_face(name: str, kit: Kit) -> Face:
    low, high = kit.extent
    middle, size = (low + high) / 2, high - low
    axis, positive = BOX_FACES.index(name) // 2, BOX_FACES.index(name) % 2 == 1  # in the order left, right, front, back, ...
    at = middle.copy()
    at[axis] = high[axis] if positive else low[axis]
    across = [float(size[i]) for i in range(3) if i != axis]
    facing = f"{'+' if positive else '-'}{'XYZ'[axis]}"
    return Face.model_validate({"name": name, "flat": {"facing": facing, "at": at.tolist(), "size": across}, "made": False})


def _opening(one: Opening) -> _Hole:
    if one.corner is not None and one.size is not None:
        low, high = np.array(one.corner), np.array(one.corner) + np.array(one.size)
        return _Hole(_three(low), _three(high), round=False)
    if one.centre is None or one.diameter is None:
        raise AssertionError("an opening of no kind passed validation")
    return _disc(one.centre, one.diameter / 2)


def _disc(centre: Sequence[float], radius: float) -> _Hole:
    x, y = centre
    return _Hole((x - radius, y - radius, -math.inf), (x + radius, y + radius, math.inf), round=True)


def _taken(face: Face, other: Face) -> Iterator[_Hole]:
    """What another stated face takes out of a flat one: a bore that goes into the metal behind it, a boss that stands on it, and a
    smaller face that looks the same way from another level."""
    if face.flat is None:
        return
    axis, facing = _AXES[face.flat.facing[1]], facing_of(face)
    place, stated = face.flat.at[axis], _round_of(other)
    side = float(facing[axis])
    if stated is not None and axis == 2:
        ends = side * (np.array([stated.from_, stated.to]) - place)  # above the face: positive
        behind, before = ends.min() < -SAME_PLACE_MM, ends.min() >= -SAME_PLACE_MM and ends.max() > SAME_PLACE_MM
        if behind if other.bore is not None else before:
            yield _disc(stated.centre, stated.diameter / 2)
    elif other.flat is not None and other.flat.facing == face.flat.facing:
        smaller = math.prod(other.flat.size) < math.prod(face.flat.size)
        if smaller and abs(other.flat.at[axis] - place) > SAME_PLACE_MM:
            low, high = _extent(other)
            low[axis], high[axis] = -math.inf, math.inf
            yield _Hole(_three(low), _three(high), round=False)


def _found(part: Ready, face: Face, met: _Met, ends: Ends, region: Region, reach: float, *, whole: bool) -> Seen:
    places, rows = met.places, np.arange(ends.axis.size)
    u, v = _rays_of(ends, part.grid)
    mine = _keys(ends.axis, u, v, ends.normals[rows, ends.axis])
    at = np.minimum(np.searchsorted(met.key, mine), met.key.size - 1)
    place = met.order[at]
    away, agreeing = _above(region, ends, places.normals[place], hole=face.bore is not None)
    chosen = np.flatnonzero((met.key[at] == mine) & agreeing & (np.abs(away) <= reach))
    chosen = chosen[np.lexsort((np.abs(away[chosen]), place[chosen]))]
    chosen = chosen[np.diff(place[chosen], prepend=-1) > 0]  # the nearest of each ray
    held = place[chosen]
    missing = np.ones(met.key.size, np.bool_)
    missing[held] = False
    area = places.area if whole else places.area[held]
    proud, gone = _beyond(part, places.where(missing), reach, _depth(region)) if whole else (0.0, 0.0)
    taken = np.zeros(rows.size, np.bool_)
    taken[chosen] = True
    # in the order of the rays, so that a fit adds up the same way whatever lies around
    back = np.argsort(chosen)
    held = held[back]
    return Seen(face, ends.where(taken), away[taken], places.area[held], places.v[held] * _MANY + places.u[held], places.v[held],
                float(area.sum()), proud, gone)  # fmt: skip


def _depth(region: Region) -> float:
    """How far metal can be asked for in front of a face, mm: inside a round one not beyond its axis."""
    return (region.inner + region.outer) / 2 if isinstance(region, BandRegion) else math.inf


def _beyond(part: Ready, places: _Places, reach: float, depth: float) -> tuple[float, float]:
    """mm² of places where metal stands `reach` above them on their ray, and of others where it is missing `reach` below."""
    rows = np.arange(places.axis.size)
    slant = places.normals[rows, places.axis]
    along = places.points[rows, places.axis]
    above = part.metal_at(places.axis, places.u, places.v, along + np.minimum(reach / np.abs(slant), 0.9 * depth) * np.sign(slant))
    below = part.metal_at(places.axis, places.u, places.v, along - reach / slant)
    return float(places.area[above & below].sum()), float(places.area[~below].sum())


def _above(region: Region, ends: Ends, normals: _Array, *, hole: bool) -> tuple[_Array, _Flags]:
    """How far ends lie outside a stated face, and whether they face as it does; `normals`: the face's own at their places."""
    if isinstance(region, BandRegion):
        off = ends.points[:, :2] - np.array(region.centre)
        away = np.hypot(off[:, 0], off[:, 1]) - (region.outer - REACH_MM)
        facing = np.einsum("ij,ij->i", normals, ends.normals) >= _LEAST_TOWARD
        return (-away if hole else away), facing & (np.abs(ends.normals[:, 2]) <= _MOST_UPRIGHT)
    facing = np.einsum("ij,ij->i", normals, ends.normals) >= _LEAST_AGREEING
    middle = region.at if isinstance(region, DiscRegion) else (np.array(region.low) + np.array(region.high)) / 2
    return np.einsum("ij,ij->i", normals, ends.points - np.array(middle)), facing


def _wider(region: Region) -> Region:
    """The region with all ends that a ray through a leaning face can have within reach of it."""
    if not isinstance(region, DiscRegion):
        return region
    return DiscRegion(region.at, region.normal, region.radius + region.reach / _LEAST_FACING, region.reach)


_MANY: Final = 1 << 24


def _keys(axis: _Rays, u: _Rays, v: _Rays, facing: _Array) -> _Rays:
    return np.asarray(((2 * axis + (facing > 0.0)) * _MANY + v) * _MANY + u)


def _rays_of(ends: Ends, grid: Grid) -> tuple[_Rays, _Rays]:
    """The rays that ends lie on: their numbers in u and v."""
    across, rows = np.array(ACROSS)[ends.axis], np.arange(ends.axis.size)
    number = [np.rint((ends.points[rows, c] - grid.first[c]) / grid.pitch[c]).astype(np.int64) for c in across.T]
    return number[0], number[1]


def _places(grid: Grid, face: Face, region: Region) -> _Places:
    """Where the rays of all bundles that meet a stated face well enough meet it."""
    if isinstance(region, BandRegion):
        stated = _round_of(face)
        found = [_round_places(grid, axis, region, hole=face.bore is not None) for axis in (0, 1)]
        places = _joined(found)
        return places if stated is None or stated.arc is None else places.where(_on_arc(places.points, region, stated.arc))
    facing = facing_of(face)
    return _joined([_flat_places(grid, int(axis), region, facing) for axis in np.flatnonzero(np.abs(facing) >= _LEAST_FACING)])


def _joined(found: Sequence[_Places]) -> _Places:
    return _Places(*(np.concatenate([getattr(one, name) for one in found])
                     for name in ("axis", "u", "v", "points", "normals", "area")))  # fmt: skip


_FINE: Final = 48
"""Into so many places each way a stated extent is divided where it sticks out of the blank."""


def _divided(face: Face, region: Region, grid: Grid) -> tuple[_Array, _Array, _Array]:
    """A face as it is stated in small pieces, none of which the box of the rays cuts where it is flat: middles and outward normals
    float64 (n, 3), areas float64 (n,), mm and mm²."""
    low, high = region.bounds()
    if isinstance(region, BandRegion):
        turn = (np.arange(15 * _FINE) + 0.5) * (math.tau / (15 * _FINE))
        z, tall = _cells(low[2], high[2], grid, 2)
        normals = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(turn.size)])
        points = np.repeat(normals * region.outer + [*region.centre, 0.0], z.size, axis=0)
        points[:, 2] = np.tile(z, turn.size)
        area = np.tile(tall * (region.outer * math.tau / turn.size), turn.size)
        stated = _round_of(face)
        on = np.ones(area.size, np.bool_) if stated is None or stated.arc is None else _on_arc(points, region, stated.arc)
        return points[on], np.repeat(normals, z.size, axis=0)[on], area[on]
    facing = facing_of(face)
    if isinstance(region, DiscRegion):
        across = np.linalg.svd(facing[None, :])[2][1:]
        ring, turn = np.sqrt((np.arange(_FINE) + 0.5) / _FINE), (np.arange(8 * _FINE) + 0.5) * (math.tau / (8 * _FINE))
        plane = np.stack([np.outer(ring, np.cos(turn)).ravel(), np.outer(ring, np.sin(turn)).ravel()], axis=1)
        points = np.array(region.at) + region.radius * plane @ across
        return points, np.broadcast_to(facing, points.shape), np.full(len(points), math.pi * region.radius**2 / len(points))
    u, v = ACROSS[int(np.argmax(np.abs(facing)))]
    (pu, wide), (pv, tall) = _cells(low[u], high[u], grid, u), _cells(low[v], high[v], grid, v)
    points = np.tile((low + high) / 2, (pu.size * pv.size, 1))
    points[:, u], points[:, v] = np.repeat(pu, pv.size), np.tile(pv, pu.size)
    return points, np.broadcast_to(facing, points.shape), np.outer(wide, tall).ravel()


def _cells(low: float, high: float, grid: Grid, axis: int) -> tuple[_Array, _Array]:
    """A stretch along an axis, divided at the ends of the rays' box and each part again: middles and widths float64 (n,), mm."""
    edges = np.unique(np.clip([low, grid.low[axis], grid.high[axis], high], low, high))
    parts = [np.linspace(a, b, _FINE + 1) for a, b in itertools.pairwise(edges)]
    return np.concatenate([(part[1:] + part[:-1]) / 2 for part in parts]), np.concatenate([np.diff(part) for part in parts])


def _missed(grid: Grid, points: _Array, normals: _Array) -> _Array:
    """What share of pieces of a face at `points` no ray passes, float64 (n,), of those bundles that would meet them well."""
    well = np.where(np.abs(normals) >= _LEAST_FACING, normals**2, 0.0)
    beside = (points < grid.low) | (points > grid.high)
    past = np.stack([beside[:, ACROSS[axis]].any(axis=1) for axis in range(3)], axis=1)
    return np.asarray((well * past).sum(axis=1) / well.sum(axis=1))


def _window(grid: Grid, axis: int, low: _Array, high: _Array) -> tuple[_Rays, _Rays, _Array]:
    """The rays of a bundle that pass a box: their numbers, and points float64 (n, 3) that hold their place across it."""
    u, v = ACROSS[axis]
    first = np.maximum(np.ceil((low - grid.first) / grid.pitch), 0.0).astype(np.int64)
    last = np.minimum(np.floor((high - grid.first) / grid.pitch), grid.count - 1).astype(np.int64)
    rows, columns = np.meshgrid(np.arange(first[v], last[v] + 1), np.arange(first[u], last[u] + 1), indexing="ij")
    nu, nv = columns.ravel(), rows.ravel()
    points = np.zeros((nu.size, 3))
    points[:, u], points[:, v] = grid.first[u] + grid.pitch[u] * nu, grid.first[v] + grid.pitch[v] * nv
    return nu, nv, points


def _flat_places(grid: Grid, axis: int, region: BoxRegion | DiscRegion, facing: _Array) -> _Places:
    u, v, points = _window(grid, axis, *region.bounds())
    middle = np.array(region.at) if isinstance(region, DiscRegion) else (region.bounds()[0] + region.bounds()[1]) / 2
    points[:, axis] = middle[axis] + (middle - points) @ np.where(np.arange(3) == axis, 0.0, facing) / facing[axis]
    normals = np.broadcast_to(facing, points.shape)
    places = _Places(np.full(u.size, axis), u, v, points, normals, _areas(grid, axis, normals))
    if isinstance(region, DiscRegion):
        return places.where(np.linalg.norm(points - middle, axis=1) <= region.radius)
    return places


def _round_places(grid: Grid, axis: int, region: BandRegion, *, hole: bool) -> _Places:
    u, v, points = _window(grid, axis, *region.bounds())
    radius, other = region.outer - REACH_MM, 1 - axis
    beside = points[:, other] - region.centre[other]
    met = np.abs(beside) <= radius * math.sqrt(1.0 - _LEAST_FACING**2)
    u, v, points, beside = u[met], v[met], points[met], beside[met]
    half, sides = np.sqrt(radius**2 - beside**2), []
    for side in (-1.0, 1.0):
        at, normals = points.copy(), np.zeros(points.shape)
        at[:, axis] = region.centre[axis] + side * half
        normals[:, axis], normals[:, other] = side * half / radius, beside / radius
        normals *= -1.0 if hole else 1.0
        sides.append(_Places(np.full(u.size, axis), u, v, at, normals, _areas(grid, axis, normals)))
    return _joined(sides)


def _areas(grid: Grid, axis: int, normals: _Array) -> _Array:
    """What each ray of a bundle stands for, mm²: its cell on the slanting face, shared with the other bundles that meet it well."""
    cell = math.prod(float(grid.pitch[c]) for c in ACROSS[axis])
    well = np.where(np.abs(normals) >= _LEAST_FACING, normals**2, 0.0)
    return np.asarray(cell * np.abs(normals[:, axis]) / well.sum(axis=1))


def _on_arc(points: _Array, region: BandRegion, arc: tuple[float, float]) -> _Flags:
    turn = np.arctan2(points[:, 1] - region.centre[1], points[:, 0] - region.centre[0])
    return np.asarray((turn - arc[0]) % math.tau <= (arc[1] - arc[0]) % math.tau)


def _three(values: _Array) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return x, y, z
