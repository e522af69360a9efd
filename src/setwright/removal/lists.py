"""The sorted list of inside-intervals of one ray: taking a stretch out of it, and asking how much of a stretch is in it."""

from __future__ import annotations

import numpy as np

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.arrays import Floats, Ints

__all__ = ["FULL", "longest_overlap", "overlaps", "take_out", "widened"]

FULL = -1.0  # take_out had no room for a second interval


@kernel
def take_out(ends: Floats, tags: Ints, count: Ints, ray: int, low: float, high: float, tag: int) -> float:
    """Remove (low, high) from the list of `ray`; the new ends carry `tag`. Returns the length removed (mm), or FULL with
    nothing done.

    ends float64 (rays, room, 2), tags int32 (rays, room, 2), count int32 (rays,). What is thinner than COORDINATE_ROUND_OFF_MM
    is the trace of round-off, not metal: such a remainder goes with what is removed, such a shaving is not taken.
    """
    n = count[ray]
    i = 0
    while i < n and ends[ray, i, 1] - low <= COORDINATE_ROUND_OFF_MM:
        i += 1
    if i == n or high - ends[ray, i, 0] <= COORDINATE_ROUND_OFF_MM or high - low <= COORDINATE_ROUND_OFF_MM:
        return 0.0
    removed = 0.0
    keep_low = low - ends[ray, i, 0] > COORDINATE_ROUND_OFF_MM
    if keep_low and ends[ray, i, 1] - high > COORDINATE_ROUND_OFF_MM:
        if n == ends.shape[1]:
            return FULL
        for j in range(n, i + 1, -1):
            ends[ray, j, 0], ends[ray, j, 1] = ends[ray, j - 1, 0], ends[ray, j - 1, 1]
            tags[ray, j, 0], tags[ray, j, 1] = tags[ray, j - 1, 0], tags[ray, j - 1, 1]
        ends[ray, i + 1, 0], ends[ray, i + 1, 1] = high, ends[ray, i, 1]
        tags[ray, i + 1, 0], tags[ray, i + 1, 1] = tag, tags[ray, i, 1]
        ends[ray, i, 1], tags[ray, i, 1] = low, tag
        count[ray] = n + 1
        return high - low
    if keep_low:
        removed += ends[ray, i, 1] - low
        ends[ray, i, 1], tags[ray, i, 1] = low, tag
        i += 1
    j = i
    while j < n and ends[ray, j, 1] - high <= COORDINATE_ROUND_OFF_MM:
        removed += ends[ray, j, 1] - ends[ray, j, 0]
        j += 1
    if j < n and high - ends[ray, j, 0] > COORDINATE_ROUND_OFF_MM:
        removed += high - ends[ray, j, 0]
        ends[ray, j, 0], tags[ray, j, 0] = high, tag
    if j > i:
        for k in range(j, n):
            to = i + k - j
            ends[ray, to, 0], ends[ray, to, 1] = ends[ray, k, 0], ends[ray, k, 1]
            tags[ray, to, 0], tags[ray, to, 1] = tags[ray, k, 0], tags[ray, k, 1]
        count[ray] = n - (j - i)
    return removed


@kernel
def longest_overlap(ends: Floats, count: Ints, ray: int, low: float, high: float) -> tuple[float, float]:
    """The longest stretch of (low, high) inside the list of `ray`: (its length, its middle), mm; (0, 0) if there is none."""
    best, middle = 0.0, 0.0
    for i in range(count[ray]):
        a, b = max(low, ends[ray, i, 0]), min(high, ends[ray, i, 1])
        if b - a > best:
            best, middle = b - a, 0.5 * (a + b)
    return best, middle


@kernel
def overlaps(ends: Floats, count: Ints, ray: int, low: float, high: float, more: float) -> bool:
    """Whether the list of `ray` holds a stretch of (low, high) longer than `more`; round-off counts for it."""
    found = False
    for i in range(count[ray]):
        found |= min(high, ends[ray, i, 1]) - max(low, ends[ray, i, 0]) + COORDINATE_ROUND_OFF_MM > more
    return found


@kernel
def widened(ends: Floats, tags: Ints) -> tuple[Floats, Ints]:
    """Copies of both arrays with twice the room."""
    rays, room = ends.shape[0], ends.shape[1]
    more_ends = np.empty((rays, 2 * room, 2), np.float64)
    more_tags = np.empty((rays, 2 * room, 2), np.int32)
    for ray in range(rays):
        for i in range(room):
            for side in range(2):
                more_ends[ray, i, side] = ends[ray, i, side]
                more_tags[ray, i, side] = tags[ray, i, side]
    return more_ends, more_tags
