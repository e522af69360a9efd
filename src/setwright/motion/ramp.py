"""Speed changes at limited acceleration and jerk, in closed form wherever one exists.

A ramp leads from one speed to another with no acceleration at either end: jerk up, constant acceleration, jerk down. With
infinite jerk it is a straight line. Either way it is symmetric, so it covers its time times the mean of its end speeds. Lengths
mm, times s.
"""

from __future__ import annotations

import math
from typing import Final

from setwright.base.jit import kernel

__all__ = ["peak_speed", "ramp_position", "ramp_time", "reachable_speed", "time_in_ramp"]

_HALVINGS: Final = 60
_NEWTON_STEPS: Final = 60


@kernel
def ramp_time(change: float, accel: float, jerk: float) -> float:
    """Least time (s) for a speed change (mm/s, >= 0): change/accel + accel/jerk, or 2 sqrt(change/jerk) if accel is never
    reached."""
    if change * jerk >= accel * accel:
        return change / accel + accel / jerk
    return 2.0 * math.sqrt(change / jerk)


@kernel
def ramp_position(t: float, first: float, change: float, accel: float, jerk: float) -> float:
    """Distance (mm) covered after time t of a rising ramp that starts at speed `first`; t from 0 to its `ramp_time`."""
    whole = ramp_time(change, accel, jerk)
    if t > whole / 2.0:
        rest = whole - t
        return (2.0 * first + change) / 2.0 * whole - (first + change) * rest + _gained(rest, accel, jerk)
    return first * t + _gained(t, accel, jerk)


@kernel
def _gained(t: float, accel: float, jerk: float) -> float:
    """Distance gained over constant speed in the first half of a ramp."""
    rise = accel / jerk
    if t <= rise:
        return jerk * t * t * t / 6.0 if rise > 0.0 else 0.0
    late = t - rise
    early = accel * rise * rise / 6.0
    return early + accel * rise * late / 2.0 + accel * late * late / 2.0


@kernel
def time_in_ramp(position: float, first: float, change: float, accel: float, jerk: float) -> float:
    """Time (s) at which a rising ramp has covered `position` (mm); by halving, to the last bit that matters (2**-60 of the
    ramp)."""
    low, high = 0.0, ramp_time(change, accel, jerk)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if ramp_position(middle, first, change, accel, jerk) < position:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


@kernel
def reachable_speed(first: float, length: float, accel: float, jerk: float) -> float:
    """Highest speed (mm/s) a rising ramp can reach from `first` within `length` (mm).

    With c the change: (2 first + c)/2 (c/accel + accel/jerk) = length where accel is reached, a quadratic in c; else
    (2 first + c) sqrt(c/jerk) = length, a cubic in x = sqrt(c): x³ + 2 first x = length sqrt(jerk), solved by Newton from above,
    where it descends without overshoot.
    """
    if math.isinf(jerk):
        return math.sqrt(first * first + 2.0 * accel * length)
    rise = accel / jerk
    if length >= (2.0 * first + accel * rise) * rise:
        half = first / accel + rise / 2.0
        return first + accel * (math.sqrt(half * half + 2.0 * (length - first * rise) / accel) - half)
    goal = length * math.sqrt(jerk)
    x = math.pow(goal, 1.0 / 3.0)
    if first > 0.0:
        x = float(min(x, goal / (2.0 * first)))
    for _ in range(_NEWTON_STEPS):
        following = (2.0 * x * x * x + goal) / (3.0 * x * x + 2.0 * first) if x > 0.0 else 0.0
        if following >= x:
            break
        x = following
    return first + x * x


@kernel
def peak_speed(first: float, last: float, most: float, length: float, accel: float, jerk: float) -> float:
    """Highest speed (mm/s), at most `most`, of a rise from `first` and a fall to `last` within `length` (mm).

    In closed form for infinite jerk, else by halving. If even the ramp between the two ends does not fit (rounding), their greater.
    """
    least = max(first, last)
    if math.isinf(jerk):
        return max(least, min(most, math.sqrt((first * first + last * last) / 2.0 + accel * length)))
    if _needed(most, first, last, accel, jerk) <= length:
        return max(least, most)
    low, high = least, max(least, most)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if _needed(middle, first, last, accel, jerk) <= length:
            low = middle
        else:
            high = middle
    return low


@kernel
def _needed(peak: float, first: float, last: float, accel: float, jerk: float) -> float:
    """Length a rise to `peak` and a fall from it take together."""
    rise = (first + peak) / 2.0 * ramp_time(max(peak - first, 0.0), accel, jerk)
    return rise + (peak + last) / 2.0 * ramp_time(max(peak - last, 0.0), accel, jerk)
