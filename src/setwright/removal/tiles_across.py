"""What the sweeps do to one tile of rays across the tool axis; see tiles_along, whose arguments and results are the same."""

from __future__ import annotations

import math

import numpy as np

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.across import span_across, spans_across_arc
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.capsule import capsule_high, capsule_low
from setwright.removal.lists import longest_overlap, take_out, widened
from setwright.removal.reach import radius_at
from setwright.removal.rows import deepest_square, rays_between

__all__ = ["work_across"]


@kernel
def _side_row(shape: Floats, meridian: int, z: float) -> tuple[float, float, float, float]:
    """The stretches of y and of x that a straight sweep may cover at height z: (y low, y high, x low, x high); y low > y high:
    none."""
    z0, z1, start, way = shape[6], shape[7], z - shape[2], shape[5]
    first, last = 0.0, 1.0
    if way != 0.0:
        a, b = (start - z0) / way, (start - z1) / way
        first, last = max(0.0, min(a, b)), min(1.0, max(a, b))
        if first > last:
            return 1.0, 0.0, 0.0, 0.0
    elif not z0 < start < z1:
        return 1.0, 0.0, 0.0, 0.0
    a = min(max(start - first * way, z0), z1)
    b = min(max(start - last * way, z0), z1)
    if meridian == 1:
        height = min(max(shape[11], min(a, b)), max(a, b))
        width = radius_at(meridian, z0, z1, shape[8], shape[9], shape[10], shape[11], shape[12], height)
    elif z1 > z0:
        width = max(radius_at(meridian, z0, z1, shape[8], shape[9], 0.0, 0.0, 0.0, a),
                    radius_at(meridian, z0, z1, shape[8], shape[9], 0.0, 0.0, 0.0, b))  # fmt: skip
    else:
        width = max(shape[8], shape[9])
    y0, y1 = shape[1] + first * shape[4], shape[1] + last * shape[4]
    x0, x1 = shape[0] + first * shape[3], shape[0] + last * shape[3]
    return min(y0, y1) - width, max(y0, y1) + width, min(x0, x1) - width, max(x0, x1) + width


@kernel
def _cut_row_line(
    ends: Floats, tags: Ints, count: Ints, ray0: int, ua: int, ub: int, y0: float, pitch: float, z: float, shape: Floats,
    meridian: int, tag: int, least: float, most: float, amount: float, longest: float, touched: int
) -> tuple[int, float, float, int]:
    """Take a straight sweep, which lies within [least, most] on the rays, out of rays ua up to ub of one row: (first ray not
    done for want of room, or ub; length removed; longest on one ray; rays changed), counted on from those given: so that sums do
    not depend on where room is wanting."""
    sx, sy, dx, dy, dz = shape[0], shape[1], shape[3], shape[4], shape[5]
    start = z - shape[2]
    whole = min(start, start - dz) >= shape[6] and max(start, start - dz) <= shape[7]
    ball = whole and meridian == 1 and shape[10] == 0.0
    above, square = start - shape[11], shape[12] * shape[12]
    if whole and not ball and (dz == 0.0 or (meridian == 0 and shape[8] == shape[9])):  # the row sees the same disc all the way
        width = radius_at(meridian, shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12], start)
        ball, above, dz, square = True, 0.0, 0.0, width * width
    spare = 0.25 * (dy * dy + dz * dz)
    ball_low, ball_high = min(sx, sx + dx), max(sx, sx + dx)
    for u in range(ua, ub):
        ray = ray0 + u
        i, j = 0, count[ray] - 1
        while i <= j and ends[ray, i, 1] <= least:
            i += 1
        while i <= j and ends[ray, j, 0] >= most:
            j -= 1
        if i > j:
            continue
        y = y0 + pitch * u
        low, high = math.nan, math.nan
        if ball:
            off = max(ends[ray, i, 0] - ball_high, ball_low - ends[ray, j, 1])
            if off > 0.0 and off * off >= deepest_square(y - sy, above, dy, dz, square, spare):
                continue
            low, high = least, most  # the end on the far side of the ball's centre lies in no metal
            if ends[ray, i, 0] < ball_high:
                low = capsule_low(sx, dx, y - sy, above, dy, dz, square)
            if ends[ray, j, 1] > ball_low:
                high = capsule_high(sx, dx, y - sy, above, dy, dz, square)
                if high <= ends[ray, i, 0]:
                    continue
        if math.isnan(low) or math.isnan(high):
            low, high, _, _ = span_across(shape, meridian, y, z)
            if low >= high:
                continue
        metal_low, metal_high = ends[ray, i, 0], ends[ray, i, 1]
        taken = 0.0
        if i == j and low <= metal_low and metal_high - high > COORDINATE_ROUND_OFF_MM:  # one end comes off: the common case
            taken = high - metal_low
            if taken <= COORDINATE_ROUND_OFF_MM:
                continue
            ends[ray, i, 0], tags[ray, i, 0] = high, tag
        elif i == j and high >= metal_high and low - metal_low > COORDINATE_ROUND_OFF_MM:
            taken = metal_high - low
            if taken <= COORDINATE_ROUND_OFF_MM:
                continue
            ends[ray, i, 1], tags[ray, i, 1] = low, tag
        else:
            taken = take_out(ends, tags, count, ray, low, high, tag)
            if taken < 0.0:
                return u, amount, longest, touched
        if taken > 0.0:
            amount += taken
            longest = max(longest, taken)
            touched += 1
    return ub, amount, longest, touched


@kernel
def _cut_row_arc(
    ends: Floats, tags: Ints, count: Ints, ray0: int, ua: int, ub: int, y0: float, pitch: float, z: float, shape: Floats,
    path: int, meridian: int, tag: int, amount: float, longest: float, touched: int, total: float, spans: Floats
) -> tuple[int, float, float, int, float]:
    """As `_cut_row_line` for a level arc; `total`: what was removed of ray ua already, at last of the ray not done; `spans` float64
    (8, 2) is scratch."""
    for u in range(ua, ub):
        ray = ray0 + u
        if count[ray] == 0:
            continue
        for k in range(spans_across_arc(shape, path, meridian, y0 + pitch * u, z, spans)):
            taken = take_out(ends, tags, count, ray, spans[k, 0], spans[k, 1], tag)
            if taken < 0.0:
                return u, amount, longest, touched, total
            total += taken
        if total > 0.0:
            amount += total
            longest = max(longest, total)
            touched += 1
        total = 0.0
    return ub, amount, longest, touched, 0.0


@kernel
def _touch_row(
    ends: Floats, count: Ints, ray0: int, ua: int, ub: int, y0: float, pitch: float, z: float, shape: Floats, path: int,
    meridian: int, spans: Floats
) -> tuple[float, float, float]:
    """The longest overlap of the sweep with the metal on rays ua up to ub of one row: (length, y, middle)."""
    deepest, at, middle = 0.0, 0.0, 0.0
    for u in range(ua, ub):
        if count[ray0 + u] == 0:
            continue
        y, found = y0 + pitch * u, 1
        if path == 0:
            spans[0, 0], spans[0, 1], _, _ = span_across(shape, meridian, y, z)
        else:
            found = spans_across_arc(shape, path, meridian, y, z, spans)
        for k in range(found):
            if spans[k, 1] - spans[k, 0] > deepest:
                depth, place = longest_overlap(ends, count, ray0 + u, spans[k, 0], spans[k, 1])
                if depth > deepest:
                    deepest, at, middle = depth, y, place
    return deepest, at, middle


@kernel
def work_across(
    first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, code: Ints, box: Floats, rows: Ints, ends: Floats, tags: Ints,
    count: Ints, amount: Floats, longest: Floats, touched: Longs, where: Floats
) -> tuple[Floats, Ints]:
    """Apply sweeps `rows` to a tile of rays along X at (y, z); arguments and results as for `work_along`."""
    spans = np.empty((8, 2), np.float64)
    metal = np.zeros(nv, np.bool_)
    for v in range(nv):
        metal[v] = count[v * nu : (v + 1) * nu].any()
    for k in range(rows.size):
        s = rows[k]
        path = code[s, 0]
        va, vb = rays_between(box[s, 2], box[s, 5], first[1], pitch[1], nv)
        for v in range(va, vb):
            if not metal[v]:
                continue
            z = first[1] + pitch[1] * v
            low, high, least, most = box[s, 1], box[s, 4], box[s, 0], box[s, 3]
            if path == 0:
                low, high, least, most = _side_row(shape[s], code[s, 1], z)
            u, ub = rays_between(low, high, first[0], pitch[0], nu)
            if code[s, 2] != 0:
                depth, y, x = _touch_row(ends, count, v * nu, u, ub, first[0], pitch[0], z, shape[s], path, code[s, 1], spans)
                if depth > longest[k]:
                    longest[k], where[k, 0], where[k, 1], where[k, 2] = depth, x, y, z
                continue
            total, deep, rays, part = amount[k], longest[k], touched[k], 0.0
            while u < ub:
                if path == 0:
                    u, total, deep, rays = _cut_row_line(ends, tags, count, v * nu, u, ub, first[0], pitch[0], z, shape[s],
                                                         code[s, 1], -1 - s, least, most, total, deep, rays)  # fmt: skip
                else:
                    u, total, deep, rays, part = _cut_row_arc(
                        ends, tags, count, v * nu, u, ub, first[0], pitch[0], z, shape[s], path, code[s, 1], -1 - s, total, deep,
                        rays, part, spans)  # fmt: skip
                if u < ub:
                    ends, tags = widened(ends, tags)
            fell = rays > touched[k]
            amount[k], longest[k], touched[k] = total, deep, rays
            if fell:
                metal[v] = count[v * nu : (v + 1) * nu].any()
    return ends, tags
