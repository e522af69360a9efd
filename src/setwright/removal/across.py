"""Where a ray across the tool axis (along X) passes through a sweep: exact; one interval for a straight way, a few for a level arc.

At share t of the way the ray meets the piece at height zeta(t) above the tip and at eta(t) beside the axis, both linear in t; it is
inside for x within ± g(t) of the axis, g² = radius(zeta)² - eta². The upper end of the interval is the greatest x(t) + g(t),
which is concave in t. For cylinders, cones and spheres g² is quadratic in t, so the free maximum has a closed form; for a torus
that rises or sinks it is found by a bracketed search. It is then moved to the nearest end of the range of t.
"""

from __future__ import annotations

import math

from setwright.base.jit import kernel
from setwright.base.tolerance import SEARCH_SHARE
from setwright.removal.arrays import Floats
from setwright.removal.reach import radius_at

__all__ = ["span_across", "spans_across_arc"]


@kernel
def _clip(low: float, high: float, value: float, rate: float) -> tuple[float, float]:
    """The part of [low, high] where value + rate t > 0."""
    if rate > 0.0:
        return max(low, -value / rate), high
    if rate < 0.0:
        return low, min(high, -value / rate)
    if value > 0.0:
        return low, high
    return 1.0, 0.0


@kernel
def _extreme(a: float, b: float, c: float, root: float, dx: float, side: float) -> float:
    """Where dx t + sqrt(a t² + b t + c) is greatest; `root` = sqrt(b² - 4 a c). Infinite where it grows for ever.

    Where a > 0 the quadratic is positive on two branches; `side` (+1, -1) is the one meant: to the right or to the left.
    """
    room = dx * dx - a
    if a > 0.0 and (room <= 0.0 or dx * side >= 0.0):
        return side * math.inf
    if room > 0.0:
        rate = -dx * root / math.sqrt(room)  # slope of the quadratic at the maximum
        if (rate >= 0.0) == (b >= 0.0) and rate + b != 0.0:
            return (b * b - 4.0 * c * dx * dx) / (2.0 * room * (rate + b))
        if a != 0.0:
            return (rate - b) / (2.0 * a)
        if rate == b:
            return math.inf if dx > 0.0 else -math.inf
        return math.inf if rate < b else -math.inf
    return math.inf if b > 0.0 else -math.inf


@kernel
def _torus_domain(
    e: float, rho: float, zf: float, eta: float, dz: float, dy: float, low: float, high: float
) -> tuple[float, float]:
    """The part of [low, high] where the ray passes through the torus' side view: two discs joined by a rectangle, convex."""
    first, last = math.inf, -math.inf
    for side in (-1.0, 1.0):
        a = dz * dz + dy * dy
        h = eta - side * e
        b = zf * dz + h * dy
        c = zf * zf + h * h - rho * rho
        root = b * b - a * c
        if root > 0.0 and a > 0.0:
            root = math.sqrt(root)
            first, last = min(first, (b - root) / a), max(last, (b + root) / a)
    a0, b0 = _clip(low, high, e - eta, dy)
    a0, b0 = _clip(a0, b0, e + eta, -dy)
    a0, b0 = _clip(a0, b0, rho - zf, dz)
    a0, b0 = _clip(a0, b0, rho + zf, -dz)
    if a0 <= b0:
        first, last = min(first, a0), max(last, b0)
    return max(low, first), min(high, last)


@kernel
def _torus_extreme(e: float, rho: float, zf: float, eta: float, dx: float, dy: float, dz: float, low: float, high: float) -> float:
    """Share t in [low, high] where dx t + g(t) is greatest for a torus with dz != 0: sign change of its slope, made free of
    poles."""
    held_low, held_high, before = 0.0, 0.0, math.inf
    for turn in range(80):
        if turn == 0:
            t = low
        elif turn == 1:
            t = high
        elif turn % 4 == 0 or held_low <= held_high:
            t = 0.5 * (low + high)
        else:
            t = low + (high - low) * held_low / (held_low - held_high)
            if not low < t < high:
                t = 0.5 * (low + high)
        z, h = zf - t * dz, eta - t * dy
        depth = math.sqrt(max(0.0, rho * rho - z * z))
        radius = e + depth
        slope = depth * (dx * math.sqrt(max(0.0, radius * radius - h * h)) + h * dy) + radius * dz * z
        if turn == 0:
            if slope <= 0.0:
                return low
            held_low = slope
        elif turn == 1:
            if slope >= 0.0:
                return high
            held_high = slope
        elif slope > 0.0:
            low, held_low, held_high = t, slope, held_high * 0.5
        else:
            high, held_high, held_low = t, slope, held_low * 0.5
        if turn > 1 and (high - low <= SEARCH_SHARE or abs(t - before) <= SEARCH_SHARE):
            break
        before = t
    return t


@kernel
def span_across(shape: Floats, meridian: int, y: float, z: float) -> tuple[float, float, float, float]:
    """The interval of the ray (*, y, z) inside one straight sweep: (low, high, share of the way at low, share at high), mm;
    low > high: none. `shape`: float64 (16,), one row of `Sweeps.shape`. Error: round-off."""
    dx, dy, dz = shape[3], shape[4], shape[5]
    z0, z1, r0, r1, e, f, rho = shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12]
    zeta, eta = z - shape[2], y - shape[1]
    first, last = _clip(0.0, 1.0, zeta - z0, -dz)
    first, last = _clip(first, last, z1 - zeta, dz)
    if first > last:
        return 1.0, 0.0, 0.0, 0.0
    if meridian == 1 and (e == 0.0 or dz != 0.0):
        zf = zeta - f
        if e > 0.0:
            first, last = _torus_domain(e, rho, zf, eta, dz, dy, first, last)
            if first > last:
                return 1.0, 0.0, 0.0, 0.0
            at_high = _torus_extreme(e, rho, zf, eta, dx, dy, dz, first, last)
            at_low = _torus_extreme(e, rho, zf, eta, -dx, dy, dz, first, last)
        else:
            a, b, c = -(dz * dz + dy * dy), 2.0 * (zf * dz + eta * dy), rho * rho - zf * zf - eta * eta
            root = b * b - 4.0 * a * c
            if root < 0.0 or (a == 0.0 and c <= 0.0):
                return 1.0, 0.0, 0.0, 0.0
            root = math.sqrt(root)
            if a != 0.0:
                first, last = max(first, (b - root) / (-2.0 * a)), min(last, (b + root) / (-2.0 * a))
            at_high, at_low = _extreme(a, b, c, root, dx, 1.0), _extreme(a, b, c, root, -dx, 1.0)
    else:
        lean = 0.0
        if meridian == 1:
            r0 = radius_at(meridian, z0, z1, r0, r1, e, f, rho, zeta)
        elif z1 > z0:
            lean = (r1 - r0) / (z1 - z0)
            r0 += lean * (zeta - z0)
        else:
            r0 = max(r0, r1)
        near, near_rate = r0 - eta, dy - lean * dz
        far, far_rate = r0 + eta, -dy - lean * dz
        first, last = _clip(first, last, near, near_rate)
        first, last = _clip(first, last, far, far_rate)
        a, b, c = near_rate * far_rate, near * far_rate + far * near_rate, near * far
        root = abs(near * far_rate - far * near_rate)
        side = 1.0 if near_rate > 0.0 else -1.0
        at_high, at_low = _extreme(a, b, c, root, dx, side), _extreme(a, b, c, root, -dx, side)
    if first > last:
        return 1.0, 0.0, 0.0, 0.0
    at_high, at_low = min(max(at_high, first), last), min(max(at_low, first), last)
    return _edge(shape, meridian, zeta, eta, at_low, -1.0), _edge(shape, meridian, zeta, eta, at_high, 1.0), at_low, at_high


@kernel
def _edge(shape: Floats, meridian: int, zeta: float, eta: float, t: float, side: float) -> float:
    """x of the end of the ray's stretch in the piece at share t of the way; side +1 the upper end, -1 the lower."""
    z0, z1 = shape[6], shape[7]
    height = min(max(zeta - t * shape[5], z0), z1)
    radius = radius_at(meridian, z0, z1, shape[8], shape[9], shape[10], shape[11], shape[12], height)
    beside = eta - t * shape[4]
    return float(shape[0] + t * shape[3]) + side * math.sqrt(max(0.0, (radius - beside) * (radius + beside)))


@kernel
def spans_across_arc(shape: Floats, path: int, meridian: int, y: float, z: float, spans: Floats) -> int:
    """The intervals of the ray (*, y, z) inside a sweep along a level arc, written to `spans` float64 (>= 8, 2); returns how many.

    At the ray's height the piece is a disc, so the swept area is a ring sector with a disc at each end. Intervals may overlap.
    """
    height = z - shape[2]
    if not shape[6] < height < shape[7]:
        return 0
    width = radius_at(meridian, shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12], height)
    sx, sy, ex, ey = shape[0], shape[1], shape[0] + shape[3], shape[1] + shape[4]
    cx, cy, radius = shape[13], shape[14], shape[15]
    found = 0
    for x1, y1 in ((sx, sy), (ex, ey)):
        square = width * width - (y - y1) * (y - y1)
        if square > 0.0:
            half = math.sqrt(square)
            spans[found, 0], spans[found, 1] = x1 - half, x1 + half
            found += 1
    h = y - cy
    outer, inner = radius + width, radius - width
    if abs(h) >= outer:
        return found
    far = math.sqrt((outer - h) * (outer + h))
    near = math.sqrt((inner - h) * (inner + h)) if inner > abs(h) else -1.0
    for k in range(2 if near >= 0.0 else 1):
        if near < 0.0:
            low, high = -far, far
        elif k == 0:
            low, high = -far, -near
        else:
            low, high = near, far
        if path == 3:
            spans[found, 0], spans[found, 1] = cx + low, cx + high
            found += 1
            continue
        ax, ay, bx, by = sx - cx, sy - cy, ex - cx, ey - cy
        a0, a1 = _clip(low, high, ax * h, -ay)  # left of the first radius
        b0, b1 = _clip(low, high, -h * bx, by)  # right of the last
        if path == 1:
            a0, a1 = max(a0, b0), min(a1, b1)
        elif b0 < b1:
            spans[found, 0], spans[found, 1] = cx + b0, cx + b1
            found += 1
        if a0 < a1:
            spans[found, 0], spans[found, 1] = cx + a0, cx + a1
            found += 1
    return found
