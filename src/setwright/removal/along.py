"""Where a ray along the tool axis (Z) passes through a sweep: one interval, exact.

Seen from above the ray is a point at u along and v beside the way. When the tip is w further along, the ray stands at
q = u - w before the tool's axis, so at radius sqrt(q² + v²), where the piece's lower outline has height low(radius). The lower
end of the interval is the least of low(sqrt(q² + v²)) + slope * w over the q that the ray can have. Low is convex and does not
fall with the radius, so the sum is convex in q: its free minimum, moved to the nearest end of the range of q, is the answer.
The upper end is the lower end of the sweep turned upside down.
"""

from __future__ import annotations

import math

from setwright.base.jit import kernel
from setwright.base.tolerance import SEARCH_SHARE
from setwright.removal.arrays import Floats
from setwright.removal.reach import apart_from_arc

__all__ = ["low_outline", "lowest", "span_along"]


@kernel
def low_outline(meridian: int, z0: float, z1: float, r0: float, r1: float, e: float, f: float, rho: float, radius: float) -> float:
    """Height (mm from the tip) of the piece's lower outline at a radius it has."""
    if radius <= r0:
        return z0
    if meridian == 0:
        if r1 <= r0:
            return z0
        return z0 + (z1 - z0) * min(1.0, (radius - r0) / (r1 - r0))
    rise = radius - e
    return max(z0, f - math.sqrt(max(0.0, rho * rho - rise * rise)))


@kernel
def _torus_lead(slope: float, side: float, e: float, rho: float, widest: float) -> float:
    """How far before the axis (q >= 0) a torus' lower outline is as steep along the way as `slope` > 0; `side` = |v|.

    With radius = e + rho sin(turn) the outline's steepness is tan(turn); solved by bisection on the smooth function
    sin(turn) q - slope radius cos(turn), Newton steps where they stay inside the bracket.
    """
    low = math.asin(min(1.0, max(0.0, side - e) / rho))
    high = math.asin(min(1.0, (widest - e) / rho))
    turn = min(max(math.atan(slope), low), high)
    for _ in range(60):
        sine, cosine = math.sin(turn), math.cos(turn)
        radius = e + rho * sine
        lead = math.sqrt(max(0.0, radius * radius - side * side))
        value = sine * lead - slope * radius * cosine
        if value > 0.0:
            high = turn
        else:
            low = turn
        if high - low <= SEARCH_SHARE:
            break
        rate = cosine * lead + slope * (radius * sine - rho * cosine * cosine)
        if lead > 0.0:
            rate += sine * radius * rho * cosine / lead
        step = turn - value / rate if rate > 0.0 else low - 1.0
        if abs(step - turn) <= SEARCH_SHARE:
            break
        turn = step if low < step < high else 0.5 * (low + high)
    radius = e + rho * math.sin(turn)
    return math.sqrt(max(0.0, radius * radius - side * side))


@kernel
def lowest(
    meridian: int, z0: float, z1: float, r0: float, r1: float, e: float, f: float, rho: float, u: float, v: float, length: float,
    rise: float
) -> tuple[float, float]:
    """Lower end over a straight way of plan length `length` > 0 that rises by `rise`: (height from the start's tip, share of
    the way).

    The caller has made sure that some part of the way passes within the piece's widest radius. Exact to round-off; where a
    torus runs up or down, to the square of SEARCH_SHARE.
    """
    if rise == 0.0:
        q = u - min(max(u, 0.0), length)
        return low_outline(meridian, z0, z1, r0, r1, e, f, rho, math.sqrt(q * q + v * v)), min(max(u, 0.0), length) / length
    belly = meridian == 1 and z0 <= f <= z1
    widest = e + rho if belly else max(r0, r1)
    half = math.sqrt(max(0.0, widest * widest - v * v))
    if meridian == 0 and r1 <= r0:
        way = min(length, u + half) if rise < 0.0 else max(0.0, u - half)
        return z0 + rise * (way / length), way / length
    slope = rise / length
    steep = abs(slope)
    flat = math.sqrt(max(0.0, r0 * r0 - v * v))
    lead = half
    if meridian == 0:
        cone = (z1 - z0) / (r1 - r0)
        if steep < cone:
            lead = max(flat, steep * abs(v) / math.sqrt(cone * cone - steep * steep))
    elif meridian == 1 and z0 < f:
        if e == 0.0:
            lead = max(flat, steep * math.sqrt(max(0.0, rho * rho - v * v)) / math.sqrt(1.0 + steep * steep))
        else:
            lead = max(flat, _torus_lead(steep, abs(v), e, rho, widest))
    lead = math.copysign(min(lead, half), slope)
    way = min(max(u - lead, max(0.0, u - half)), min(length, u + half))
    q = u - way
    share = way / length
    return low_outline(meridian, z0, z1, r0, r1, e, f, rho, math.sqrt(q * q + v * v)) + rise * share, share


@kernel
def span_along(
    shape: Floats, path: int, meridian: int, x: float, y: float, enough: float
) -> tuple[float, float, float, float]:
    """The interval of the ray (x, y, *) inside one sweep: (low, high, share of the way at low, share at high), mm; low > high:
    none.

    `shape`: float64 (16,), one row of `Sweeps.shape`. Error: round-off. Where the upper end is seen to reach `enough`, that may be
    given instead of the end itself.
    """
    sx, sy, sz, dx, dy, dz = shape[0], shape[1], shape[2], shape[3], shape[4], shape[5]
    z0, z1, r0, r1, e, f, rho = shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12]
    widest = e + rho if meridian == 1 and z0 <= f <= z1 else max(r0, r1)
    length = math.sqrt(dx * dx + dy * dy)
    if path != 0 or length == 0.0:
        if path == 0:
            away = math.sqrt((x - sx) * (x - sx) + (y - sy) * (y - sy))
        else:
            away = apart_from_arc(path, sx, sy, dx, dy, shape[13], shape[14], shape[15], x, y)[0]
        if away >= widest:
            return 1.0, 0.0, 0.0, 0.0
        low = low_outline(meridian, z0, z1, r0, r1, e, f, rho, away)
        high = -low_outline(meridian, -z1, -z0, r1, r0, e, -f, rho, away)
        if dz < 0.0:
            return sz + dz + low, sz + high, 1.0, 0.0
        return sz + low, sz + dz + high, 0.0, 1.0
    px, py = x - sx, y - sy
    u = (px * dx + py * dy) / length
    v = (py * dx - px * dy) / length
    beyond = u - min(max(u, 0.0), length)
    if beyond * beyond + v * v >= widest * widest:
        return 1.0, 0.0, 0.0, 0.0
    low, at_low = lowest(meridian, z0, z1, r0, r1, e, f, rho, u, v, length, dz)
    if min(sz, sz + dz) + z1 >= enough and (z1 <= f if meridian == 1 else r1 >= r0):
        return sz + low, enough, at_low, at_low
    high, at_high = lowest(meridian, -z1, -z0, r1, r0, e, -f, rho, u, v, length, -dz)
    return sz + low, sz - high, at_low, at_high
