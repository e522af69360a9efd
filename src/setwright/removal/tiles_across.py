"""What the sweeps do to one tile of rays across the tool axis; see tiles_along, whose arguments and results are the same."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from setwright.base.jit import borrowed, kernel
from setwright.removal.across import span_across, spans_across_arc
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.capsule import capsule_lead, capsule_share
from setwright.removal.gaps import (
    GAP_HIGH,
    GAP_LOW,
    WANTED,
    cut_list,
    left_of_row,
    load,
    put_back,
    reach_row,
    sum_of_row,
    widen,
    widen_row,
)  # fmt: skip
from setwright.removal.lists import longest_overlap, overlaps, widened
from setwright.removal.reach import radius_at
from setwright.removal.rows import rays_between, worth_between

__all__ = ["work_across"]

_THERE: Final = 1
_CHANGED: Final = 2
_TOUCHED: Final = 3
"""What of a row of rays is in the columns: the gap where it is being cut, as it is in the lists or more than that; or the gap where
it was last looked at for touching."""


@kernel
def _part_at(shape: Floats, meridian: int, start: float) -> tuple[float, float, float]:
    """The part of a straight way along which a row at height `start` above the tip's start meets the piece, and the widest it is
    seen there: (first share, last share, radius); first > last: none."""
    z0, z1, way = shape[6], shape[7], shape[5]
    first, last = 0.0, 1.0
    if way != 0.0:
        a, b = (start - z0) / way, (start - z1) / way
        first, last = max(0.0, min(a, b)), min(1.0, max(a, b))
        if first > last:
            return 1.0, 0.0, 0.0
    elif not z0 < start < z1:
        return 1.0, 0.0, 0.0
    if meridian == 0 and shape[8] == shape[9]:
        return first, last, shape[8]
    a = min(max(start - first * way, z0), z1)
    b = min(max(start - last * way, z0), z1)
    if meridian == 1:
        height = min(max(shape[11], min(a, b)), max(a, b))
        return first, last, radius_at(meridian, z0, z1, shape[8], shape[9], shape[10], shape[11], shape[12], height)
    if z1 > z0:
        at_a = radius_at(meridian, z0, z1, shape[8], shape[9], 0.0, 0.0, 0.0, a)
        return first, last, max(at_a, radius_at(meridian, z0, z1, shape[8], shape[9], 0.0, 0.0, 0.0, b))
    return first, last, max(shape[8], shape[9])


@kernel
def _stretch(start: float, way: float, part: tuple[float, float, float]) -> tuple[float, float]:
    """Least and greatest coordinate that part of a way covers, given its start and way on that axis."""
    a, b = start + part[0] * way, start + part[1] * way
    return min(a, b) - part[2], max(a, b) + part[2]


@kernel
def _disc_of(shape: Floats, meridian: int, start: float) -> tuple[bool, float, float, float]:
    """Whether a row at height `start` above the tip's start sees a round thing all the way: (so, height above its middle, rise of
    the middle along the way, radius squared): a sphere, or the disc that a piece shows where it keeps to one radius or to one
    place."""
    dz = shape[5]
    if shape[3] == 0.0 and shape[4] == 0.0:
        first, last, width = _part_at(shape, meridian, start)
        return first <= last, 0.0, 0.0, width * width
    if min(start, start - dz) < shape[6] or max(start, start - dz) > shape[7]:
        return False, 0.0, 0.0, 0.0
    if meridian == 1 and shape[10] == 0.0:
        return True, start - shape[11], dz, shape[12] * shape[12]
    if dz == 0.0 or (meridian == 0 and shape[8] == shape[9]):
        width = radius_at(meridian, shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12], start)
        return True, 0.0, 0.0, width * width
    return False, 0.0, 0.0, 0.0


@kernel
def _sift_row(
    gaps: Floats, ray0: int, ua: int, ub: int, ys: Floats, z: float, shape: Floats, meridian: int, worth: Floats
) -> int:  # fmt: skip
    """For rays ua up to ub of a row, at `ys` and `z`: worth[u] > 0 where a straight sweep may reach beyond the ray's known gap;
    returns how many those are.

    Seen as a sphere, or as a disc of the greatest radius that the piece shows in the row, along the whole way. As in tiles_along,
    several rays are looked at in one instruction.
    """
    sx, sy, dx, dy, dz = shape[0], shape[1], shape[3], shape[4], shape[5]
    low, high = min(sx, sx + dx), max(sx, sx + dx)
    if meridian == 1 and shape[10] == 0.0:
        above, way_z, square = z - shape[2] - shape[11], dz, shape[12] * shape[12]
    else:
        first, last, width = _part_at(shape, meridian, z - shape[2])
        if first > last:
            return 0
        above, way_z, square = 0.0, 0.0, width * width
    square += 0.25 * (dy * dy + way_z * way_z)  # a place between start and end may be nearer than both
    at_first, at_last = square - above * above, square - (above - way_z) * (above - way_z)
    base, found = np.uint64(ray0), 0
    for u in range(np.uint64(ua), np.uint64(ub)):
        p = ys[u] - sy
        p1 = p - dy
        free = max(0.0, min(gaps[base + u + GAP_HIGH] - high, low - gaps[base + u + GAP_LOW]))
        more = max(at_first - p * p, at_last - p1 * p1) - free * free
        worth[u] = more
        found += more > 0.0
    return found


@kernel
def _even_ends(ys: Floats, ua: int, ub: int, shape: Floats, lows: Floats, highs: Floats) -> None:
    """The ends of a cylinder's straight sweep on rays ua up to ub of any row that meets it all along its way; low above high: it
    misses the ray."""
    sx, sy, dx, dy, square = shape[0], shape[1], shape[3], shape[4], shape[8] * shape[8]
    across = dy * dy
    each, lead = 1.0 / across if across > 0.0 else 0.0, capsule_lead(dx, across)
    for u in range(np.uint64(ua), np.uint64(ub)):
        p = ys[u] - sy
        t = capsule_share(p, 0.0, dy, 0.0, each, lead, square)
        rest = square - (p - t * dy) * (p - t * dy)
        highs[u] = sx + t * dx + math.sqrt(max(0.0, rest)) if rest > 0.0 else -math.inf
        t = capsule_share(p, 0.0, dy, 0.0, each, -lead, square)
        rest = square - (p - t * dy) * (p - t * dy)
        lows[u] = sx + t * dx - math.sqrt(max(0.0, rest)) if rest > 0.0 else math.inf


@kernel
def _round_ends(
    ua: int, ub: int, ys: Floats, shape: Floats, disc: tuple[bool, float, float, float], worth: Floats, lows: Floats, highs: Floats
) -> None:  # fmt: skip
    """The ends of a straight sweep that is round all the way (`disc`: of _disc_of) on rays ua up to ub of a row; low above high: it
    misses the ray, or that is not worth it. Without branches, as `_sift_row`."""
    sx, sy, dx, dy = shape[0], shape[1], shape[3], shape[4]
    _, q, way_q, square = disc
    across = dy * dy + way_q * way_q
    each, lead = 1.0 / across if across > 0.0 else 0.0, capsule_lead(dx, across)
    for u in range(np.uint64(ua), np.uint64(ub)):
        p, wanted = ys[u] - sy, worth[u] > 0.0
        t = capsule_share(p, q, dy, way_q, each, lead, square)
        rest = square - (p - t * dy) * (p - t * dy) - (q - t * way_q) * (q - t * way_q)
        high = sx + t * dx + math.sqrt(max(0.0, rest))
        highs[u] = high if (rest > 0.0) & wanted else -math.inf
        t = capsule_share(p, q, dy, way_q, each, -lead, square)
        rest = square - (p - t * dy) * (p - t * dy) - (q - t * way_q) * (q - t * way_q)
        low = sx + t * dx - math.sqrt(max(0.0, rest))
        lows[u] = low if (rest > 0.0) & wanted else math.inf


@kernel
def _chosen(worth: Floats, ua: int, ub: int, chosen: Longs) -> int:
    """The rays of a row that are worth it, written to `chosen` (u); returns how many."""
    n = np.uint64(0)
    for u in range(np.uint64(ua), np.uint64(ub)):
        chosen[n] = u
        n += np.uint64(worth[u] > 0.0)
    return int(n)


@kernel
def _cut_rays(
    gaps: Floats, ends: Floats, tags: Ints, count: Ints, alive: Longs, ray0: int, start: int, n: int, chosen: Longs, y0: float,
    pitch: float, z: float, shape: Floats, meridian: int, tag: int, amount: float, touched: int
) -> tuple[int, float, int]:
    """Take a straight sweep out of the chosen rays from number `start` on: (the first not done for want of room, or n; length
    removed; rays changed), counted on from those given: so that sums do not depend on where room is wanting. alive[0]: rays of the
    row that have metal."""
    for k in range(start, n):
        ray = ray0 + chosen[k]
        low, high, _, _ = span_across(shape, meridian, y0 + pitch * chosen[k], z)
        if low >= high:
            continue
        taken = widen(gaps, ray, low, high, tag)
        if taken == WANTED:
            taken = cut_list(gaps, ends, tags, count, ray, low, high, tag)
        if taken < 0.0:
            return k, amount, touched
        if taken > 0.0:
            alive[0] -= count[ray] == 0
            amount += taken
            touched += 1
    return n, amount, touched


@kernel
def _cut_row_arc(
    gaps: Floats, ends: Floats, tags: Ints, count: Ints, alive: Longs, ray0: int, ua: int, ub: int, y0: float, pitch: float,
    z: float, shape: Floats, path: int, meridian: int, tag: int, amount: float, touched: int, total: float, spans: Floats
) -> tuple[int, float, int, float]:
    """As `_cut_rays` for a level arc, all rays ua up to ub; `total`: what was removed of ray ua already, at last
    of the ray not done; `spans` float64 (8, 2) is scratch."""
    for u in range(ua, ub):
        ray = ray0 + u
        if count[ray] == 0:
            continue
        for k in range(spans_across_arc(shape, path, meridian, y0 + pitch * u, z, spans)):
            taken = widen(gaps, ray, spans[k, 0], spans[k, 1], tag)
            if taken == WANTED:
                taken = cut_list(gaps, ends, tags, count, ray, spans[k, 0], spans[k, 1], tag)
            if taken < 0.0:
                return u, amount, touched, total
            total += taken
        if total > 0.0:
            alive[0] -= count[ray] == 0
            amount += total
            touched += 1
        total = 0.0
    return ub, amount, touched, 0.0


@kernel
def _reach(
    shape: Floats, path: int, meridian: int, z: float, box: Floats, ys: Floats, ua: int, ub: int, lows: Floats, highs: Floats
) -> tuple[int, int]:
    """Which of the rays ua up to ub of a row a sweep may meet (first, last excluded), and between which x it lies on them, or
    farther out; low above high: it misses the ray."""
    x, y, outer = shape[13], shape[14], 0.0
    if path != 0:
        height = min(max(z - shape[2], shape[6]), shape[7])
        outer = shape[15] + radius_at(meridian, shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12], height)
    else:
        part = _part_at(shape, meridian, z - shape[2])
        if part[0] > part[1]:
            return ub, ub
        if shape[3] != 0.0 or shape[4] != 0.0:
            lows[ua:ub], highs[ua:ub] = _stretch(shape[0], shape[3], part)
            low, high = _stretch(shape[1], shape[4], part)
            while ua < ub and ys[ua] < low:
                ua += 1
            while ua < ub and ys[ub - 1] > high:
                ub -= 1
            return ua, ub
        x, y, outer = shape[0], shape[1], part[2]
    for u in range(np.uint64(ua), np.uint64(ub)):
        h = ys[u] - y
        square = (outer - h) * (outer + h)
        half = math.sqrt(max(0.0, square))
        lows[u] = max(box[0], x - half) if square > 0.0 else math.inf
        highs[u] = min(box[3], x + half) if square > 0.0 else -math.inf
    return ua, ub


@kernel
def _touch_row(
    ends: Floats, count: Ints, ray0: int, ua: int, ub: int, ys: Floats, z: float, shape: Floats, path: int, meridian: int,
    lows: Floats, highs: Floats, spans: Floats
) -> tuple[float, float, float]:
    """The longest overlap of the sweep, which lies between `lows` and `highs`, with the metal on rays ua up to ub of one row:
    (length, y, middle)."""
    deepest, at, middle = 0.0, 0.0, 0.0
    for u in range(ua, ub):
        if not overlaps(ends, count, ray0 + u, lows[u], highs[u], deepest):
            continue
        found = 1
        if path == 0:
            spans[0, 0], spans[0, 1], _, _ = span_across(shape, meridian, ys[u], z)
        else:
            found = spans_across_arc(shape, path, meridian, ys[u], z, spans)
        for k in range(found):
            if spans[k, 1] - spans[k, 0] > deepest:
                depth, place = longest_overlap(ends, count, ray0 + u, spans[k, 0], spans[k, 1])
                if depth > deepest:
                    deepest, at, middle = depth, ys[u], place
    return deepest, at, middle


@kernel
def _with_metal(count: Ints, ray0: int, nu: int) -> int:
    """How many rays of a row still have metal."""
    base, found = np.uint64(ray0), 0
    for u in range(np.uint64(nu)):
        found += count[base + u] > 0
    return found


@kernel
def _load_row(gaps: Floats, ends: Floats, tags: Ints, count: Ints, ray0: int, nu: int, place: float) -> None:
    for ray in range(ray0, ray0 + nu):
        load(gaps, ends, tags, count, ray, place)


@kernel
def _put_back_row(gaps: Floats, ends: Floats, tags: Ints, count: Ints, ray0: int, nu: int) -> None:
    for ray in range(ray0, ray0 + nu):
        put_back(gaps, ends, tags, count, ray)


@kernel
def _touch(
    gaps: Floats, ends: Floats, tags: Ints, count: Ints, loaded: Longs, ray0: int, nu: int, middle: float, ua: int, ub: int,
    ys: Floats, z: float, shape: Floats, path: int, meridian: int, lows: Floats, highs: Floats, spans: Floats
) -> tuple[float, float, float]:
    """As `_touch_row`, which is left out where the sweep, whose middle is at `middle`, stays within the gaps in the columns;
    loaded[0]: what of the row is in them."""
    if loaded[0] == 0:
        _load_row(gaps, ends, tags, count, ray0, nu, middle)
        loaded[0] = _TOUCHED
    if reach_row(gaps, ray0, ua, ub, lows, highs) == 0:
        return 0.0, 0.0, 0.0
    if loaded[0] == _CHANGED:
        _put_back_row(gaps, ends, tags, count, ray0, nu)
        loaded[0] = _THERE
    found = _touch_row(ends, count, ray0, ua, ub, ys, z, shape, path, meridian, lows, highs, spans)
    if found[0] == 0.0 and loaded[0] == _TOUCHED:  # it passed through other gaps: the next may do so too
        _load_row(gaps, ends, tags, count, ray0, nu, middle)
    return found


@kernel
def work_across(
    first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, code: Ints, box: Floats, rows: Ints, ends: Floats, tags: Ints,
    count: Ints, amount: Floats, longest: Floats, touched: Longs, where: Floats, columns: Floats,
    scratch: Floats, held: Longs
) -> tuple[Floats, Ints]:
    """Apply sweeps `rows` to a tile of rays along X at (y, z); arguments and results as for `work_along`."""
    shape, code, box, rows, count = borrowed(shape), borrowed(code), borrowed(box), borrowed(rows), borrowed(count)
    amount, longest, touched, where = borrowed(amount), borrowed(longest), borrowed(touched), borrowed(where)
    worth, lows, highs, ys = borrowed(scratch)[0], borrowed(scratch)[1], borrowed(scratch)[2], borrowed(scratch)[3]
    even_lows, even_highs, spans = borrowed(scratch)[4], borrowed(scratch)[5], borrowed(scratch)[6, :16].reshape(8, 2)
    gaps, alive, chosen, loaded = borrowed(columns), borrowed(held)[0], borrowed(held)[1], borrowed(held)[2]
    for u in range(nu):
        ys[u] = first[0] + pitch[0] * u
    here, marks = borrowed(ends), borrowed(tags)
    loaded[:nv] = 0  # what of each row is in `gaps`
    for v in range(nv):
        alive[v] = _with_metal(count, v * nu, nu)
    for k in range(rows.size):
        s = rows[k]
        one, path, meridian = shape[s], code[s, 0], code[s, 1]
        va, vb = rays_between(box[s, 2], box[s, 5], first[1], pitch[1], nv)
        ua, ub = rays_between(box[s, 1], box[s, 4], first[0], pitch[0], nu)
        cuts, line = code[s, 2] == 0, path == 0 and code[s, 2] == 0
        even, known = path == 0 and meridian == 0 and one[8] == one[9], False
        middle = one[0] + 0.5 * one[3] if path == 0 else one[13]
        for v in range(va, vb):
            if alive[v] == 0:
                continue
            z = first[1] + pitch[1] * v
            if not cuts:
                u, last, low, high = ua, ub, even_lows, even_highs
                if not (even and _disc_of(one, meridian, z - one[2])[0]):
                    u, last = _reach(one, path, meridian, z, box[s], ys, ua, ub, lows, highs)
                    low, high = lows, highs
                elif not known:
                    _even_ends(ys, ua, ub, one, even_lows, even_highs)
                    known = True
                depth, y, x = _touch(gaps, here, marks, count, loaded[v:], v * nu, nu, middle, u, last, ys, z, one, path, meridian,
                                     low, high, spans)  # fmt: skip
                if depth > longest[k]:
                    longest[k], where[k, 0], where[k, 1], where[k, 2] = depth, x, y, z
                continue
            if loaded[v] == 0 or loaded[v] == _TOUCHED:
                _load_row(gaps, here, marks, count, v * nu, nu, middle)
                loaded[v] = _THERE
            disc = _disc_of(one, meridian, z - one[2]) if line else (False, 0.0, 0.0, 0.0)
            sifted = line and not (even and disc[0])
            if sifted and _sift_row(gaps, v * nu, ua, ub, ys, z, one, meridian, worth) == 0:
                continue
            if disc[0]:
                u, last, low, high = ua, ub, even_lows, even_highs
                if sifted:
                    u, last = worth_between(worth, ua, ub)
                    low, high = lows, highs
                    _round_ends(u, last, ys, one, disc, worth, lows, highs)
                elif not known:
                    _even_ends(ys, ua, ub, one, even_lows, even_highs)
                    known = True
                if not sifted and reach_row(gaps, v * nu, u, last, low, high) == 0:
                    continue
                at = u
                rays, left = widen_row(gaps, v * nu, u, last, low, high, -1 - s)
                if left == 0:
                    u = last
                while u < last:
                    u, rays = left_of_row(gaps, here, marks, count, alive[v:], v * nu, u, last, low, high, -1 - s, rays)
                    if u < last:
                        ends, tags = widened(ends, tags)
                        here, marks = borrowed(ends), borrowed(tags)
                if rays > 0:
                    loaded[v] = _CHANGED
                    amount[k], touched[k] = sum_of_row(gaps, v * nu, at, last, amount[k]), touched[k] + rays
                continue
            u, last = ua, ub
            if not line:
                u, last = _reach(one, path, meridian, z, box[s], ys, ua, ub, lows, highs)
                if reach_row(gaps, v * nu, u, last, lows, highs) == 0:
                    continue
            total, rays, gone = amount[k], touched[k], 0.0
            if line:
                last, u = _chosen(worth, ua, ub, chosen), 0
            while u < last:
                if line:
                    u, total, rays = _cut_rays(
                        gaps, here, marks, count, alive[v:], v * nu, u, last, chosen, first[0], pitch[0], z, one, meridian, -1 - s,
                        total, rays)  # fmt: skip
                else:
                    u, total, rays, gone = _cut_row_arc(
                        gaps, here, marks, count, alive[v:], v * nu, u, last, first[0], pitch[0], z, one, path, meridian, -1 - s,
                        total, rays, gone, spans)  # fmt: skip
                if u < last:
                    ends, tags = widened(ends, tags)
                    here, marks = borrowed(ends), borrowed(tags)
            if rays > touched[k]:
                loaded[v] = _CHANGED
            amount[k], touched[k] = total, rays
    for v in range(nv):
        if loaded[v] == _CHANGED:
            _put_back_row(gaps, here, marks, count, v * nu, nu)
    return ends, tags
