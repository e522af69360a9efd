"""From programmed to work coordinates: mirror, scaling, rotation, local and preset shifts, as one affine map."""

from __future__ import annotations

import math
from dataclasses import dataclass

from setwright.base.tolerance import CHORD_SAGITTA_MM, SAME_ANGLE_RAD, UNIT_VECTOR_ROUND_OFF
from setwright.program.arc import PLANES

__all__ = ["IDENTITY", "ArcPiece", "Transform", "build_transform"]

Triple = tuple[float, float, float]
Matrix = tuple[Triple, Triple, Triple]
ArcPiece = tuple[Triple, Triple | None, int, float]
"""(end, centre or None for a chord, axis, sweep) in work coordinates."""

_MOST_CHORDS = 100_000
"""Reached only by arcs of more than a kilometre radius, where the chords then keep 5e-10 of the radius."""
_UNIT: Matrix = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True, slots=True)
class Transform:
    """work = linear · programmed + shift (mm); `linear` is None for the unit matrix."""

    linear: Matrix | None = None
    shift: Triple = (0.0, 0.0, 0.0)

    def forward(self, p: Triple) -> Triple:
        """Programmed to work coordinates."""
        s, a = self.shift, self.linear
        if a is None:
            return p[0] + s[0], p[1] + s[1], p[2] + s[2]
        x, y, z = (a[i][0] * p[0] + a[i][1] * p[1] + a[i][2] * p[2] + s[i] for i in range(3))
        return x, y, z

    def backward(self, w: Triple) -> Triple:
        """Work to programmed coordinates."""
        s, a = self.shift, self.linear
        x, y, z = w[0] - s[0], w[1] - s[1], w[2] - s[2]
        if a is None:
            return x, y, z
        b = _inverse(a)
        u, v, q = (b[i][0] * x + b[i][1] * y + b[i][2] * z for i in range(3))
        return u, v, q

    def flips(self, plane: int) -> bool:
        """Whether left and right are exchanged in a plane (a mirror, or scaling by a negative factor)."""
        if self.linear is None:
            return False
        first, second, _ = PLANES[plane]
        a = self.linear
        return a[first][first] * a[second][second] - a[first][second] * a[second][first] < 0.0

    def map_arc(self, start: Triple, end: Triple, centre: tuple[float, float], sweep: float, plane: int) -> list[ArcPiece] | None:
        """The arc in work coordinates, as one arc where it still turns about an axis, else as chords within the default sagitta.

        None where uneven scaling makes it no arc at all.
        """
        first, second, normal = PLANES[plane]
        middle = [0.0, 0.0, 0.0]
        middle[first], middle[second], middle[normal] = centre[0], centre[1], start[normal]
        mid: Triple = (middle[0], middle[1], middle[2])
        if self.linear is None:
            return [(self.forward(end), self.forward(mid), normal, sweep)]
        a = self.linear
        u = tuple(a[i][first] for i in range(3))
        v = tuple(a[i][second] for i in range(3))
        w = tuple(a[i][normal] for i in range(3))
        lu, lv, lw = math.hypot(*u), math.hypot(*v), math.hypot(*w)
        if abs(lu - lv) > SAME_ANGLE_RAD * max(lu,
                                               lv) or abs(sum(p * q for p, q in zip(u, v, strict=True))) > SAME_ANGLE_RAD * lu * lv:
            return None
        if abs(w[normal]) > (1.0 - UNIT_VECTOR_ROUND_OFF) * lw:
            turn = sweep if u[first] * v[second] - u[second] * v[first] > 0.0 else -sweep
            return [(self.forward(end), self.forward(mid), normal, turn)]
        return self._chords(start, mid, sweep, plane, end[normal] - start[normal])

    def _chords(self, start: Triple, middle: Triple, sweep: float, plane: int, rise: float) -> list[ArcPiece]:
        first, second, normal = PLANES[plane]
        radius = math.hypot(start[first] - middle[first], start[second] - middle[second])
        step = 2.0 * math.acos(max(0.0, 1.0 - CHORD_SAGITTA_MM / radius)) if radius > CHORD_SAGITTA_MM else math.pi / 2.0
        count = min(max(1, math.ceil(abs(sweep) / step)), _MOST_CHORDS)
        from_angle = math.atan2(start[second] - middle[second], start[first] - middle[first])
        pieces: list[ArcPiece] = []
        for k in range(1, count + 1):
            angle = from_angle + sweep * k / count
            point = [0.0, 0.0, 0.0]
            point[first] = middle[first] + radius * math.cos(angle)
            point[second] = middle[second] + radius * math.sin(angle)
            point[normal] = start[normal] + rise * k / count
            pieces.append((self.forward((point[0], point[1], point[2])), None, normal, 0.0))
        return pieces


IDENTITY = Transform()


def build_transform(*, local: Triple, preset: Triple, mirror: dict[int, float], scale: tuple[Triple, Triple] | None,
                    rotation: tuple[int, tuple[float, float], float] | None) -> Transform:  # fmt: skip
    """Mirror first, then scaling, rotation, local and preset shift.

    `mirror`: axis -> position of the mirror; `scale`: (centre, factors); `rotation`: (plane, centre, angle rad). Lengths mm.
    """
    shift = (local[0] + preset[0], local[1] + preset[1], local[2] + preset[2])
    if not mirror and scale is None and rotation is None:
        return Transform(None, shift)
    rows: list[list[float]] = [list(row) for row in _UNIT]
    move = [0.0, 0.0, 0.0]
    for axis, place in mirror.items():
        rows[axis] = [-value for value in rows[axis]]
        move[axis] = 2.0 * place - move[axis]
    if scale is not None:
        centre, factors = scale
        for axis in range(3):
            rows[axis] = [value * factors[axis] for value in rows[axis]]
            move[axis] = centre[axis] + factors[axis] * (move[axis] - centre[axis])
    if rotation is not None:
        plane, about, angle = rotation
        first, second, _ = PLANES[plane]
        c, n = math.cos(angle), math.sin(angle)
        u, v = rows[first], rows[second]
        rows[first] = [c * p - n * q for p, q in zip(u, v, strict=True)]
        rows[second] = [n * p + c * q for p, q in zip(u, v, strict=True)]
        p, q = move[first] - about[0], move[second] - about[1]
        move[first], move[second] = about[0] + c * p - n * q, about[1] + n * p + c * q
    matrix: Matrix = tuple((row[0], row[1], row[2]) for row in rows)  # type: ignore[assignment]
    return Transform(matrix, (move[0] + shift[0], move[1] + shift[1], move[2] + shift[2]))


def _inverse(a: Matrix) -> Matrix:
    (p, q, r), (s, t, u), (v, w, x) = a
    det = p * (t * x - u * w) - q * (s * x - u * v) + r * (s * w - t * v)
    return (
        ((t * x - u * w) / det, (r * w - q * x) / det, (q * u - r * t) / det),
        ((u * v - s * x) / det, (p * x - r * v) / det, (r * s - p * u) / det),
        ((s * w - t * v) / det, (q * v - p * w) / det, (p * t - q * s) / det),
    )
