"""Closed meshes of the bundled jobs, corner by corner, and binary STL."""

from __future__ import annotations

import itertools
import math
import struct
from collections.abc import Sequence
from fractions import Fraction

Point = tuple[float, float, float]
Triangle = tuple[Point, Point, Point]

SEGMENTS = 360
"""Corners of a bore's outline; a whole number of them in every quarter."""


def circle(radius: float, count: int = SEGMENTS) -> list[tuple[float, float]]:
    """Corners on the circle about zero, counter-clockwise from +X; the four on the axes are exact."""
    turns = (Fraction(number, count) for number in range(count))
    return [(radius * _cosine(turn), radius * _cosine(turn - Fraction(1, 4))) for turn in turns]


def _cosine(turn: Fraction) -> float:
    """The cosine of a part of a full turn, exact at quarter turns."""
    quarter = (turn % 1) * 4
    if quarter.denominator == 1:
        return (1.0, 0.0, -1.0, 0.0)[int(quarter)]
    return math.cos(2 * math.pi * float(turn))


def bored_box(size: Point, bore_at: tuple[float, float], bore_diameter: float) -> list[Triangle]:
    """A box with its least corner at zero and one upright bore through it: 4 SEGMENTS + 16 triangles.

    Each face with the hole is a fan from every corner of the box over its quarter of the circle, and one triangle between
    neighbouring fans.
    """
    length, width, height = size
    corners = [(length, width), (0.0, width), (0.0, 0.0), (length, 0.0)]  # of the quarters, counter-clockwise
    ring = [(bore_at[0] + x, bore_at[1] + y) for x, y in circle(bore_diameter / 2)]
    flat = []
    quarter = SEGMENTS // 4
    for number, corner in enumerate(corners):
        arc = [ring[(number * quarter + step) % SEGMENTS] for step in range(quarter + 1)]
        flat += [(corner, b, a) for a, b in itertools.pairwise(arc)]
        flat.append((corner, corners[(number + 1) % 4], arc[-1]))
    top = [_raised(triangle, height) for triangle in flat]
    bottom = [_raised(triangle[::-1], 0.0) for triangle in flat]
    return top + bottom + _wall(corners, height) + _wall(ring[::-1], height)


def _raised(triangle: Sequence[tuple[float, float]], z: float) -> Triangle:
    a, b, c = triangle
    return (*a, z), (*b, z), (*c, z)


def _wall(outline: Sequence[tuple[float, float]], height: float) -> list[Triangle]:
    """The upright wall over a closed outline with the solid on its left."""
    found: list[Triangle] = []
    for (ax, ay), (bx, by) in zip(outline, [*outline[1:], outline[0]], strict=True):
        found += [((ax, ay, 0.0), (bx, by, 0.0), (bx, by, height)), ((ax, ay, 0.0), (bx, by, height), (ax, ay, height))]
    return found


def stl(title: str, triangles: Sequence[Triangle]) -> bytes:
    """Binary STL: 80 bytes of title, a count, 50 bytes a triangle."""
    parts = [title.encode("ascii").ljust(80, b" ")[:80], struct.pack("<I", len(triangles))]
    for a, b, c in triangles:
        parts.append(struct.pack("<12fH", *_normal(a, b, c), *a, *b, *c, 0))
    return b"".join(parts)


def _normal(a: Point, b: Point, c: Point) -> Point:
    ux, uy, uz = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    vx, vy, vz = (c[0] - a[0], c[1] - a[1], c[2] - a[2])
    nx, ny, nz = (uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx)
    size = math.sqrt(nx * nx + ny * ny + nz * nz)
    return nx / size, ny / size, nz / size
