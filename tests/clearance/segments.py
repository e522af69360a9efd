"""Plain distance of a segment from triangles, by cases: the oracle. Shares nothing with the package."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]


def point_triangle(p: Vector, triangle: Vector) -> float:
    """Distance of a point: to the plane if its foot is inside, else to the nearest side."""
    a, b, c = triangle
    normal = np.cross(b - a, c - a)
    inside = all(np.cross(q - r, p - r) @ normal >= 0 for r, q in ((a, b), (b, c), (c, a)))
    if inside:
        return float(abs((p - a) @ normal) / np.linalg.norm(normal))
    return min(segment_segment(p, p, r, q) for r, q in ((a, b), (b, c), (c, a)))


def segment_segment(p: Vector, q: Vector, r: Vector, s: Vector) -> float:
    """Distance of two segments: the inner stationary point if there is one, and the four ends against the other segment."""
    u, v, w = q - p, s - r, p - r
    found = [_point_segment(p, r, s), _point_segment(q, r, s), _point_segment(r, p, q), _point_segment(s, p, q)]
    a, b, c, d, e = u @ u, u @ v, v @ v, u @ w, v @ w
    det = a * c - b * b
    if det > 0:
        t, x = (b * e - c * d) / det, (a * e - b * d) / det
        if 0 <= t <= 1 and 0 <= x <= 1:
            found.append(float(np.linalg.norm(w + t * u - x * v)))
    return min(found)


def _point_segment(p: Vector, r: Vector, s: Vector) -> float:
    v = s - r
    t = np.clip((p - r) @ v / (v @ v), 0, 1) if v @ v > 0 else 0.0
    return float(np.linalg.norm(p - r - t * v))


def segment_triangle(p: Vector, q: Vector, triangle: Vector) -> float:
    """Distance of a segment from a triangle, 0 if it goes through."""
    a, b, c = triangle
    normal = np.cross(b - a, c - a)
    below, above = (p - a) @ normal, (q - a) @ normal
    if below * above < 0:
        x = p + (q - p) * below / (below - above)
        if all(np.cross(s - r, x - r) @ normal >= 0 for r, s in ((a, b), (b, c), (c, a))):
            return 0.0
    sides = [segment_segment(p, q, r, s) for r, s in itertools.pairwise((a, b, c, a))]
    return min([point_triangle(p, triangle), point_triangle(q, triangle), *sides])
