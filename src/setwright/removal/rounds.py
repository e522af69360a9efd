"""The circle of least squares of distances through ray ends, compiled: a part is measured at many places in many worlds.

Minimises sum (|p_i - c| - r)^2 over centre c and radius r: a start linear in (c, r^2 - |c|^2), then Gauss-Newton steps. The radius
is eliminated by taking the mean out of each column of the Jacobian, so that a step solves two normal equations.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.arrays import Floats, Longs

__all__ = ["IN_LINE", "TOO_FEW", "round_through"]

TOO_FEW: Final = 1
IN_LINE: Final = 2
"""Why there is no circle: fewer than 3 ends; ends so nearly in one line that it is not settled."""

_ROUNDS: Final = 50


@kernel
def round_through(points: Floats, normals: Floats, bundle: Longs, across: tuple[int, int, int], sign: float, upright: float
                  ) -> tuple[int, Longs, Floats]:  # fmt: skip
    """The bore (`sign` -1: normals look at the axis) or boss (1) along the last of the axes `across` through ray ends float64
    (n, 3), of whose normals no more than `upright` runs along it: (0, TOO_FEW or IN_LINE; the rows of the ends that lie on it;
    float64 (8,): centre, radius, form (greatest less least distance), how far errors of 1 mm of the ends can move the two
    coordinates of the centre and the radius, angle covered (rad))."""
    u, v, axis = across
    rows = np.empty(bundle.size, np.int64)
    n = 0
    for i in range(bundle.size):
        rows[n] = i
        n += bundle[i] != axis and abs(normals[i, axis]) <= upright
    found = np.zeros(8)
    rows = rows[:n]
    why = _circle(points, rows, u, v, found)
    if why != 0:
        return why, rows, found
    kept = 0
    for k in range(n):
        i = rows[k]
        toward = normals[i, u] * (points[i, u] - found[0]) + normals[i, v] * (points[i, v] - found[1])
        rows[kept] = i
        kept += toward * sign > 0.0
    if kept < n:
        rows = rows[:kept]
        why = _circle(points, rows, u, v, found)
    if why == 0:
        found[7] = _covered(points, rows, u, v, found[0], found[1])
    return why, rows, found


@kernel
def _circle(points: Floats, rows: Longs, u: int, v: int, found: Floats) -> int:
    """Writes centre, radius, form and gains; returns 0, TOO_FEW or IN_LINE."""
    n = rows.size
    if n < 3:
        return TOO_FEW
    x, y = np.empty(n), np.empty(n)
    mx, my = 0.0, 0.0
    for k in range(n):
        x[k], y[k] = points[rows[k], u], points[rows[k], v]
        mx += x[k] / n
        my += y[k] / n
    for k in range(n):
        x[k], y[k] = x[k] - mx, y[k] - my
    if _in_line(x, y):
        return IN_LINE
    cx, cy, radius = _start(x, y)
    step = math.inf
    for _ in range(_ROUNDS):
        dx, dy, dr = _step(x, y, cx, cy, radius)
        cx, cy, radius = cx + dx, cy + dy, radius + dr
        step = max(abs(dx), abs(dy), abs(dr))
        if not step > COORDINATE_ROUND_OFF_MM / 1000:
            break
    found[0], found[1], found[2] = mx + cx, my + cy, radius
    _gains(x, y, cx, cy, found)
    settled = step <= COORDINATE_ROUND_OFF_MM * max(1.0, found[4], found[5], found[6])
    return 0 if settled else IN_LINE


@kernel
def _in_line(x: Floats, y: Floats) -> bool:
    """Whether points about their mean lie in one line, to round-off."""
    xx, xy, yy = 0.0, 0.0, 0.0
    for k in range(x.size):
        xx, xy, yy = xx + x[k] * x[k], xy + x[k] * y[k], yy + y[k] * y[k]
    turn = 0.5 * math.atan2(2.0 * xy, xx - yy)
    cos, sin, beside = math.cos(turn), math.sin(turn), 0.0
    for k in range(x.size):
        beside = max(beside, abs(cos * y[k] - sin * x[k]))
    return beside <= COORDINATE_ROUND_OFF_MM


@kernel
def _start(x: Floats, y: Floats) -> tuple[float, float, float]:
    """Centre and radius of the circle x^2 + y^2 = 2 cx x + 2 cy y + c of least squares, for points about their mean."""
    n, xx, xy, yy, xs, ys, mean = x.size, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for k in range(n):
        square = x[k] * x[k] + y[k] * y[k]
        xx, xy, yy = xx + x[k] * x[k], xy + x[k] * y[k], yy + y[k] * y[k]
        xs, ys, mean = xs + x[k] * square, ys + y[k] * square, mean + square / n
    det = xx * yy - xy * xy
    cx, cy = (yy * xs - xy * ys) / (2.0 * det), (xx * ys - xy * xs) / (2.0 * det)
    return cx, cy, math.sqrt(mean + cx * cx + cy * cy)


@kernel
def _columns(x: Floats, y: Floats, cx: float, cy: float) -> tuple[Floats, Floats, Floats, float, float, float]:
    """Distances from the centre, and direction cosines less their means: (away, cosines, sines, mean of each)."""
    n = x.size
    away, cos, sin = np.empty(n), np.empty(n), np.empty(n)
    ma, mc, ms = 0.0, 0.0, 0.0
    for k in range(n):
        away[k] = math.sqrt((x[k] - cx) * (x[k] - cx) + (y[k] - cy) * (y[k] - cy))
        cos[k], sin[k] = ((x[k] - cx) / away[k], (y[k] - cy) / away[k]) if away[k] > 0.0 else (0.0, 0.0)
        ma, mc, ms = ma + away[k] / n, mc + cos[k] / n, ms + sin[k] / n
    for k in range(n):
        cos[k], sin[k] = cos[k] - mc, sin[k] - ms
    return away, cos, sin, ma, mc, ms


@kernel
def _normal(cos: Floats, sin: Floats) -> tuple[float, float, float]:
    """The inverse of the normal equations of two columns: (first, mixed, second)."""
    cc, cs, ss = 0.0, 0.0, 0.0
    for k in range(cos.size):
        cc, cs, ss = cc + cos[k] * cos[k], cs + cos[k] * sin[k], ss + sin[k] * sin[k]
    det = cc * ss - cs * cs
    return ss / det, -cs / det, cc / det


@kernel
def _step(x: Floats, y: Floats, cx: float, cy: float, radius: float) -> tuple[float, float, float]:
    """One Gauss-Newton step of centre and radius."""
    away, cos, sin, ma, mc, ms = _columns(x, y, cx, cy)
    cr, sr = 0.0, 0.0
    for k in range(x.size):
        cr, sr = cr + cos[k] * (away[k] - ma), sr + sin[k] * (away[k] - ma)
    first, mixed, second = _normal(cos, sin)
    dx, dy = first * cr + mixed * sr, mixed * cr + second * sr
    return dx, dy, ma - radius - mc * dx - ms * dy


@kernel
def _gains(x: Floats, y: Floats, cx: float, cy: float, found: Floats) -> None:
    """Form, and the sums of the absolute rows of the pseudo-inverse of the Jacobian: what errors of the ends come to at most."""
    away, cos, sin, _, mc, ms = _columns(x, y, cx, cy)
    first, mixed, second = _normal(cos, sin)
    gx, gy, gr, n = 0.0, 0.0, 0.0, x.size
    for k in range(n):
        px, py = first * cos[k] + mixed * sin[k], mixed * cos[k] + second * sin[k]
        gx, gy, gr = gx + abs(px), gy + abs(py), gr + abs(1.0 / n - mc * px - ms * py)
    found[3], found[4], found[5], found[6] = away.max() - away.min(), gx, gy, gr


@kernel
def _covered(points: Floats, rows: Longs, u: int, v: int, cx: float, cy: float) -> float:
    """A whole turn less the widest gap between neighbouring ends, rad."""
    angles = np.empty(rows.size)
    for k in range(rows.size):
        angles[k] = math.atan2(points[rows[k], v] - cy, points[rows[k], u] - cx)
    angles.sort()
    widest = angles[0] + 2.0 * math.pi - angles[-1]
    for k in range(1, angles.size):
        widest = max(widest, angles[k] - angles[k - 1])
    return float(2.0 * math.pi - widest)
