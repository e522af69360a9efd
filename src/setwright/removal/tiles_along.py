"""What the sweeps do to one tile of rays along Z: take metal out, or measure the overlap where they may only touch.

A tile is a rectangle of rays that one thread owns; all sweeps that may reach it are applied in their order. A row of rays is left
alone as soon as it is known that the sweep passes above its highest metal.
"""

from __future__ import annotations

import math

import numpy as np

from setwright.base.jit import borrowed, kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.along import span_along
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.capsule import capsule_lead, capsule_share
from setwright.removal.lists import longest_overlap, take_out, widened
from setwright.removal.reach import radius_at
from setwright.removal.rows import rays_between

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
def _sift_row(
    tops: Floats, ray0: int, ua: int, ub: int, xs: Floats, y: float, shape: Floats, kind: int, worth: Floats
) -> int:  # fmt: skip
    """For rays ua up to ub of a row, at `xs` and `y`: worth[u] > 0 where a straight sweep may reach below the ray's highest metal;
    returns how many those are.

    `kind` 1: a sphere below its middle; 2: a cylinder (see _kind). The loops have no branches and no signed places (which numba
    would look at for being counted from the end), so that several rays are looked at in one instruction.
    """
    sx, sy, dx, dy, dz = shape[0], shape[1], shape[3], shape[4], shape[5]
    base, a, b = np.uint64(ray0), np.uint64(ua), np.uint64(ub)
    q, found = y - sy, 0
    if kind == 1:
        sphere = shape[12] * shape[12] + 0.25 * (dx * dx + dy * dy)  # a place between start and end may be nearer than both
        first, last, middle = sphere - q * q, sphere - (q - dy) * (q - dy), min(shape[2], shape[2] + dz) + shape[11]
        for u in range(a, b):
            p = xs[u] - sx
            p1 = p - dx
            under = max(0.0, middle - tops[base + u])
            more = max(first - p * p, last - p1 * p1) - under * under
            worth[u] = more
            found += more > 0.0
        return found
    length = math.sqrt(dx * dx + dy * dy)
    ex, ey, slope, start, disc = dx / length, dy / length, dz / length, shape[2] + shape[6], shape[8] * shape[8]
    for u in range(a, b):
        p = xs[u] - sx
        along, aside = p * ex + q * ey, q * ex - p * ey
        inside = disc - aside * aside
        half = math.sqrt(max(0.0, inside))
        way = min(length, along + half) if slope < 0.0 else max(0.0, along - half)
        beyond = along - min(max(along, 0.0), length)
        more = min(tops[base + u] - (start + slope * way), inside - beyond * beyond)
        worth[u] = more
        found += more > 0.0
    return found


@kernel
def _kind(shape: Floats, path: int, meridian: int) -> int:
    """How rays are sifted before the exact formulas: see _sift_row; 0: not at all."""
    if path != 0:
        return 0
    if meridian == 1 and shape[10] == 0.0 and shape[6] + shape[12] <= shape[11] <= shape[7]:
        return 1
    if meridian == 0 and shape[8] == shape[9] and shape[3] * shape[3] + shape[4] * shape[4] > 0.0:
        return 2
    return 0


@kernel
def _chosen(
    tops: Floats, worth: Floats, ray0: int, ua: int, ub: int, xs: Floats, y: float, shape: Floats, kind: int, chosen: Longs,
    lows: Floats
) -> int:  # fmt: skip
    """The rays of a row that are worth it, written to `chosen` (u), and where the sweep's lower end lies on them (nan: still to be
    found); returns how many. `kind` 0: all that have metal above the sweep's lowest point."""
    sx, sy, dx, dy, dz = shape[0], shape[1], shape[3], shape[4], shape[5]
    base, a, b, n = np.uint64(ray0), np.uint64(ua), np.uint64(ub), np.uint64(0)
    if kind == 0:
        bottom = min(shape[2], shape[2] + dz) + shape[6]
        for u in range(a, b):
            chosen[n], lows[n] = u, math.nan
            n += np.uint64(tops[base + u] > bottom)
        return int(n)
    for u in range(a, b):
        chosen[n] = u
        n += np.uint64(worth[u] > 0.0)
    if kind == 2:
        length, disc = math.sqrt(dx * dx + dy * dy), shape[8] * shape[8]
        ex, ey, slope, start, q = dx / length, dy / length, dz / length, shape[2] + shape[6], y - sy
        for i in range(n):
            p = xs[np.uint64(chosen[i])] - sx
            along, aside = p * ex + q * ey, q * ex - p * ey
            half = math.sqrt(max(0.0, disc - aside * aside))
            way = min(length, along + half) if slope < 0.0 else max(0.0, along - half)
            lows[i] = start + slope * way
        return int(n)
    square, across = shape[12] * shape[12], dx * dx + dy * dy
    each, lead, middle, q = 1.0 / across if across > 0.0 else 0.0, -capsule_lead(dz, across), shape[2] + shape[11], y - sy
    for i in range(n):
        p = xs[np.uint64(chosen[i])] - sx
        t = capsule_share(p, q, dx, dy, each, lead, square)
        rest = square - (p - t * dx) * (p - t * dx) - (q - t * dy) * (q - t * dy)
        lows[i] = middle + t * dz - math.sqrt(rest) if rest > 0.0 else math.inf
    return int(n)


@kernel
def _cut_rays(
    ends: Floats, tags: Ints, count: Ints, tops: Floats, ray0: int, start: int, n: int, chosen: Longs, lows: Floats, x0: float,
    pitch: float, y: float, shape: Floats, path: int, meridian: int, tag: int, top: float, amount: float, longest: float,
    touched: int, lowered: int
) -> tuple[int, float, float, int, int]:
    """Take the sweep out of the chosen rays from number `start` on: (the first not done for want of room, or n; length removed;
    longest on one ray; rays changed; rays lowered that were as high as `top`), counted on from those given: so that sums do not
    depend on where room is wanting. `tops`: highest metal of each ray of the tile."""
    flat_top = shape[7] <= shape[11] if meridian == 1 else shape[9] >= shape[8]
    # every ray of the sweep reaches at least as high
    sure_top = min(shape[2], shape[2] + shape[5]) + shape[7] if flat_top else -math.inf
    for i in range(start, n):
        ray = ray0 + chosen[i]
        low, high, metal_top = lows[i], sure_top, tops[ray]
        if math.isnan(low) or metal_top > sure_top:
            low, high, _, _ = span_along(shape, path, meridian, x0 + pitch * chosen[i], y, metal_top)
            if low >= high:
                continue
        if metal_top - low <= COORDINATE_ROUND_OFF_MM:
            continue
        last = count[ray] - 1
        if high >= metal_top and low - ends[ray, last, 0] > COORDINATE_ROUND_OFF_MM:  # only the top comes off: the common case
            taken = metal_top - low
            ends[ray, last, 1], tags[ray, last, 1], tops[ray] = low, tag, low
        else:
            taken = take_out(ends, tags, count, ray, low, high, tag)
            if taken < 0.0:
                return i, amount, longest, touched, lowered
            tops[ray] = ends[ray, count[ray] - 1, 1] if count[ray] > 0 else -math.inf
        if taken > 0.0:
            amount += taken
            longest = max(longest, taken)
            touched += 1
            lowered += metal_top >= top
    return n, amount, longest, touched, lowered


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
def _row_top(tops: Floats, first: int, last: int) -> tuple[float, int]:
    """The highest metal of rays first up to last (excluded), and how many have it; rays without metal have -inf."""
    top, many = -math.inf, 0
    for ray in range(first, last):
        if tops[ray] > top:
            top, many = tops[ray], 1
        elif tops[ray] == top:
            many += 1
    return top, many


@kernel
def work_along(
    first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, code: Ints, box: Floats, rows: Ints, ends: Floats, tags: Ints,
    count: Ints, amount: Floats, longest: Floats, touched: Longs, where: Floats, scratch: Floats, held: Longs
) -> tuple[Floats, Ints]:
    """Apply sweeps `rows` to a tile of rays along Z; returns (ends, tags), which may have been given more room.

    first, pitch float64 (2,): place of the first ray and distance of rays in x, y (mm); ray = v * nu + u. shape, code, box: see
    Sweeps. ends, tags, count: see lists. Results for each of `rows`: amount float64 total length removed, longest float64 the
    longest stretch removed or overlapped on one ray, touched int64 number of rays changed, where float64 (n, 3) middle of the
    longest overlap (x, y, z). scratch float64 (7, rays or 16), held int64 (2, rays): room to work in.
    """
    shape, code, box, rows, count = borrowed(shape), borrowed(code), borrowed(box), borrowed(rows), borrowed(count)
    amount, longest, touched, where = borrowed(amount), borrowed(longest), borrowed(touched), borrowed(where)
    tops, lows, worth, row_tops = borrowed(scratch)[0], borrowed(scratch)[1], borrowed(scratch)[2], borrowed(scratch)[3, :nv]
    xs, highest, chosen = borrowed(scratch)[4], borrowed(held)[0], borrowed(held)[1]
    for u in range(nu):
        xs[u] = first[0] + pitch[0] * u
    here, marks = borrowed(ends), borrowed(tags)
    for ray in range(nu * nv):
        tops[ray] = here[ray, count[ray] - 1, 1] if count[ray] > 0 else -math.inf
    for v in range(nv):
        row_tops[v], highest[v] = _row_top(tops, v * nu, (v + 1) * nu)
    tile_top = row_tops.max()
    for k in range(rows.size):
        s = rows[k]
        if box[s, 2] >= tile_top:
            continue
        one, path, meridian = shape[s], code[s, 0], code[s, 1]
        tip_low = min(one[2], one[2] + one[5])
        width = _width_below(one, meridian, tile_top - tip_low)
        if path == 0 and _passes_above(first, pitch, nu, nv, one, width):
            continue
        lower, kind = False, _kind(one, path, meridian) if code[s, 2] == 0 else 0
        va, vb = rays_between(box[s, 1], box[s, 4], first[1], pitch[1], nv)
        ua, last = rays_between(box[s, 0], box[s, 3], first[0], pitch[0], nu)
        for v in range(va, vb):
            if box[s, 2] >= row_tops[v]:
                continue
            y = first[1] + pitch[1] * v
            u, ub = ua, last
            if kind > 0:
                if _sift_row(tops, v * nu, ua, last, xs, y, one, kind, worth) == 0:
                    continue
            else:
                width = _width_below(one, meridian, row_tops[v] - tip_low)
                low, high = _plan_row(one, path, width, y, box[s, 0], box[s, 3])
                u, ub = rays_between(low, high, first[0], pitch[0], nu)
            if code[s, 2] != 0:
                depth, x, z = _touch_row(here, count, v * nu, u, ub, first[0], pitch[0], y, one, path, meridian)
                if depth > longest[k]:
                    longest[k], where[k, 0], where[k, 1], where[k, 2] = depth, x, y, z
                continue
            n = _chosen(tops, worth, v * nu, u, ub, xs, y, one, kind, chosen, lows)
            i, total, most, rays, fell = 0, amount[k], longest[k], touched[k], 0
            while i < n:
                i, total, most, rays, fell = _cut_rays(
                    here, marks, count, tops, v * nu, i, n, chosen, lows, first[0], pitch[0], y, one, path, meridian, -1 - s,
                    row_tops[v], total, most, rays, fell)  # fmt: skip
                if i < n:
                    ends, tags = widened(ends, tags)
                    here, marks = borrowed(ends), borrowed(tags)
            amount[k], longest[k], touched[k] = total, most, rays
            highest[v] -= fell
            if highest[v] <= 0:
                row_tops[v], highest[v] = _row_top(tops, v * nu, (v + 1) * nu)
                lower = True
        if lower:
            tile_top = row_tops.max()
    return ends, tags
