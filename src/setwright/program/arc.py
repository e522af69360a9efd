"""Arcs from their words: by centre and by radius, in the three planes. Compiled, for the fast and the careful reader alike."""

from __future__ import annotations

import math
from dataclasses import dataclass

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, SAME_PLACE_MM

__all__ = ["PLANES", "ArcShape", "arc_by_centre", "arc_by_radius", "centre_arc", "radius_arc"]

PLANES = ((0, 1, 2), (2, 0, 1), (1, 2, 0))
"""Axes (first, second, normal) of G17, G18, G19; first to second is counter-clockwise seen from the normal's + end."""

_TURN = 2.0 * math.pi
_LARGEST_SHIFT = 2.0
Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class ArcShape:
    """An arc in its plane: centre (mm), signed sweep (rad), and where it ends when that is not the programmed end.

    `mismatch` mm: by how much the programmed end is off the circle through the start. Where the centre can be moved by no more than
    twice that so that start and end lie on one circle, it is; else the arc keeps its centre and `end` is its true end.
    """

    centre: Pair
    sweep: float
    mismatch: float
    end: Pair


def arc_by_centre(start: Pair, end: Pair, centre: Pair, *, clockwise: bool, turns: int = 1) -> ArcShape:
    """The arc about a given centre; an end at the start is a full circle; `turns` > 1 adds full turns."""
    cu, cv, sweep, mismatch, eu, ev = centre_arc(start[0], start[1], end[0], end[1], centre[0], centre[1], clockwise)
    return ArcShape((cu, cv), sweep + math.copysign((turns - 1) * _TURN, sweep), mismatch, (eu, ev))


def arc_by_radius(start: Pair, end: Pair, radius: float, *, clockwise: bool) -> ArcShape | None:
    """The arc of given radius: at most a half circle for radius > 0, more for radius < 0; None where the ends are one place.

    A chord longer than the diameter gives the half circle on that chord, its excess as `mismatch`.
    """
    if math.dist(start, end) <= SAME_PLACE_MM:
        return None
    cu, cv, sweep, mismatch = radius_arc(start[0], start[1], end[0], end[1], radius, clockwise)
    return ArcShape((cu, cv), sweep, mismatch, end)


@kernel
def _sweep(su: float, sv: float, eu: float, ev: float, cu: float, cv: float, clockwise: bool) -> float:  # noqa: FBT001  (a kernel)
    """Signed turn (rad) from start to end about the centre: (0, 2 pi] counter-clockwise, [-2 pi, 0) clockwise."""
    a0, a1, b0, b1 = su - cu, sv - cv, eu - cu, ev - cv
    angle = math.atan2(a0 * b1 - a1 * b0, a0 * b0 + a1 * b1)
    if clockwise:
        return angle if angle < 0.0 else angle - _TURN
    return angle if angle > 0.0 else angle + _TURN


@kernel
def centre_arc(su: float, sv: float, eu: float, ev: float, cu: float, cv: float,
               clockwise: bool) -> tuple[float, float, float, float, float, float]:  # noqa: FBT001  (a kernel)
    """Arc about a centre, all float64 mm in the plane: (centre u, v, sweep rad, mismatch mm, true end u, v); see `ArcShape`."""
    r0 = math.hypot(su - cu, sv - cv)
    r1 = math.hypot(eu - cu, ev - cv)
    mismatch = abs(r1 - r0)
    du, dv = eu - su, ev - sv
    chord = math.hypot(du, dv)
    if chord <= SAME_PLACE_MM:
        return cu, cv, -_TURN if clockwise else _TURN, mismatch, eu, ev
    if mismatch <= COORDINATE_ROUND_OFF_MM:
        return cu, cv, _sweep(su, sv, eu, ev, cu, cv, clockwise), mismatch, eu, ev
    if abs(r0 * r0 - r1 * r1) / (2.0 * chord) <= _LARGEST_SHIFT * mismatch or mismatch <= SAME_PLACE_MM:
        along = ((cu - su) * du + (cv - sv) * dv) / (chord * chord) - 0.5
        cu -= along * du
        cv -= along * dv
        return cu, cv, _sweep(su, sv, eu, ev, cu, cv, clockwise), mismatch, eu, ev
    scale = r0 / r1 if r1 > 0.0 else 0.0
    sweep = _sweep(su, sv, eu, ev, cu, cv, clockwise)
    return cu, cv, sweep, mismatch, cu + (eu - cu) * scale, cv + (ev - cv) * scale


@kernel
def radius_arc(su: float, sv: float, eu: float, ev: float, radius: float,
               clockwise: bool) -> tuple[float, float, float, float]:  # noqa: FBT001  (a kernel)
    """Arc of a radius between two different places: (centre u, v, sweep rad, mismatch mm)."""
    du, dv = eu - su, ev - sv
    chord = math.hypot(du, dv)
    half = chord / 2.0
    size = abs(radius)
    if half >= size:
        return su + du / 2.0, sv + dv / 2.0, -math.pi if clockwise else math.pi, half - size
    height = math.sqrt(size * size - half * half)
    side = -1.0 if clockwise != (radius < 0.0) else 1.0
    cu = su + du / 2.0 - side * height * dv / chord
    cv = sv + dv / 2.0 + side * height * du / chord
    return cu, cv, _sweep(su, sv, eu, ev, cu, cv, clockwise), 0.0
