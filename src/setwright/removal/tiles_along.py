"""What the sweeps do to one tile of rays along Z: take metal out, or measure the overlap where they may only touch.

A tile is a rectangle of rays that one thread owns; all sweeps that may reach it are applied in their order. A row of rays is left
alone as soon as it is known that the sweep passes above its highest metal.
"""

from __future__ import annotations

import math

import numpy as np

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.along import span_along
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.capsule import capsule_low
from setwright.removal.lists import longest_overlap, take_out, widened
from setwright.removal.reach import radius_at
from setwright.removal.rows import deepest_square, rays_between, row_top

__all__ = ["work_along"]


@kernel
def _plan_row(shape: Floats, path: int, width: float, y: float, box_low: float, box_high: float) -> tuple[float, float]:
    """The stretch of x within which a disc of radius `width` along the path may cover points of the row y; low > high: none."""
    if path != 0:
        outer = shape[15] + width
        h = y - shape[14]
        if abs(h) >= outer:
            return 1.0, 0.0
        half = math.sqrt(outer * outer - h * h)
        return max(box_low, shape[13] - half), min(box_high, shape[13] + half)
    start, way = y - shape[1], shape[4]
    first, last = 0.0, 1.0
    if way != 0.0:
        a, b = (start - width) / way, (start + width) / way
        first, last = max(0.0, min(a, b)), min(1.0, max(a, b))
        if first > last:
            return 1.0, 0.0
    elif abs(start) >= width:
        return 1.0, 0.0
    a, b = start - first * way, start - last * way
    nearest = 0.0 if (a > 0.0) != (b > 0.0) else min(abs(a), abs(b))
    half = math.sqrt(max(0.0, width * width - nearest * nearest))
    a, b = shape[0] + first * shape[3], shape[0] + last * shape[3]
    return min(a, b) - half, max(a, b) + half


@kernel
def _width_below(shape: Floats, meridian: int, height: float) -> float:
    """The greatest radius of a piece at or below a height (mm from the tip, above z0)."""
    z0, z1, r0, r1 = shape[6], shape[7], shape[8], shape[9]
    if meridian == 1:
        height = min(height, max(z0, min(z1, float(shape[11]))))
    elif r1 <= r0:
        return float(r0)
    return radius_at(meridian, z0, z1, r0, r1, shape[10], shape[11], shape[12], min(height, z1))


@kernel
def _passes_above(first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, width: float) -> bool:
    """Whether a straight way stays farther than `width`, the tool below the tile's highest metal, from all of its rays."""
    x0, x1 = min(shape[0], shape[0] + shape[3]), max(shape[0], shape[0] + shape[3])
    y0, y1 = min(shape[1], shape[1] + shape[4]), max(shape[1], shape[1] + shape[4])
    aside = max(0.0, max(x0 - (first[0] + pitch[0] * (nu - 1)), first[0] - x1))
    beside = max(0.0, max(y0 - (first[1] + pitch[1] * (nv - 1)), first[1] - y1))
    return bool(aside * aside + beside * beside >= width * width)


@kernel
def _cut_row(
    ends: Floats, tags: Ints, count: Ints, ray0: int, ua: int, ub: int, x0: float, pitch: float, y: float, shape: Floats,
    path: int, meridian: int, tag: int, top: float, amount: float, longest: float, touched: int, lowered: int
) -> tuple[int, float, float, int, int]:
    """Take the sweep out of rays ua up to ub of one row: (first ray not done for want of room, or ub; length removed; longest
    on one ray; rays changed; 1 if metal as high as `top` was lowered), counted on from those given: so that sums do not depend
    on where room is wanting."""
    sx, sy, sz, dx, dy, dz = shape[0], shape[1], shape[2], shape[3], shape[4], shape[5]
    tip_low = min(sz, sz + dz)
    bottom = tip_low + shape[6]
    flat_top = shape[7] <= shape[11] if meridian == 1 else shape[9] >= shape[8]
    sure_top = tip_low + shape[7] if flat_top else -math.inf  # every ray of the sweep reaches at least as high
    ball = path == 0 and meridian == 1 and shape[10] == 0.0 and shape[6] + shape[12] <= shape[11] <= shape[7]
    middle, square, spare = sz + shape[11], shape[12] * shape[12], 0.25 * (dx * dx + dy * dy)
    for u in range(ua, ub):
        ray = ray0 + u
        if count[ray] == 0:
            continue
        x = x0 + pitch * u
        low, high, metal_top = math.nan, sure_top, ends[ray, count[ray] - 1, 1]
        if metal_top <= bottom:
            continue
        if ball and metal_top <= sure_top:
            under = tip_low + shape[11] - metal_top
            if under > 0.0 and under * under >= deepest_square(x - sx, y - sy, dx, dy, square, spare):
                continue
            low = capsule_low(middle, dz, x - sx, y - sy, dx, dy, square)
            if low >= metal_top:
                continue
        if math.isnan(low):
            low, high, _, _ = span_along(shape, path, meridian, x, y, metal_top)
            if low >= high:
                continue
        last = count[ray] - 1
        if high >= metal_top and low - ends[ray, last, 0] > COORDINATE_ROUND_OFF_MM:  # only the top comes off: the common case
            taken = metal_top - low
            if taken <= COORDINATE_ROUND_OFF_MM:
                continue
            ends[ray, last, 1], tags[ray, last, 1] = low, tag
        else:
            taken = take_out(ends, tags, count, ray, low, high, tag)
            if taken < 0.0:
                return u, amount, longest, touched, lowered
        if taken > 0.0:
            amount += taken
            longest = max(longest, taken)
            touched += 1
            if metal_top >= top:
                lowered = 1
    return ub, amount, longest, touched, lowered


@kernel
def _touch_row(
    ends: Floats, count: Ints, ray0: int, ua: int, ub: int, x0: float, pitch: float, y: float, shape: Floats, path: int,
    meridian: int
) -> tuple[float, float, float]:
    """The longest overlap of the sweep with the metal on rays ua up to ub of one row: (length, x, middle)."""
    deepest, at, middle = 0.0, 0.0, 0.0
    for u in range(ua, ub):
        if count[ray0 + u] > 0:
            low, high, _, _ = span_along(shape, path, meridian, x0 + pitch * u, y, math.inf)
            if high - low > deepest:
                depth, place = longest_overlap(ends, count, ray0 + u, low, high)
                if depth > deepest:
                    deepest, at, middle = depth, x0 + pitch * u, place
    return deepest, at, middle


@kernel
def work_along(
    first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, code: Ints, box: Floats, rows: Ints, ends: Floats, tags: Ints,
    count: Ints, amount: Floats, longest: Floats, touched: Longs, where: Floats
) -> tuple[Floats, Ints]:
    """Apply sweeps `rows` to a tile of rays along Z; returns (ends, tags), which may have been given more room.

    first, pitch float64 (2,): place of the first ray and distance of rays in x, y (mm); ray = v * nu + u. shape, code, box: see
    Sweeps. ends, tags, count: see lists. Results for each of `rows`: amount float64 total length removed, longest float64 the
    longest stretch removed or overlapped on one ray, touched int64 number of rays changed, where float64 (n, 3) middle of the
    longest overlap (x, y, z).
    """
    tops = np.empty(nv, np.float64)
    for v in range(nv):
        tops[v] = row_top(ends, count, v * nu, (v + 1) * nu)
    tile_top = tops.max()
    for k in range(rows.size):
        s = rows[k]
        if box[s, 2] >= tile_top:
            continue
        tip_low = min(shape[s, 2], shape[s, 2] + shape[s, 5])
        width = _width_below(shape[s], code[s, 1], tile_top - tip_low)
        if code[s, 0] == 0 and _passes_above(first, pitch, nu, nv, shape[s], width):
            continue
        lower = False
        va, vb = rays_between(box[s, 1], box[s, 4], first[1], pitch[1], nv)
        for v in range(va, vb):
            if box[s, 2] >= tops[v]:
                continue
            y = first[1] + pitch[1] * v
            width = _width_below(shape[s], code[s, 1], tops[v] - tip_low)
            low, high = _plan_row(shape[s], code[s, 0], width, y, box[s, 0], box[s, 3])
            u, ub = rays_between(low, high, first[0], pitch[0], nu)
            if code[s, 2] != 0:
                depth, x, z = _touch_row(ends, count, v * nu, u, ub, first[0], pitch[0], y, shape[s], code[s, 0], code[s, 1])
                if depth > longest[k]:
                    longest[k], where[k, 0], where[k, 1], where[k, 2] = depth, x, y, z
                continue
            total, most, rays, fell = amount[k], longest[k], touched[k], 0
            while u < ub:
                u, total, most, rays, fell = _cut_row(ends, tags, count, v * nu, u, ub, first[0], pitch[0], y, shape[s],
                                                      code[s, 0], code[s, 1], -1 - s, tops[v], total, most, rays, fell)  # fmt: skip
                if u < ub:
                    ends, tags = widened(ends, tags)
            amount[k], longest[k], touched[k] = total, most, rays
            if fell > 0:
                tops[v] = row_top(ends, count, v * nu, (v + 1) * nu)
                lower = True
        if lower:
            tile_top = tops.max()
    return ends, tags
