"""The rays across the tool axis of one tile while it is cut: of each the gap in its metal where the tool is at work.

Most of what a sweep takes off a ray makes that gap a little longer, without changing how many intervals there are. So the gap's two
ends stand in columns beside each other, where several rays are looked at in one instruction, and go back to the ray's list only
when the list itself is wanted. Columns lie in one array at fixed distances, which tells the compiler that they do not overlap.

Columns, each PLANE long, place ray: lower and upper end of the gap (-inf, inf where no metal bounds it), lower end of the interval
below and upper end of the interval above, tags of the gap's two ends, number of the interval above the gap; what the sweep at work
has taken, and whether the ray is left to be looked at by itself. Between `load` and `put_back` a gap's ends are right here only.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.lists import take_out

__all__ = ["GAP_COLUMNS", "GAP_HIGH", "GAP_LOW", "PLANE", "WANTED", "cut_list", "left_of_row", "load", "put_back",
           "reach_row", "sum_of_row", "widen", "widen_row"]  # fmt: skip

PLANE: Final = 1064
"""Room for the rays of a tile, and some more: columns a power of two apart would share places in the first cache."""

WANTED: Final = -2.0  # the list itself is wanted
GAP_COLUMNS: Final = 9
GAP_LOW, GAP_HIGH, _FLOOR, _CEILING, _LOW_TAG, _HIGH_TAG, _UPPER, _TAKEN, _LEFT = (np.uint64(k * PLANE) for k in range(GAP_COLUMNS))


@kernel
def load(gaps: Floats, ends: Floats, tags: Ints, count: Ints, ray: int, place: float) -> None:
    """Take up the gap of a ray at a place, or the one below the interval that the place lies in."""
    i, n, at = 0, count[ray], np.uint64(ray)
    while i < n and ends[ray, i, 1] <= place:
        i += 1
    gaps[at + _UPPER] = i
    gaps[at + GAP_LOW], gaps[at + _FLOOR], gaps[at + _LOW_TAG] = -math.inf, -math.inf, 0.0
    gaps[at + GAP_HIGH], gaps[at + _CEILING], gaps[at + _HIGH_TAG] = math.inf, math.inf, 0.0
    if i > 0:
        gaps[at + GAP_LOW], gaps[at + _FLOOR], gaps[at + _LOW_TAG] = ends[ray, i - 1, 1], ends[ray, i - 1, 0], tags[ray, i - 1, 1]
    if i < n:
        gaps[at + GAP_HIGH], gaps[at + _CEILING], gaps[at + _HIGH_TAG] = ends[ray, i, 0], ends[ray, i, 1], tags[ray, i, 0]


@kernel
def put_back(gaps: Floats, ends: Floats, tags: Ints, count: Ints, ray: int) -> None:
    """Write the gap's ends into the ray's list."""
    at = np.uint64(ray)
    i = int(gaps[at + _UPPER])
    if i > 0:
        ends[ray, i - 1, 1], tags[ray, i - 1, 1] = gaps[at + GAP_LOW], int(gaps[at + _LOW_TAG])
    if i < count[ray]:
        ends[ray, i, 0], tags[ray, i, 0] = gaps[at + GAP_HIGH], int(gaps[at + _HIGH_TAG])


@kernel
def widen_row(gaps: Floats, ray0: int, ua: int, ub: int, lows: Floats, highs: Floats, tag: int) -> tuple[int, int]:
    """Take (lows[u], highs[u]) out of rays ua up to ub of a row wherever that only makes the gap longer; what is taken is noted for
    `sum_of_row`. Returns how many rays changed and how many are left for `left_of_row`. low above high: the ray is missed."""
    base, changed, left, mark = np.uint64(ray0), 0, 0, float(tag)
    for u in range(np.uint64(ua), np.uint64(ub)):
        i = base + u
        low, high, gap_low, gap_high = lows[u], highs[u], gaps[i + GAP_LOW], gaps[i + GAP_HIGH]
        below, above = gap_low - low, high - gap_high
        meets = (low <= gap_high) & (high >= gap_low)
        stays = ((below <= 0.0) | (low - gaps[i + _FLOOR] > COORDINATE_ROUND_OFF_MM)) & (
            (above <= 0.0) | (gaps[i + _CEILING] - high > COORDINATE_ROUND_OFF_MM)
        )
        simple = meets & stays
        lower, upper = simple & (below > COORDINATE_ROUND_OFF_MM), simple & (above > COORDINATE_ROUND_OFF_MM)
        other = ((below > 0.0) | (above > 0.0)) & ~simple
        gaps[i + GAP_LOW] = low if lower else gap_low
        gaps[i + GAP_HIGH] = high if upper else gap_high
        gaps[i + _LOW_TAG] = mark if lower else gaps[i + _LOW_TAG]
        gaps[i + _HIGH_TAG] = mark if upper else gaps[i + _HIGH_TAG]
        gaps[i + _TAKEN] = (below if lower else 0.0) + (above if upper else 0.0)
        gaps[i + _LEFT] = 1.0 if other else 0.0
        changed += lower | upper
        left += other
    return changed, left


@kernel
def widen(gaps: Floats, ray: int, low: float, high: float, tag: int) -> float:
    """Take (low, high) out of one ray if that only makes the gap longer, or nothing: the length removed (mm); else WANTED with
    nothing done."""
    at = np.uint64(ray)
    gap_low, gap_high = gaps[at + GAP_LOW], gaps[at + GAP_HIGH]
    if low > gap_high or high < gap_low:
        return WANTED
    below, above, taken = gap_low - low, high - gap_high, 0.0
    if below > 0.0 and low - gaps[at + _FLOOR] <= COORDINATE_ROUND_OFF_MM:
        return WANTED
    if above > 0.0 and gaps[at + _CEILING] - high <= COORDINATE_ROUND_OFF_MM:
        return WANTED
    if below > COORDINATE_ROUND_OFF_MM:
        gaps[at + GAP_LOW], gaps[at + _LOW_TAG] = low, tag
        taken += below
    if above > COORDINATE_ROUND_OFF_MM:
        gaps[at + GAP_HIGH], gaps[at + _HIGH_TAG] = high, tag
        taken += above
    return taken


@kernel
def cut_list(gaps: Floats, ends: Floats, tags: Ints, count: Ints, ray: int, low: float, high: float, tag: int) -> float:
    """Take (low, high) out of one ray's list; returns the length removed (mm), or lists.FULL with nothing done."""
    put_back(gaps, ends, tags, count, ray)
    taken = take_out(ends, tags, count, ray, low, high, tag)
    if taken >= 0.0:
        load(gaps, ends, tags, count, ray, 0.5 * (low + high))
    return taken


@kernel
def reach_row(gaps: Floats, ray0: int, ua: int, ub: int, lows: Floats, highs: Floats) -> int:
    """On how many of the rays ua up to ub of a row (lows[u], highs[u]) reaches beyond the gap."""
    base, found = np.uint64(ray0), 0
    for u in range(np.uint64(ua), np.uint64(ub)):
        found += (lows[u] < gaps[base + u + GAP_LOW]) | (highs[u] > gaps[base + u + GAP_HIGH])
    return found


@kernel
def left_of_row(
    gaps: Floats, ends: Floats, tags: Ints, count: Ints, alive: Longs, ray0: int, u: int, ub: int, lows: Floats, highs: Floats,
    tag: int, changed: int
) -> tuple[int, int]:  # fmt: skip
    """`cut_list` for the rays of a row, from u on, that `widen_row` left: (the first not done for want of room, or ub; rays
    changed, counted on). alive[0]: rays of the row that have metal."""
    for k in range(u, ub):
        at = np.uint64(ray0 + k)
        if gaps[at + _LEFT] != 0.0:
            taken = cut_list(gaps, ends, tags, count, ray0 + k, lows[k], highs[k], tag)
            if taken < 0.0:
                return k, changed
            gaps[at + _TAKEN] = taken
            changed += taken > 0.0
            alive[0] -= taken > 0.0 and count[ray0 + k] == 0
    return ub, changed


@kernel
def sum_of_row(gaps: Floats, ray0: int, ua: int, ub: int, total: float) -> float:
    """`total` and what has been taken of rays ua up to ub of a row, in their order."""
    base = np.uint64(ray0)
    for u in range(np.uint64(ua), np.uint64(ub)):
        total += gaps[base + u + _TAKEN]
    return total
