"""The rays along the tool axis of one tile while it is cut: of each its highest interval, in columns; see gaps, of which this is
the counterpart: nearly all that is taken off such a ray comes off its top.

Columns, each PLANE long, place ray: highest metal (-inf: none), lower end of that interval, tag of the top; what the sweep at work
has taken, and whether the ray is left to be looked at by itself. Between `load` and `put_back` a top is right here only.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.arrays import Floats, Ints
from setwright.removal.gaps import PLANE, WANTED
from setwright.removal.lists import take_out

__all__ = ["TOP_COLUMNS", "cut_list", "is_left", "load", "lower", "lower_row", "note", "noted", "put_back", "reach_row",
           "sum_of_row"]  # fmt: skip

TOP_COLUMNS: Final = 5
_FLOOR, _TAG, _TAKEN, _LEFT = (np.uint64(k * PLANE) for k in range(1, TOP_COLUMNS))


@kernel
def load(tops: Floats, ends: Floats, tags: Ints, count: Ints, ray: int) -> None:
    """Take up the highest interval of a ray."""
    at, last = np.uint64(ray), count[ray] - 1
    if last < 0:
        tops[at], tops[at + _FLOOR], tops[at + _TAG] = -math.inf, -math.inf, 0.0
    else:
        tops[at], tops[at + _FLOOR], tops[at + _TAG] = ends[ray, last, 1], ends[ray, last, 0], tags[ray, last, 1]


@kernel
def put_back(tops: Floats, ends: Floats, tags: Ints, count: Ints, ray: int) -> None:
    """Write the top into the ray's list."""
    at, last = np.uint64(ray), count[ray] - 1
    if last >= 0:
        ends[ray, last, 1], tags[ray, last, 1] = tops[at], int(tops[at + _TAG])


@kernel
def reach_row(tops: Floats, ray0: int, ua: int, ub: int, xs: Floats, y: float, shape: Floats, lows: Floats) -> int:
    """Where a cylinder's straight sweep, not along its axis, has its lower end on rays ua up to ub of a row, at `xs` and `y`:
    lows[u], inf where it misses the ray; returns on how many that is below the highest metal."""
    sx, sy, dx, dy, dz = shape[0], shape[1], shape[3], shape[4], shape[5]
    length, disc, q = math.sqrt(dx * dx + dy * dy), shape[8] * shape[8], y - sy
    ex, ey, slope, start = dx / length, dy / length, dz / length, shape[2] + shape[6]
    base, found = np.uint64(ray0), 0
    for u in range(np.uint64(ua), np.uint64(ub)):
        p = xs[u] - sx
        along, aside = p * ex + q * ey, q * ex - p * ey
        inside = disc - aside * aside
        half = math.sqrt(max(0.0, inside))
        way = min(length, along + half) if slope < 0.0 else max(0.0, along - half)
        beyond = along - min(max(along, 0.0), length)
        low = start + slope * way if inside - beyond * beyond > 0.0 else math.inf
        lows[u] = low
        found += low < tops[base + u]
    return found


@kernel
def lower_row(
    tops: Floats, ray0: int, ua: int, ub: int, lows: Floats, everywhere: float, top: float, tag: int
) -> tuple[int, int, int]:
    """Take (lows[u], everywhere) out of rays ua up to ub of a row wherever only the top comes off; what is taken is noted for
    `sum_of_row`. Returns how many rays changed, how many are left to be looked at by themselves (is_left), and how many of the
    changed were as high as `top`. everywhere: every ray of the sweep reaches at least as high."""
    base, changed, left, fell, mark = np.uint64(ray0), 0, 0, 0, float(tag)
    for u in range(np.uint64(ua), np.uint64(ub)):
        i = base + u
        low, metal = lows[u], tops[i]
        taken = metal - low
        more, reaches = taken > COORDINATE_ROUND_OFF_MM, metal <= everywhere
        simple = more & reaches & (low - tops[i + _FLOOR] > COORDINATE_ROUND_OFF_MM)
        other = (taken > 0.0) & ~simple & (more | ~reaches)
        tops[i] = low if simple else metal
        tops[i + _TAG] = mark if simple else tops[i + _TAG]
        tops[i + _TAKEN] = taken if simple else 0.0
        tops[i + _LEFT] = 1.0 if other else 0.0
        changed += simple
        left += other
        fell += simple & (metal >= top)
    return changed, left, fell


@kernel
def is_left(tops: Floats, ray: int) -> bool:
    """Whether `lower_row` left this ray."""
    return bool(tops[np.uint64(ray) + _LEFT] != 0.0)


@kernel
def note(tops: Floats, ray: int, taken: float) -> None:
    """Note what has been taken off a ray that `lower_row` left."""
    tops[np.uint64(ray) + _TAKEN] = taken


@kernel
def noted(tops: Floats, ray: int) -> float:
    """What the sweep at work has taken off this ray, mm."""
    return float(tops[np.uint64(ray) + _TAKEN])


@kernel
def lower(tops: Floats, ray: int, low: float, high: float, tag: int) -> float:
    """Take (low, high) out of one ray if only its top comes off, or nothing: the length removed (mm); else WANTED with nothing
    done."""
    at = np.uint64(ray)
    taken = tops[at] - low
    if taken <= COORDINATE_ROUND_OFF_MM:
        return 0.0
    if high >= tops[at] and low - tops[at + _FLOOR] > COORDINATE_ROUND_OFF_MM:
        tops[at], tops[at + _TAG] = low, tag
        return float(taken)
    return WANTED


@kernel
def cut_list(tops: Floats, ends: Floats, tags: Ints, count: Ints, ray: int, low: float, high: float, tag: int) -> float:
    """Take (low, high) out of one ray's list; returns the length removed (mm), or lists.FULL with nothing done."""
    put_back(tops, ends, tags, count, ray)
    taken = take_out(ends, tags, count, ray, low, high, tag)
    if taken > 0.0:
        load(tops, ends, tags, count, ray)
    return taken


@kernel
def sum_of_row(tops: Floats, ray0: int, ua: int, ub: int, total: float, longest: float) -> tuple[float, float]:
    """`total` and what has been taken of rays ua up to ub of a row, in their order; the longest of it and `longest`."""
    base = np.uint64(ray0)
    for u in range(np.uint64(ua), np.uint64(ub)):
        taken = tops[base + u + _TAKEN]
        total += taken
        longest = max(longest, taken)
    return total, longest
