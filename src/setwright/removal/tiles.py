"""What the sweeps do to one tile of rays: take metal out, or measure the overlap where they may only touch.

A tile is a rectangle of rays of one bundle that one thread owns; all sweeps that may reach it are applied in their order. A row of
rays is left alone as soon as it is known that the sweep passes above its highest metal.
"""

from __future__ import annotations

import math

import numpy as np

from setwright.base.jit import kernel
from setwright.removal.across import span_across, spans_across_arc
from setwright.removal.along import span_along
from setwright.removal.lists import longest_overlap, take_out, widened
from setwright.removal.reach import radius_at

__all__ = ["work_across", "work_along"]


@kernel
def _row_top(ends, count, nu, v):  # type: ignore[no-untyped-def]
    """The highest metal of one row of rays; -inf if it has none."""
    top = -math.inf
    for ray in range(v * nu, (v + 1) * nu):
        if count[ray] > 0:
            top = max(top, ends[ray, count[ray] - 1, 1])
    return top


@kernel
def _rays_between(low, high, first, pitch, n):  # type: ignore[no-untyped-def]
    """Rays a up to b (excluded) of n that stand within [low, high]."""
    a = max(0.0, math.ceil((low - first) / pitch))
    b = min(float(n), math.floor((high - first) / pitch) + 1.0)
    if a >= b:
        return 0, 0
    return int(a), int(b)


@kernel
def _plan_row(shape, path, width, y, box_low, box_high):  # type: ignore[no-untyped-def]
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
def _width_below(shape, meridian, height):  # type: ignore[no-untyped-def]
    """The greatest radius of a piece at or below a height (mm from the tip, above z0)."""
    z0, z1, r0, r1 = shape[6], shape[7], shape[8], shape[9]
    if meridian == 1:
        height = min(height, max(z0, min(z1, shape[11])))
    elif r1 <= r0:
        return r0
    return radius_at(meridian, z0, z1, r0, r1, shape[10], shape[11], shape[12], min(height, z1))


@kernel
def work_along(first, pitch, nu, nv, shape, code, box, rows, ends, tags, count, amount, longest, touched, where):  # type: ignore[no-untyped-def]
    """Apply sweeps `rows` to a tile of rays along Z; returns (ends, tags), which may have been given more room.

    first, pitch float64 (2,): place of the first ray and distance of rays in x, y (mm); ray = v * nu + u. shape, code, box: see
    Sweeps. ends, tags, count: see lists. Results for each of `rows`: amount float64 total length removed, longest float64 the
    longest stretch removed or overlapped on one ray, touched int32 number of rays changed, where float64 (n, 3) middle of the
    longest overlap.
    """
    tops = np.empty(nv, np.float64)
    for v in range(nv):
        tops[v] = _row_top(ends, count, nu, v)
    tile_top = tops.max()
    for k in range(rows.size):
        s = rows[k]
        if box[s, 2] >= tile_top:
            continue
        one, path, meridian, cuts = shape[s], code[s, 0], code[s, 1], code[s, 2] == 0
        tip_low = min(one[2], one[2] + one[5])
        lower = False
        va, vb = _rays_between(box[s, 1], box[s, 4], first[1], pitch[1], nv)
        for v in range(va, vb):
            if box[s, 2] >= tops[v]:
                continue
            y = first[1] + pitch[1] * v
            low, high = _plan_row(one, path, _width_below(one, meridian, tops[v] - tip_low), y, box[s, 0], box[s, 3])
            ua, ub = _rays_between(low, high, first[0], pitch[0], nu)
            changed = False
            for u in range(ua, ub):
                ray = v * nu + u
                if count[ray] == 0:
                    continue
                x = first[0] + pitch[0] * u
                low, high, _, _ = span_along(one, path, meridian, x, y)
                if low >= high:
                    continue
                if cuts:
                    taken = take_out(ends, tags, count, ray, low, high, -1 - s)
                    if taken < 0.0:
                        ends, tags = widened(ends, tags)
                        taken = take_out(ends, tags, count, ray, low, high, -1 - s)
                    if taken > 0.0:
                        amount[k] += taken
                        longest[k] = max(longest[k], taken)
                        touched[k] += 1
                        changed = True
                else:
                    depth, middle = longest_overlap(ends, count, ray, low, high)
                    if depth > longest[k]:
                        longest[k] = depth
                        where[k, 0], where[k, 1], where[k, 2] = x, y, middle
            if changed:
                tops[v] = _row_top(ends, count, nu, v)
                lower = True
        if lower:
            tile_top = tops.max()
    return ends, tags


@kernel
def _side_row(shape, meridian, z):  # type: ignore[no-untyped-def]
    """The stretch of y that a straight sweep may cover at height z; low > high: none."""
    z0, z1, start, way = shape[6], shape[7], z - shape[2], shape[5]
    first, last = 0.0, 1.0
    if way != 0.0:
        a, b = (start - z0) / way, (start - z1) / way
        first, last = max(0.0, min(a, b)), min(1.0, max(a, b))
        if first > last:
            return 1.0, 0.0
    elif not z0 < start < z1:
        return 1.0, 0.0
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
    a, b = shape[1] + first * shape[4], shape[1] + last * shape[4]
    return min(a, b) - width, max(a, b) + width


@kernel
def work_across(first, pitch, nu, nv, shape, code, box, rows, ends, tags, count, amount, longest, touched, where):  # type: ignore[no-untyped-def]
    """Apply sweeps `rows` to a tile of rays along X at (y, z); arguments and results as for `work_along`."""
    spans = np.empty((8, 2), np.float64)
    metal = np.zeros(nv, np.int64)
    for v in range(nv):
        metal[v] = count[v * nu : (v + 1) * nu].sum()
    for k in range(rows.size):
        s = rows[k]
        one, path, meridian, cuts = shape[s], code[s, 0], code[s, 1], code[s, 2] == 0
        va, vb = _rays_between(box[s, 2], box[s, 5], first[1], pitch[1], nv)
        for v in range(va, vb):
            if metal[v] == 0:
                continue
            z = first[1] + pitch[1] * v
            low, high = (box[s, 1], box[s, 4]) if path != 0 else _side_row(one, meridian, z)
            ua, ub = _rays_between(low, high, first[0], pitch[0], nu)
            for u in range(ua, ub):
                ray = v * nu + u
                if count[ray] == 0:
                    continue
                y = first[0] + pitch[0] * u
                found = 1
                if path == 0:
                    spans[0, 0], spans[0, 1], _, _ = span_across(one, meridian, y, z)
                else:
                    found = spans_across_arc(one, path, meridian, y, z, spans)
                before, total = count[ray], 0.0
                for j in range(found):
                    low, high = spans[j, 0], spans[j, 1]
                    if low >= high:
                        continue
                    if cuts:
                        taken = take_out(ends, tags, count, ray, low, high, -1 - s)
                        if taken < 0.0:
                            ends, tags = widened(ends, tags)
                            taken = take_out(ends, tags, count, ray, low, high, -1 - s)
                        total += taken
                    else:
                        depth, middle = longest_overlap(ends, count, ray, low, high)
                        if depth > longest[k]:
                            longest[k] = depth
                            where[k, 0], where[k, 1], where[k, 2] = middle, y, z
                if total > 0.0:
                    amount[k] += total
                    longest[k] = max(longest[k], total)
                    touched[k] += 1
                    metal[v] += count[ray] - before
    return ends, tags
