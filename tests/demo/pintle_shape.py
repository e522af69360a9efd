"""The rudder pintle plate as its drawing HL-3107 has it, as a closed mesh in inches: zero at the pintle bore, top of the bar.

Every corner of the mesh lies on the drawing's planes, cylinders and cones; flat faces are triangles between those corners.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import shapely  # type: ignore[import-untyped]

from tests.demo.solids import Triangle, circle

Point2 = tuple[float, float]
Ring = list[Point2]

LENGTH, WIDTH, THICK = 6.5, 2.0, 0.375
WAIST_RADIUS, WAIST_CENTRE, WAIST_HALF = 1.25, 2.0, 0.75
"""Circle about (0, ±2.0) that meets the bar's edge at x = ±0.75: the triangle 0.75, 1.00, 1.25."""
HOLES = ((-2.7, -0.5), (-2.7, 0.5), (-1.3, 0.5), (-1.3, -0.5), (1.3, -0.5), (1.3, 0.5), (2.7, 0.5), (2.7, -0.5))
HOLE, COUNTERSINK, COUNTERSINK_ANGLE = 0.266, 0.480, 82.0
BORE, RECESS, RECESS_DEPTH = 0.500, 1.250, 0.062
WAIST_SEGMENTS = 80


def pintle_plate() -> list[Triangle]:
    """The plate's skin, outward by the right-hand rule."""
    cone = (COUNTERSINK - HOLE) / 2 / math.tan(math.radians(COUNTERSINK_ANGLE / 2))
    bar = _outline()
    wide = [_round(at, COUNTERSINK, 48) for at in HOLES]
    narrow = [_round(at, HOLE, 48) for at in HOLES]
    bore, recess = _round((0.0, 0.0), BORE, 120), _round((0.0, 0.0), RECESS, 120)
    skin = _flat(bar, [*wide, recess], 0.0)
    skin += _flat(recess, [bore], -RECESS_DEPTH)
    skin += _turned_over(_flat(bar, [*narrow, bore], -THICK))
    skin += _between(bar, -THICK, bar, 0.0)
    for upper, lower in zip(wide, narrow, strict=True):
        skin += _turned_over(_between(lower, -cone, upper, 0.0) + _between(lower, -THICK, lower, -cone))
    return skin + _turned_over(_between(recess, -RECESS_DEPTH, recess, 0.0) + _between(bore, -THICK, bore, -RECESS_DEPTH))


def _outline() -> Ring:
    """The bar with both waists, counter-clockwise from its front left corner."""
    x, y = LENGTH / 2, WIDTH / 2
    front = [(-x, -y), *_waist(-1.0), (x, -y)]
    return front + [(-px, -py) for px, py in front]


def _waist(side: float) -> Ring:
    """The arc of one waist, left to right, its ends exactly on the bar's edge; `side` is -1 in front."""
    half = math.asin(WAIST_HALF / WAIST_RADIUS)
    turns = [half * (2 * step / WAIST_SEGMENTS - 1) for step in range(1, WAIST_SEGMENTS)]
    inner = [(WAIST_RADIUS * math.sin(turn), side * (WAIST_CENTRE - WAIST_RADIUS * math.cos(turn))) for turn in turns]
    return [(-WAIST_HALF, side * WIDTH / 2), *inner, (WAIST_HALF, side * WIDTH / 2)]


def _round(at: Point2, diameter: float, segments: int) -> Ring:
    return [(at[0] + x, at[1] + y) for x, y in circle(diameter / 2, segments)]


def _flat(outline: Ring, holes: Sequence[Ring], z: float) -> list[Triangle]:
    """A flat face looking up, its outline and holes counter-clockwise."""
    found: list[Triangle] = []
    for triangle in shapely.constrained_delaunay_triangles(shapely.Polygon(outline, holes)).geoms:
        a, b, c = shapely.get_coordinates(shapely.orient_polygons(triangle, exterior_cw=False)).tolist()[:3]
        found.append(((a[0], a[1], z), (b[0], b[1], z), (c[0], c[1], z)))
    return found


def _between(lower: Ring, low: float, upper: Ring, high: float) -> list[Triangle]:
    """The wall from one counter-clockwise ring up to another with as many corners, looking outward."""
    found: list[Triangle] = []
    rows = zip(itertools.pairwise([*lower, lower[0]]), itertools.pairwise([*upper, upper[0]]), strict=True)
    for ((ax, ay), (bx, by)), ((cx, cy), (dx, dy)) in rows:
        found += [((ax, ay, low), (bx, by, low), (dx, dy, high)), ((ax, ay, low), (dx, dy, high), (cx, cy, high))]
    return found


def _turned_over(skin: list[Triangle]) -> list[Triangle]:
    return [(c, b, a) for a, b, c in skin]
