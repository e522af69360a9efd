"""What the sweeps do to one tile of rays along Z: take metal out, or measure the overlap where they may only touch.

A tile is a rectangle of rays that one thread owns; all sweeps that may reach it are applied in their order. A row of rays is left
alone as soon as it is known that the sweep passes above its highest metal.
"""

from __future__ import annotations

import math

import numpy as np

from setwright.base.jit import borrowed, kernel
from setwright.removal.along import span_along
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.capsule import capsule_lead, capsule_share
from setwright.removal.gaps import WANTED
from setwright.removal.lists import longest_overlap, overlaps, widened
from setwright.removal.reach import radius_at
from setwright.removal.rows import rays_between, worth_between
from setwright.removal.tops import (
    cut_list,
    is_left,
    load,
    lower,
    lower_row,
    note,
    noted,
    put_back,
    reach_row,
    sum_of_row,
)  # fmt: skip

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
def _sift_row(tops: Floats, ray0: int, ua: int, ub: int, xs: Floats, y: float, shape: Floats, worth: Floats) -> int:
    """For rays ua up to ub of a row, at `xs` and `y`: worth[u] > 0 where the straight sweep of a sphere, below its middle, may
    reach below the ray's highest metal; returns how many those are.

    The loop has no branches and no signed places (which numba would look at for being counted from the end), so that several rays
    are looked at in one instruction.
    """
    sx, sy, dx, dy = shape[0], shape[1], shape[3], shape[4]
    base, q, found = np.uint64(ray0), y - sy, 0
    sphere = shape[12] * shape[12] + 0.25 * (dx * dx + dy * dy)  # a place between start and end may be nearer than both
    first, last, middle = sphere - q * q, sphere - (q - dy) * (q - dy), min(shape[2], shape[2] + shape[5]) + shape[11]
    for u in range(np.uint64(ua), np.uint64(ub)):
        p = xs[u] - sx
        p1 = p - dx
        under = max(0.0, middle - tops[base + u])
        more = max(first - p * p, last - p1 * p1) - under * under
        worth[u] = more
        found += more > 0.0
    return found


@kernel
def _above_row(shape: Floats, y: float, top: float) -> bool:
    """Whether a sphere's straight sweep surely stays above a height on the whole row y."""
    under = min(shape[2], shape[2] + shape[5]) + shape[11] - top
    aside = max(0.0, max(min(shape[1], shape[1] + shape[4]) - y, y - max(shape[1], shape[1] + shape[4])))
    return bool(under > 0.0 and under * under + aside * aside >= shape[12] * shape[12])


@kernel
def _kind(shape: Floats, path: int, meridian: int) -> int:
    """How rays are looked at before the exact formulas. 1: a sphere that may be sifted (_sift_row); 2: a cylinder, whose formula
    is as quick as any sifting (tops.reach_row); 0: by whether they are high enough at all."""
    if path != 0:
        return 0
    if meridian == 1 and shape[10] == 0.0 and shape[6] + shape[12] <= shape[11] <= shape[7]:
        return 1
    if meridian == 0 and shape[8] == shape[9] and shape[3] * shape[3] + shape[4] * shape[4] > 0.0:
        return 2
    return 0


@kernel
def _under_sphere(ua: int, ub: int, xs: Floats, y: float, shape: Floats, worth: Floats, lows: Floats) -> None:
    """Where a sphere's straight sweep has its lower end on rays ua up to ub of a row, at `xs` and `y`: lows[u], inf where it misses
    the ray or that is not worth it. Without branches, as `_sift_row`."""
    sx, sy, dx, dy, dz = shape[0], shape[1], shape[3], shape[4], shape[5]
    square, across = shape[12] * shape[12], dx * dx + dy * dy
    each, lead, middle, q = 1.0 / across if across > 0.0 else 0.0, -capsule_lead(dz, across), shape[2] + shape[11], y - sy
    for u in range(np.uint64(ua), np.uint64(ub)):
        p = xs[u] - sx
        t = capsule_share(p, q, dx, dy, each, lead, square)
        rest = square - (p - t * dx) * (p - t * dx) - (q - t * dy) * (q - t * dy)
        low = middle + t * dz - math.sqrt(max(0.0, rest))
        lows[u] = low if (rest > 0.0) & (worth[u] > 0.0) else math.inf


@kernel
def _chosen(tops: Floats, ray0: int, ua: int, ub: int, bottom: float, chosen: Longs) -> int:
    """The rays of a row that have metal above `bottom`, written to `chosen` (u); returns how many."""
    base, n = np.uint64(ray0), np.uint64(0)
    for u in range(np.uint64(ua), np.uint64(ub)):
        chosen[n] = u
        n += np.uint64(tops[base + u] > bottom)
    return int(n)


@kernel
def _sure_top(shape: Floats, meridian: int) -> float:
    """A height that every ray of a sweep reaches, mm; -inf if there is none to be had without looking."""
    flat_top = shape[7] <= shape[11] if meridian == 1 else shape[9] >= shape[8]
    return min(shape[2], shape[2] + shape[5]) + shape[7] if flat_top else -math.inf


@kernel
def _cut_rays(
    tops: Floats, ends: Floats, tags: Ints, count: Ints, ray0: int, start: int, n: int, chosen: Longs, xs: Floats, y: float,
    shape: Floats, path: int, meridian: int, tag: int, top: float, amount: float, longest: float, touched: int, lowered: int,
    log: Floats, logged: int, k: int
) -> tuple[int, float, float, int, int, int]:
    """Take the sweep out of the chosen rays from number `start` on: (the first not done for want of room, or n; length removed;
    longest on one ray; rays changed; rays lowered that were as high as `top`; rows of `log` written), counted on from those given:
    so that sums do not depend on where room is wanting. `tops`: see the module of that name; `log`, `k`: see work_along."""
    for i in range(start, n):
        ray = ray0 + chosen[i]
        before = tops[np.uint64(ray)]
        low, high, _, _ = span_along(shape, path, meridian, xs[chosen[i]], y, before)
        if low >= high:
            continue
        taken = lower(tops, ray, low, high, tag)
        if taken == WANTED:
            taken = cut_list(tops, ends, tags, count, ray, low, high, tag)
        if taken < 0.0:
            return i, amount, longest, touched, lowered, logged
        if taken > 0.0:
            amount += taken
            longest = max(longest, taken)
            touched += 1
            lowered += before >= top
            if log.shape[0] > 0:
                logged = _write(log, logged, k, ray, low, taken)
    return n, amount, longest, touched, lowered, logged


@kernel
def _write(log: Floats, logged: int, k: int, ray: int, low: float, taken: float) -> int:
    log[logged, 0], log[logged, 1], log[logged, 2], log[logged, 3] = k, ray, low, taken
    return logged + 1


@kernel
def _log_row(tops: Floats, ray0: int, ua: int, ub: int, lows: Floats, log: Floats, logged: int, k: int) -> int:
    """Write what is noted as taken off rays ua up to ub of a row."""
    for u in range(ua, ub):
        taken = noted(tops, ray0 + u)
        if taken > 0.0:
            logged = _write(log, logged, k, ray0 + u, lows[u], taken)
    return logged


@kernel
def _with_room(log: Floats, logged: int, more: int) -> Floats:
    """The log itself if it has room for `more` rows, else a copy with twice its room."""
    if logged + more <= log.shape[0]:
        return log
    wider = np.empty((2 * log.shape[0] + more, log.shape[1]), np.float64)
    for row in range(logged):
        for column in range(log.shape[1]):
            wider[row, column] = log[row, column]
    return wider


@kernel
def _cut_left(
    tops: Floats, ends: Floats, tags: Ints, count: Ints, ray0: int, u: int, ub: int, lows: Floats, xs: Floats, y: float,
    shape: Floats, meridian: int, tag: int, top: float, touched: int, lowered: int
) -> tuple[int, int, int]:
    """Take a straight sweep out of the rays of a row, from u on, that `lower_row` left; what is taken is noted. Returns (the first
    not done for want of room, or ub; rays changed; rays lowered that were as high as `top`), counted on from those given."""
    sure_top = _sure_top(shape, meridian)
    for k in range(u, ub):
        if not is_left(tops, ray0 + k):
            continue
        ray, low, high = ray0 + k, lows[k], sure_top
        before = tops[np.uint64(ray)]
        if before > sure_top:
            low, high, _, _ = span_along(shape, 0, meridian, xs[k], y, before)
            if low >= high:
                continue
            lows[k] = low
        taken = lower(tops, ray, low, high, tag)
        if taken == WANTED:
            taken = cut_list(tops, ends, tags, count, ray, low, high, tag)
        if taken < 0.0:
            return k, touched, lowered
        note(tops, ray, taken)
        touched += taken > 0.0
        lowered += taken > 0.0 and before >= top
    return ub, touched, lowered


@kernel
def _touch_row(
    ends: Floats, count: Ints, ray0: int, ua: int, ub: int, x0: float, pitch: float, y: float, shape: Floats, path: int,
    meridian: int, least: float, greatest: float
) -> tuple[float, float, float]:
    """The longest overlap of the sweep, which lies between `least` and `greatest`, with the metal on rays ua up to ub of one row:
    (length, x, middle)."""
    deepest, at, middle = 0.0, 0.0, 0.0
    for u in range(ua, ub):
        if overlaps(ends, count, ray0 + u, least, greatest, deepest):
            low, high, _, _ = span_along(shape, path, meridian, x0 + pitch * u, y, math.inf)
            if high - low > deepest:
                depth, place = longest_overlap(ends, count, ray0 + u, low, high)
                if depth > deepest:
                    deepest, at, middle = depth, x0 + pitch * u, place
    return deepest, at, middle


@kernel
def _any_above(tops: Floats, ray0: int, ua: int, ub: int, bottom: float) -> bool:
    """Whether any of the rays ua up to ub of a row has metal above `bottom`."""
    base, found = np.uint64(ray0), 0
    for u in range(np.uint64(ua), np.uint64(ub)):
        found += tops[base + u] > bottom
    return found > 0


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
def _put_back_row(tops: Floats, ends: Floats, tags: Ints, count: Ints, ray0: int, nu: int) -> None:
    for ray in range(ray0, ray0 + nu):
        put_back(tops, ends, tags, count, ray)


@kernel
def work_along(
    first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, code: Ints, box: Floats, rows: Ints, ends: Floats, tags: Ints,
    count: Ints, amount: Floats, longest: Floats, touched: Longs, where: Floats, columns: Floats,
    scratch: Floats, held: Longs, log: Floats
) -> tuple[Floats, Ints, Floats, int]:
    """Apply sweeps `rows` to a tile of rays along Z; returns (ends, tags, log, rows of it written), which may have been given more
    room.

    first, pitch float64 (2,): place of the first ray and distance of rays in x, y (mm); ray = v * nu + u. shape, code, box: see
    Sweeps. ends, tags, count: see lists. Results for each of `rows`: amount float64 total length removed, longest float64 the
    longest stretch removed or overlapped on one ray, touched int64 number of rays changed, where float64 (n, 3) middle of the
    longest overlap (mm). `log` float64 (room, 4), unless it has no room at all: every stretch removed, in order, as number in
    `rows`, ray, its lower end, its length (mm).
    """
    shape, code, box, rows, count = borrowed(shape), borrowed(code), borrowed(box), borrowed(rows), borrowed(count)
    amount, longest, touched, where = borrowed(amount), borrowed(longest), borrowed(touched), borrowed(where)
    worth, lows, xs, row_tops = borrowed(scratch)[0], borrowed(scratch)[1], borrowed(scratch)[2], borrowed(scratch)[3, :nv]
    tops, highest, chosen = borrowed(columns), borrowed(held)[0], borrowed(held)[1]
    behind = borrowed(held)[2]  # rows whose lists do not have yet what `tops` has
    behind[:nv] = 0
    logged, logs = 0, log.shape[0] > 0
    for u in range(nu):
        xs[u] = first[0] + pitch[0] * u
    here, marks = borrowed(ends), borrowed(tags)
    for ray in range(nu * nv):
        load(tops, here, marks, count, ray)
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
        lower, cuts = False, code[s, 2] == 0
        kind = _kind(one, path, meridian) if cuts else 0
        va, vb = rays_between(box[s, 1], box[s, 4], first[1], pitch[1], nv)
        ua, last = rays_between(box[s, 0], box[s, 3], first[0], pitch[0], nu)
        for v in range(va, vb):
            if box[s, 2] >= row_tops[v]:
                continue
            y, ray0 = first[1] + pitch[1] * v, v * nu
            total, most, rays, fell = amount[k], longest[k], touched[k], 0
            if logs:
                log = _with_room(log, logged, nu)
            if kind != 0:
                u, ub = ua, last
                if kind == 2:
                    if reach_row(tops, ray0, u, ub, xs, y, one, lows) == 0:
                        continue
                else:
                    if _above_row(one, y, row_tops[v]) or _sift_row(tops, ray0, u, ub, xs, y, one, worth) == 0:
                        continue
                    u, ub = worth_between(worth, u, ub)
                    _under_sphere(u, ub, xs, y, one, worth, lows)
                at = u
                rays, left, fell = lower_row(tops, ray0, u, ub, lows, _sure_top(one, meridian), row_tops[v], -1 - s)
                if left == 0:
                    u = ub
                while u < ub:
                    u, rays, fell = _cut_left(
                        tops, here, marks, count, ray0, u, ub, lows, xs, y, one, meridian, -1 - s, row_tops[v], rays, fell)
                    if u < ub:
                        ends, tags = widened(ends, tags)
                        here, marks = borrowed(ends), borrowed(tags)
                if rays == 0:
                    continue
                total, most = sum_of_row(tops, ray0, at, ub, total, most)
                if logs:
                    logged = _log_row(tops, ray0, at, ub, lows, log, logged, k)
                rays += touched[k]
            else:
                width = _width_below(one, meridian, row_tops[v] - tip_low)
                low, high = _plan_row(one, path, width, y, box[s, 0], box[s, 3])
                u, ub = rays_between(low, high, first[0], pitch[0], nu)
                if not cuts:
                    if not _any_above(tops, ray0, u, ub, box[s, 2]):
                        continue
                    if behind[v] != 0:
                        _put_back_row(tops, here, marks, count, ray0, nu)
                        behind[v] = 0
                    depth, x, z = _touch_row(here, count, ray0, u, ub, first[0], pitch[0], y, one, path, meridian, box[s, 2],
                                             box[s, 5])  # fmt: skip
                    if depth > longest[k]:
                        longest[k], where[k, 0], where[k, 1], where[k, 2] = depth, x, y, z
                    continue
                n, i = _chosen(tops, ray0, u, ub, tip_low + one[6], chosen), 0
                while i < n:
                    i, total, most, rays, fell, logged = _cut_rays(
                        tops, here, marks, count, ray0, i, n, chosen, xs, y, one, path, meridian, -1 - s, row_tops[v], total, most,
                        rays, fell, log, logged, k)  # fmt: skip
                    if i < n:
                        ends, tags = widened(ends, tags)
                        here, marks = borrowed(ends), borrowed(tags)
            amount[k], longest[k], touched[k], behind[v] = total, most, rays, 1
            highest[v] -= fell
            if highest[v] <= 0:
                row_tops[v], highest[v] = _row_top(tops, ray0, ray0 + nu)
                lower = True
        if lower:
            tile_top = row_tops.max()
    for v in range(nv):
        if behind[v] != 0:
            _put_back_row(tops, here, marks, count, v * nu, nu)
    return ends, tags, log, logged
