"""Outline of a piece and of its path, seen from the side and from above: what both directions of rays ask for."""

from __future__ import annotations

import math

from setwright.base.jit import kernel
from setwright.removal.arrays import Floats

__all__ = ["apart_from_arc", "radius_at", "widest_of", "within_arc"]


@kernel
def radius_at(meridian: int, z0: float, z1: float, r0: float, r1: float, e: float, f: float, rho: float, height: float) -> float:
    """Radius (mm) of a piece at a height (mm from the tip) inside [z0, z1]."""
    if meridian == 1:
        rise = height - f
        return e + math.sqrt(max(0.0, rho * rho - rise * rise))
    if z1 <= z0:
        return max(r0, r1)
    return r0 + (r1 - r0) * ((height - z0) / (z1 - z0))


@kernel
def widest_of(shape: Floats, meridian: int) -> float:
    """The largest radius (mm) of the piece in one row of `Sweeps.shape`."""
    if meridian == 1 and shape[6] <= shape[11] <= shape[7]:
        return float(shape[10] + shape[12])
    return float(max(shape[8], shape[9]))


@kernel
def within_arc(path: int, ax: float, ay: float, bx: float, by: float, x: float, y: float) -> bool:
    """Whether direction (x, y) lies in the turn, counter-clockwise, from direction a to direction b."""
    if path == 3:
        return True
    after = ax * y - ay * x >= 0.0
    before = x * by - y * bx >= 0.0
    if path == 1:
        return after and before
    return after or before


@kernel
def apart_from_arc(
    path: int, sx: float, sy: float, dx: float, dy: float, cx: float, cy: float, radius: float, x: float, y: float
) -> tuple[float, float, float]:
    """Least distance (mm) in the plane from (x, y) to an arc from s to s + d about c, and the arc's nearest point: (dist, px,
    py)."""
    ex, ey = sx + dx, sy + dy
    px, py = x - cx, y - cy
    out = math.sqrt(px * px + py * py)
    if out > 0.0 and within_arc(path, sx - cx, sy - cy, ex - cx, ey - cy, px, py):
        return abs(out - radius), cx + px * (radius / out), cy + py * (radius / out)
    first = math.sqrt((x - sx) * (x - sx) + (y - sy) * (y - sy))
    last = math.sqrt((x - ex) * (x - ex) + (y - ey) * (y - ey))
    if first <= last:
        return first, sx, sy
    return last, ex, ey
