"""The faces of a part as the ray ends have them: flat, round and conical patches, found without being told where to look.

Ends that one motion made belong together, so do ends with one normal in one plane, and ends whose normals meet in one upright axis.
What a plane, a cylinder or a cone is fitted through are the ends' places alone, which lie on the programmed surface to round-off;
the normals, known to 1e-4 rad, only say which ends belong together. What is curved otherwise or narrower than two rays is left.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import label
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from setwright.base.tolerance import (
    COORDINATE_ROUND_OFF_MM,
    FACE_CHORDS_MM,
    FACE_LEVEL_MM,
    FACE_ROUND_MM,
    FACE_UPRIGHT,
    NORMAL_ROUND_OFF,
    ROW_SHARE,
)
from setwright.removal.field import ACROSS, BLANK
from setwright.removal.fill import Grid
from setwright.removal.ready import Ends, Ready
from setwright.removal.regions import BoxRegion

__all__ = ["Cone", "FlatPatch", "Patches", "RoundPatch", "patches_of"]

_Array = NDArray[np.float64]
_Flags = NDArray[np.bool_]
_Rows = NDArray[Any]

_NORMAL_RAD: Final = 4.0 * NORMAL_ROUND_OFF
"""Normals nearer than this are one: twice the error of two packed ones, and room for a direction drawn along a chord."""

_FEWEST: Final = 6
"""A face that fewer ends show is left to a finer pitch."""

_LEAST_ARC_RAD: Final = 0.35
"""Less of a circle (20 degrees) does not say where its middle is."""

_SQUARE: Final = 0.5  # a ray that meets a surface at less than 30 degrees tells little about where it is


@dataclass(frozen=True, slots=True)
class FlatPatch:
    """A flat face. `normal`: the way it looks, unit float64 (3,); `level`: of its plane along `normal`, mm; `ends` on it, mm² of
    `area`; `low`, `high`: the greatest box of rays on it without a gap, float64 (3,), for a face square to an axis; for a
    leaning one the box about its ends."""

    normal: _Array
    level: float
    ends: Ends = field(repr=False)
    area: float
    low: _Array
    high: _Array

    @property
    def square(self) -> bool:
        """Whether it looks along an axis."""
        return bool(np.abs(self.normal).max() == 1.0)


@dataclass(frozen=True, slots=True)
class RoundPatch:
    """An upright round face: `centre` (X, Y) and `diameter`, mm; `hole`: it looks at its axis; `arc`: the angles (rad,
    counter-clockwise from +X) between which it has ends, None all round; `low`, `high`: the heights (mm) between which it is whole;
    `form`: greatest less least radius, mm."""

    centre: tuple[float, float]
    diameter: float
    hole: bool
    arc: tuple[float, float] | None
    low: float
    high: float
    form: float
    ends: Ends = field(repr=False)
    area: float


@dataclass(frozen=True, slots=True)
class Cone:
    """An upright conical face: its axis (X, Y), mm; whole angle between its sides, rad; least and greatest diameter with ends, mm;
    `hole`: it looks at its axis."""

    centre: tuple[float, float]
    angle: float
    least: float
    greatest: float
    hole: bool
    ends: Ends = field(repr=False)
    area: float


@dataclass(frozen=True, slots=True)
class Patches:
    """What was found, and mm² of what motions made (`area`) that is none of it (`left`); `highest`: where the part ends, mm."""

    flat: tuple[FlatPatch, ...]
    round: tuple[RoundPatch, ...]
    cones: tuple[Cone, ...]
    area: float
    left: Ends
    left_area: float
    highest: float


def patches_of(part: Ready, low: Sequence[float], high: Sequence[float]) -> Patches:
    """The faces that motions made between two corners (mm). Sizes and places are exact to the round-off of the ends; extents to a
    ray, inside the face. A face narrower than two rays is not found."""
    ends = part.ends_in(BoxRegion(low, high), squarely=_SQUARE)
    highest = float(ends.points[:, 2].max(initial=-np.inf))
    ends = ends.where(ends.ident != BLANK)
    area = _areas(part.grid, ends)
    search = _Search(part.grid, ends, area, np.ones(ends.axis.size, np.bool_))
    flat = [*search.square(), *search.leaning()]
    rounds, cones = search.rounds(), search.cones()
    left = search.free
    return Patches(tuple(flat), tuple(rounds), tuple(cones), float(area.sum()), ends.where(left), float(area[left].sum()),
                   highest)  # fmt: skip


def _areas(grid: Grid, ends: Ends) -> _Array:
    """mm² each end stands for: its ray's cell on the slanting face, shared with the bundles that meet it squarely."""
    cells = np.array([float(grid.pitch[u] * grid.pitch[v]) for u, v in ACROSS])
    well = np.where(np.abs(ends.normals) >= _SQUARE, ends.normals**2, 0.0).sum(axis=1)
    return np.asarray(cells[ends.axis] * np.abs(ends.normals[np.arange(ends.axis.size), ends.axis]) / well)


@dataclass(slots=True)
class _Search:
    """Takes faces out of the ends one after the other; `free`: the ends that no face has yet, bool (n,)."""

    grid: Grid
    ends: Ends
    area: _Array
    free: _Flags

    def square(self) -> Iterator[FlatPatch]:
        """Faces square to an axis: ends at one level, each beside the next, at least two rays wide."""
        for axis in range(3):
            for side in (-1.0, 1.0):
                mine = np.flatnonzero((self.ends.axis == axis) & (self.ends.normals[:, axis] == side))
                for rows in _runs(mine, self.ends.points[mine, axis], FACE_LEVEL_MM):
                    yield from self._at_level(rows, axis, side)

    def _at_level(self, rows: _Rows, axis: int, side: float) -> Iterator[FlatPatch]:
        u, v = ACROSS[axis]
        at = [np.rint((self.ends.points[rows, c] - self.grid.first[c]) / self.grid.pitch[c]).astype(np.int64) for c in (u, v)]
        first = [int(one.min()) for one in at]
        there = np.zeros((int(at[1].max()) - first[1] + 1, int(at[0].max()) - first[0] + 1), np.bool_)
        there[at[1] - first[1], at[0] - first[0]] = True
        numbers, _ = label(there)
        mine = numbers[at[1] - first[1], at[0] - first[0]]
        for number in np.unique(mine).tolist():
            box = _greatest_box(numbers == number)
            if box[1] - box[0] < 2 or box[3] - box[2] < 2:
                continue
            held = rows[mine == number]
            normal, low, high = np.zeros(3), np.zeros(3), np.zeros(3)
            normal[axis] = side
            low[axis] = high[axis] = level = float(np.median(self.ends.points[held, axis]))
            for c, begin, end, shift in ((u, box[2], box[3], first[0]), (v, box[0], box[1], first[1])):
                low[c] = self.grid.first[c] + self.grid.pitch[c] * (shift + begin)
                high[c] = self.grid.first[c] + self.grid.pitch[c] * (shift + end - 1)
            self.free[held] = False
            yield FlatPatch(normal, side * level, self.ends.where(held), float(self.area[held].sum()), low, high)

    def leaning(self) -> list[FlatPatch]:
        """Flat faces that look along no axis: ends of one motion with one normal, more than a line of them; those that lie in one
        plane together."""
        found: list[_Rows] = []
        for rows in self._by_motion():
            found += _peeled(rows, self._plane)
        planes = [(rows, *_plane_through(self.ends.points[rows], self.ends.normals[rows])) for rows in found]
        patches = []
        for group in _merged(planes, lambda a, b: _coplanar(a, b, self.ends.points)):
            rows = np.concatenate([planes[one][0] for one in group])
            normal, level = _plane_through(self.ends.points[rows], self.ends.normals[rows])
            self.free[rows] = False
            points = self.ends.points[rows]
            patches.append(FlatPatch(normal, level, self.ends.where(rows), float(self.area[rows].sum()), points.min(axis=0),
                                     points.max(axis=0)))  # fmt: skip
        return patches

    def _plane(self, rows: _Rows, seed: int) -> _Rows:
        """The rows in one plane with `seed`; none where they make no more than a line."""
        points, normals = self.ends.points[rows], self.ends.normals[rows]
        at, normal = self.ends.points[seed], self.ends.normals[seed]
        off = points - at
        near = np.linalg.norm(normals - normal, axis=1) <= _NORMAL_RAD
        near &= np.abs(off @ normal) <= FACE_LEVEL_MM + _NORMAL_RAD * np.linalg.norm(off, axis=1)
        mine: _Rows = rows[near]
        if mine.size < _FEWEST or not _wide(self.ends.points[mine], float(self.grid.pitch.max())):
            return mine[:0]
        fitted, level = _plane_through(self.ends.points[mine], self.ends.normals[mine])
        flat = np.abs(self.ends.points[mine] @ fitted - level) <= FACE_LEVEL_MM
        mine = mine[flat]
        return mine if mine.size >= _FEWEST else mine[:0]

    def rounds(self) -> list[RoundPatch]:
        """Upright round faces: of single motions first, then of what is left, where a program wrote an arc as short lines."""
        upright = np.abs(self.ends.normals[:, 2]) <= FACE_UPRIGHT
        found: list[_Rows] = []
        for rows in self._by_motion(upright):
            found += _peeled(rows, lambda mine, seed: self._circle(mine, seed, FACE_ROUND_MM))
        taken = np.concatenate([*found, np.zeros(0, np.intp)])
        self.free[taken] = False
        for rows in self._by_neighbours(upright):
            found += _peeled(rows, lambda mine, seed: self._circle(mine, seed, FACE_CHORDS_MM))
        circles = [(rows, *_circle_through(self.ends.points[rows])) for rows in found]
        hole = [_looks_in(self.ends, rows, centre) for rows, centre, _ in circles]
        patches: list[RoundPatch] = []
        for group in _merged(list(range(len(circles))), lambda a, b: hole[a] == hole[b] and _concentric(circles[a], circles[b])):
            rows = np.concatenate([circles[one][0] for one in group])
            self.free[rows] = False
            patches += self._round(rows, hole=hole[group[0]])
        return patches

    def _circle(self, rows: _Rows, seed: int, within: float) -> _Rows:
        """The rows on one upright cylinder with `seed`; none where they show too little of it."""
        xy, normals = self.ends.points[rows, :2], _level(self.ends.normals[rows])
        mine = int(np.flatnonzero(rows == seed)[0])
        turn = normals - normals[mine]
        apart = (turn**2).sum(axis=1)
        best: _Rows = rows[:0]
        for least, most in ((0.1, 0.5), (0.5, 2.0), (2.0, 4.1)):
            for other in np.flatnonzero((apart >= least) & (apart < most))[:: max(1, rows.size // 40)][:6].tolist():
                reach = -float((xy[other] - xy[mine]) @ turn[other]) / float(apart[other])
                centre = xy[mine] + reach * normals[mine]
                off = xy + reach * normals - centre
                near = (np.abs(np.hypot(*(xy - centre).T) - abs(reach)) <= within + abs(reach) * _NORMAL_RAD) & (
                    np.hypot(*off.T) <= within + abs(reach) * (_NORMAL_RAD if within == FACE_ROUND_MM else 0.1))  # fmt: skip
                if near.sum() > best.size:
                    best = rows[near]
        if best.size < _FEWEST:
            return best[:0]
        centre, radius = _circle_through(self.ends.points[best])
        best = best[np.abs(np.hypot(*(self.ends.points[best, :2] - centre).T) - radius) <= within]
        return best if best.size >= _FEWEST and _turned(self.ends.points[best, :2] - centre) >= _LEAST_ARC_RAD else best[:0]

    def _round(self, rows: _Rows, *, hole: bool) -> Iterator[RoundPatch]:
        """One face for each stretch of height in which a cylinder is there."""
        pitch = float(self.grid.pitch.max())
        for part in _runs(rows, self.ends.points[rows, 2], 1.5 * pitch):
            if part.size < _FEWEST:
                continue
            centre, radius = _circle_through(self.ends.points[part])
            off = self.ends.points[part, :2] - centre
            low, high = _whole_heights(self.ends.points[part, 2], pitch)
            away = np.hypot(*off.T)
            yield RoundPatch((float(centre[0]), float(centre[1])), 2.0 * radius, hole, _arc(off, radius, pitch), low, high,
                             float(np.ptp(away)), self.ends.where(part), float(self.area[part].sum()))  # fmt: skip

    def cones(self) -> list[Cone]:
        """Upright conical faces: ends of motions that lean alike and whose normals pass one axis."""
        steep = np.abs(self.ends.normals[:, 2])
        found: list[tuple[_Rows, _Array]] = []
        for rows in self._by_motion((steep > FACE_UPRIGHT) & (steep < 1.0 - FACE_UPRIGHT)):
            for alike in _runs(rows, self.ends.normals[rows, 2], _NORMAL_RAD):
                for mine in self._neighbours(alike):
                    fitted = _cone_through(self.ends, mine)
                    if fitted is not None:
                        found.append((mine, fitted))
        cones = []
        for group in _merged(found, lambda a, b: bool(np.abs(a[1] - b[1]).max() <= FACE_CHORDS_MM)):
            rows = np.concatenate([found[one][0] for one in group])
            fitted = _cone_through(self.ends, rows) if len(group) > 1 else None
            cx, cy, at_zero, widening = (found[group[0]][1] if fitted is None else fitted).tolist()
            self.free[rows] = False
            across = 2.0 * np.abs(at_zero + widening * self.ends.points[rows, 2])
            hole = _looks_in(self.ends, rows, np.array([cx, cy]))
            cones.append(Cone((cx, cy), 2.0 * math.atan(abs(widening)), float(across.min()), float(across.max()), hole,
                              self.ends.where(rows), float(self.area[rows].sum())))  # fmt: skip
        return cones

    def _by_motion(self, chosen: _Flags | None = None) -> Iterator[_Rows]:
        """The free ends of each motion that has enough of them."""
        rows = np.flatnonzero(self.free if chosen is None else self.free & chosen)
        rows = rows[np.argsort(self.ends.ident[rows], kind="stable")]
        for one in np.split(rows, np.flatnonzero(np.diff(self.ends.ident[rows])) + 1):
            if one.size >= _FEWEST:
                yield one

    def _by_neighbours(self, chosen: _Flags) -> Iterator[_Rows]:
        yield from self._neighbours(np.flatnonzero(self.free & chosen))

    def _neighbours(self, rows: _Rows) -> Iterator[_Rows]:
        """Ends each of which lies beside the next, enough of them."""
        if rows.size < _FEWEST:
            return
        pairs = cKDTree(self.ends.points[rows]).query_pairs(1.8 * float(self.grid.pitch.max()), output_type="ndarray")
        joined = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(rows.size, rows.size))
        number = connected_components(joined, directed=False)[1]
        for one in np.unique(number).tolist():
            if (number == one).sum() >= _FEWEST:
                yield rows[number == one]


def _peeled(rows: _Rows, fit: Callable[[_Rows, int], _Rows]) -> Iterator[_Rows]:
    """Faces taken out of some ends one after the other, each grown from the first end that none has yet."""
    tries = 0
    while rows.size >= _FEWEST and tries < 60:
        found = fit(rows, int(rows[0]))
        tries += 1
        if found.size:
            rows = np.setdiff1d(rows, found, assume_unique=True)
            yield found
        else:
            rows = np.roll(rows[1:], -(rows.size // 7))


def _runs(rows: _Rows, values: _Array, gap: float) -> Iterator[_Rows]:
    """Rows split where the values, in order, lie more than `gap` apart."""
    order = np.argsort(values, kind="stable")
    yield from (one for one in np.split(rows[order], np.flatnonzero(np.diff(values[order]) > gap) + 1) if one.size)


def _merged(found: Sequence[object], same: Callable[..., bool]) -> Iterator[list[int]]:
    """Numbers of what is the same as the first of its group."""
    groups: list[list[int]] = []
    for number, one in enumerate(found):
        group = next((held for held in groups if same(found[held[0]], one)), None)
        if group is None:
            groups.append([number])
        else:
            group.append(number)
    yield from groups


def _greatest_box(there: _Flags) -> tuple[int, int, int, int]:
    """The greatest full rectangle of a grid: rows from, to, columns from, to (to: one beyond)."""
    best, box = 0, (0, 0, 0, 0)
    heights = np.zeros(there.shape[1] + 1, np.int64)
    for row, line in enumerate(there):
        heights[:-1] = np.where(line, heights[:-1] + 1, 0)
        stack: list[tuple[int, int]] = []
        for column, height in enumerate(heights.tolist()):
            begin = column
            while stack and stack[-1][1] >= height:
                begin, held = stack.pop()
                if held * (column - begin) > best:
                    best, box = held * (column - begin), (row + 1 - held, row + 1, begin, column)
            stack.append((begin, height))
    return box


def _wide(points: _Array, pitch: float) -> bool:
    """Whether points spread in two directions, not along one line only."""
    centred = points - points.mean(axis=0)
    _, sizes, _ = np.linalg.svd(centred, full_matrices=False)
    return bool(sizes[1] / np.sqrt(len(points)) >= 0.4 * pitch)


def _plane_through(points: _Array, normals: _Array) -> tuple[_Array, float]:
    """Unit normal and level of the plane of least squares of distances, looking as the ends do."""
    middle = points.mean(axis=0)
    normal = np.linalg.svd(points - middle, full_matrices=False)[2][2]
    normal = normal if normal @ normals.mean(axis=0) > 0.0 else -normal
    return normal, float(middle @ normal)


def _coplanar(a: tuple[_Rows, _Array, float], b: tuple[_Rows, _Array, float], points: _Array) -> bool:
    alike = np.linalg.norm(a[1] - b[1]) <= _NORMAL_RAD
    return bool(alike and np.abs(points[b[0]] @ a[1] - a[2]).max() <= FACE_CHORDS_MM)


def _circle_through(points: _Array) -> tuple[_Array, float]:
    """Centre (X, Y) and radius of the circle of least squares of distances through points seen from above."""
    xy = points[:, :2]
    middle = xy.mean(axis=0)
    off = xy - middle
    rows = np.column_stack([2.0 * off, np.ones(len(off))])
    x, y, rest = np.linalg.lstsq(rows, (off**2).sum(axis=1), rcond=None)[0].tolist()
    centre, radius = np.array([x, y]), float(np.sqrt(max(rest + x * x + y * y, 0.0)))
    for _ in range(8):
        way = off - centre
        far = np.hypot(*way.T)
        step = np.linalg.lstsq(np.column_stack([way / far[:, None], np.ones(len(far))]), far - radius, rcond=None)[0]
        centre, radius = centre + step[:2], radius + float(step[2])
        if np.abs(step).max() <= COORDINATE_ROUND_OFF_MM:
            break
    return middle + centre, radius


def _concentric(a: tuple[_Rows, _Array, float], b: tuple[_Rows, _Array, float]) -> bool:
    return bool(np.hypot(*(a[1] - b[1])) <= FACE_ROUND_MM and abs(a[2] - b[2]) <= FACE_ROUND_MM)


def _cone_through(ends: Ends, rows: _Rows) -> _Array | None:
    """Axis (X, Y), radius at Z0 and its growth along Z of the cone through ends whose normals pass its axis; radii positive where
    it looks at its axis. None where the ends lie on none, or show too little of it."""
    level, z = _level(ends.normals[rows]), ends.points[rows, 2]
    if _turned(-level) < _LEAST_ARC_RAD or np.ptp(z) <= FACE_LEVEL_MM:
        return None
    xy = ends.points[rows, :2]
    ones, none = np.ones(z.size), np.zeros(z.size)
    matrix = np.concatenate([np.column_stack([ones, none, -level[:, 0], -z * level[:, 0]]),
                             np.column_stack([none, ones, -level[:, 1], -z * level[:, 1]])])  # fmt: skip
    found = np.linalg.lstsq(matrix, np.concatenate([xy[:, 0], xy[:, 1]]), rcond=None)[0]
    radius = found[2] + found[3] * z
    away = np.abs(np.hypot(*(xy - found[:2]).T) - np.abs(radius))
    return found if away.max() <= FACE_CHORDS_MM and abs(found[3]) > FACE_UPRIGHT else None


def _level(normals: _Array) -> _Array:
    """The directions seen from above, unit."""
    return np.asarray(normals[:, :2] / np.hypot(normals[:, 0], normals[:, 1])[:, None])


def _looks_in(ends: Ends, rows: _Rows, centre: _Array) -> bool:
    return bool(((ends.points[rows, :2] - centre) * ends.normals[rows, :2]).sum() < 0.0)


def _turned(off: _Array) -> float:
    """How much of a circle points about its middle show, rad: a full turn less the widest gap."""
    angles = np.sort(np.arctan2(off[:, 1], off[:, 0]))
    return float(2.0 * np.pi - np.diff(angles, append=angles[0] + 2.0 * np.pi).max())


def _arc(off: _Array, radius: float, pitch: float) -> tuple[float, float] | None:
    """The angles between which points about a middle lie; None where they leave no gap wider than three rays."""
    angles = np.sort(np.arctan2(off[:, 1], off[:, 0]))
    gaps = np.diff(angles, append=angles[0] + 2.0 * np.pi)
    widest = int(gaps.argmax())
    if gaps[widest] * radius <= 3.0 * pitch or gaps[widest] <= _LEAST_ARC_RAD / 2.0:
        return None
    return float(angles[(widest + 1) % angles.size]), float(angles[widest])


def _whole_heights(z: _Array, pitch: float) -> tuple[float, float]:
    """The heights between which a round face is whole: the longest stretch of rows of ends that hold nearly as many as most do."""
    levels, count = np.unique(np.rint(z / (ROW_SHARE * pitch)), return_counts=True)
    full = count >= 0.95 * np.median(count)
    bounds = np.flatnonzero(np.diff(np.concatenate([[False], full, [False]]).astype(np.int8)))
    begins, ends = bounds[::2], bounds[1::2]
    longest = int((ends - begins).argmax())
    return float(levels[begins[longest]] * ROW_SHARE * pitch), float(levels[ends[longest] - 1] * ROW_SHARE * pitch)
