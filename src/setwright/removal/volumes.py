"""Volume of the metal from its three bundles of rays, and a bound on its error that follows the error itself.

A bundle errs first of all where a wall or floor stands along its rays: by up to half a cell times its area. But the other bundles
know where that surface is, and all three pass the same lattice of points. So there is a second account of the metal, `best`: the
cells whose point is in metal, and for each end of a ray how far it lies beyond the last such cell, shared among the bundles by the
square of the normal's part along the ray. As those shares add up to one and the midpoint rule is exact for a plane, `best` is exact
for every plane piece of surface, however it lies. What remains is where the surface folds or bends between two rays, which their
ends and normals show: at most CREASE_SHARE of a cell for each radian (docs/notes/removal.md has the derivation). A body or a slot
that no ray meets is in neither account.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from setwright.base.jit import borrowed, kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, CREASE_SHARE, NORMAL_ROUND_OFF, RAY_SHIFT_SHARE
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.normals import unpacked

__all__ = ["Account", "Volume", "folds_between", "told_by"]

_QUARTER_TURN: Final = math.pi / 2
_EIGHTH_TURN: Final = math.pi / 4

_Here = tuple[float, float, int, int, float]  # low, high, axis, across, deep: see folds_between


@dataclass(frozen=True, slots=True)
class Account:
    """What one bundle says: `metal` mm³ along its rays; `points` mm³ of the cells whose point is in metal; `beyond` mm³ of metal
    beyond them, its share; `folds` mm³ by which that may be wrong; `area` mm² of surface, its share; `faces` mm² of cells' faces,
    one for each interval."""

    metal: float
    points: float
    beyond: float
    folds: float
    area: float
    faces: float


@dataclass(frozen=True, slots=True)
class Volume:
    """A volume in mm³: the mean of the three bundles, each bundle's own value, and a bound on the error of the mean.

    `best` is the account of bundles and lattice points together (see above); `bound` is how far the mean lies from it, and how far
    it may itself be wrong, which shrinks with the square of the pitch. `disagreement`, greatest less least of the three values, is
    the error of a single bundle as the field itself shows it.
    """

    value: float
    by_bundle: tuple[float, float, float]
    bound: float

    @property
    def disagreement(self) -> float:
        """Greatest less least of the three bundles, mm³."""
        return max(self.by_bundle) - min(self.by_bundle)

    @classmethod
    def of(cls, by_bundle: Sequence[float], bound: float) -> Volume:
        """The mean of three."""
        x, y, z = (float(value) for value in by_bundle)
        return cls((x + y + z) / 3, (x, y, z), bound)

    @classmethod
    def from_accounts(cls, accounts: Sequence[Account], slack: float) -> Volume:
        """The mean of what three bundles say; `slack` (mm): how far the surface may lie beside its place."""
        points = [one.points for one in accounts]
        mean = sum(one.metal for one in accounts) / 3
        best = sum(points) / 3 + sum(one.beyond for one in accounts)
        # points on the surface itself, which bundles may count differently, are a cell each
        loose = max(points) - min(points) + sum(one.folds + slack * one.area for one in accounts)
        loose += COORDINATE_ROUND_OFF_MM * sum(one.faces for one in accounts)
        return cls.of([one.metal for one in accounts], abs(mean - best) + loose)


@kernel
def told_by(
    count: Ints, ends: Floats, normal: Ints, axis: int, low: float, high: float, first: float, pitch: float
) -> tuple[float, float, float, float, int]:
    """Of the rays of a tile: length in metal, mm; points of the lattice in metal; ways from the last of their cells to the ends,
    mm, and area in cells, shares of the bundle; number of intervals.

    low, high (mm): faces of the box of rays, where cells end with it; first, pitch (mm): the lattice along the rays.
    """
    count, ends, normal = borrowed(count), borrowed(ends), borrowed(normal)
    length, points, beyond, area, held = 0.0, 0.0, 0.0, 0.0, 0
    hair = COORDINATE_ROUND_OFF_MM / pitch
    for ray in range(count.size):
        held += count[ray]
        for i in range(count[ray]):
            lower, upper = ends[ray, i, 0], ends[ray, i, 1]
            length += upper - lower
            a, b = (lower - first) / pitch, (upper - first) / pitch
            last_out, last_in = math.ceil(a - hair) - 1, math.floor(b + hair)
            points += last_in - last_out
            # rays stand aside of the middle of their cells, but at the faces of the box cells end with it
            if lower > low + COORDINATE_ROUND_OFF_MM:
                n = _part(normal[ray, i, 0], axis)
                area += abs(n)
                beyond -= n * n * (a - last_out - 0.5) + RAY_SHIFT_SHARE
            if upper < high - COORDINATE_ROUND_OFF_MM:
                n = _part(normal[ray, i, 1], axis)
                area += abs(n)
                beyond += n * n * (b - last_in - 0.5) + RAY_SHIFT_SHARE
    return length, points, beyond * pitch, area, held


@kernel
def folds_between(
    count: Ints, ends: Floats, normal: Ints, count_b: Ints, ends_b: Floats, normal_b: Ints, place: Longs, axis: int, across: int,
    box: Floats, step: float, deep: float
) -> float:  # fmt: skip
    """How much the surface folds and bends between rays and the next ones along `across`, in shares of a cell, added up.

    place int64 (6,): first ray and first next one, rows, columns, rays of a row here and there; box float64 (2,): faces of the
    box of rays along the rays, mm; step, deep (mm): distance of the rays, and of those of another bundle that cross them.
    """
    count, ends, normal = borrowed(count), borrowed(ends), borrowed(normal)
    count_b, ends_b, normal_b = borrowed(count_b), borrowed(ends_b), borrowed(normal_b)
    low, high, total = box[0] + COORDINATE_ROUND_OFF_MM, box[1] - COORDINATE_ROUND_OFF_MM, 0.0
    here = (low, high, axis, across, deep)
    for row in range(place[2]):
        for column in range(place[3]):
            a, b = place[0] + row * place[4] + column, place[1] + row * place[5] + column
            na, nb, i, j = count[a], count_b[b], 0, 0
            if na == 1 and nb == 1 and max(ends[a, 0, 0], ends_b[b, 0, 0]) < low and min(ends[a, 0, 1], ends_b[b, 0, 1]) > high:
                continue  # metal from face to face
            while i < na or j < nb:
                i0, j0 = i, j
                mine = j >= nb or (i < na and ends[a, i, 0] <= ends_b[b, j, 0])
                reach = ends[a, i, 1] if mine else ends_b[b, j, 1]
                i, j = (i + 1, j) if mine else (i, j + 1)
                while True:  # all intervals of both rays that hang together
                    if i < na and ends[a, i, 0] < reach:
                        reach, i = max(reach, ends[a, i, 1]), i + 1
                    elif j < nb and ends_b[b, j, 0] < reach:
                        reach, j = max(reach, ends_b[b, j, 1]), j + 1
                    else:
                        break
                if j == j0:
                    total += _alone(ends[a, i0, 0], normal[a, i0, 0], ends[a, i0, 1], normal[a, i0, 1], 1.0, here)
                    continue
                if i == i0:
                    total += _alone(ends_b[b, j0, 0], normal_b[b, j0, 0], ends_b[b, j0, 1], normal_b[b, j0, 1], -1.0, here)
                    continue
                p, q = i - 1, j - 1
                total += _beside(ends[a, i0, 0], normal[a, i0, 0], ends_b[b, j0, 0], normal_b[b, j0, 0], -step, here)
                total += _beside(ends[a, p, 1], normal[a, p, 1], ends_b[b, q, 1], normal_b[b, q, 1], step, here)
                if i - i0 == j - j0:
                    for k in range(1, i - i0):
                        p, q = i0 + k - 1, j0 + k - 1
                        total += _beside(ends[a, p, 1], normal[a, p, 1], ends_b[b, q, 1], normal_b[b, q, 1], step, here)
                        p, q = i0 + k, j0 + k
                        total += _beside(ends[a, p, 0], normal[a, p, 0], ends_b[b, q, 0], normal_b[b, q, 0], -step, here)
                    continue
                for p in range(i0 + 1, i):
                    total += _alone(ends[a, p - 1, 1], normal[a, p - 1, 1], ends[a, p, 0], normal[a, p, 0], -1.0, here)
                for q in range(j0 + 1, j):
                    total += _alone(ends_b[b, q - 1, 1], normal_b[b, q - 1, 1], ends_b[b, q, 0], normal_b[b, q, 0], 1.0, here)
    return total


@kernel
def _beside(e: float, packed: int, f: float, packed_f: int, step: float, here: _Here) -> float:
    """Share of a cell between two ends of neighbours that one surface may join. `step` (mm) is negative for lower ends."""
    low, high, axis, across, deep = here
    outer, outer_f = e < low or e > high, f < low or f > high
    if outer and outer_f:
        return 0.0
    if e == f and packed == packed_f and abs(_part(packed, across)) < NORMAL_ROUND_OFF:
        return 0.0
    turn = _turn(_part(packed, across), _part(packed, axis), -(f - e) if step > 0.0 else f - e, step)
    turn_f = -_turn(_part(packed_f, across), _part(packed_f, axis), -(f - e) if step > 0.0 else f - e, step)
    if outer or outer_f:
        mine, edge = (turn_f, abs(turn)) if outer else (turn, abs(turn_f))
        edge = _slope(min(edge, abs(_QUARTER_TURN - edge)))  # cells end at the box: a wall upright on it is no fold
        if abs(f - e) >= deep:
            return CREASE_SHARE * (_slope(mine) + edge)
        return CREASE_SHARE * (min(2.0, 4.0 * _slope(mine)) + 2.0 * edge)
    if turn * turn_f > 0.0:
        return CREASE_SHARE * (turn * turn + turn_f * turn_f) / (abs(turn) + abs(turn_f))
    return CREASE_SHARE * (_slope(turn) + _slope(turn_f)) * (1.0 if abs(f - e) >= deep else 2.0)


@kernel
def _alone(e: float, packed: int, f: float, packed_f: int, toward: float, here: _Here) -> float:
    """Share of a cell at the two ends of an interval, or of a gap, that the next ray lacks. `toward` 1 or -1: where along `across`
    the surface that joins them looks."""
    low, high, axis, across, deep = here
    total = 0.0
    for end in range(2):
        place, code = (e, packed) if end == 0 else (f, packed_f)
        n = _part(code, axis)
        turn = abs(_turn(_part(code, across), n, toward, 0.0))
        if place < low or place > high:
            turn = min(turn, abs(_QUARTER_TURN - turn))
        total += n * n * _slope(turn)
    return CREASE_SHARE * total * (1.0 if f - e >= deep else 2.0)


@kernel
def _part(packed: int, axis: int) -> float:
    x, y, z = unpacked(packed)
    return x if axis == 0 else y if axis == 1 else z


@kernel
def _turn(u: float, d: float, to_u: float, to_d: float) -> float:
    """Angle from one direction of a plane to another, rad."""
    return math.atan2(u * to_d - d * to_u, u * to_u + d * to_d)


@kernel
def _slope(turn: float) -> float:
    """Tangent of an angle, 1 at most."""
    turn = abs(turn)
    return math.tan(turn) if turn < _EIGHTH_TURN else 1.0
