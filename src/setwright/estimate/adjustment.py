"""Adjusting a process piece by piece: how much of each deviation to take back, and what each habit of doing so costs.

Piece t comes out at Y_t = a_t + e_t beside the middle, e_t ~ N(0, sigma²), a_1 = d; then a is moved by -K_t Y_t. Every linear habit
is a sequence of gains K_t, and the mean square of a follows it exactly: E a²_{t+1} = (1 - K_t)² E a²_t + K_t² sigma².

Harmonic, K_t = 1 / t, costs least for an unknown constant d; with d ~ N(0, sigma_d²) the best gain is
K_t = 1 / (t + sigma² / sigma_d²), that of a Kalman filter for a constant. Everything here is in units of sigma.
Source: F. E. Grubbs, An optimum procedure for setting machines or adjusting processes, J. Qual. Technol. 15 (1983) 186;
D. Trietsch, The harmonic rule for process setup adjustment.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

__all__ = ["Habit", "adjusted", "excess", "gains"]

Array = NDArray[np.float64]


class Habit(StrEnum):
    """How a shop corrects after a piece: never, once after the first, fully each time, a fixed share (EWMA), 1 / t, 1 / t with what
    was known beforehand."""

    NEVER = "never"
    ONCE = "once"
    FULL = "full correction"
    SHARE = "fixed share"
    HARMONIC = "harmonic"
    PRIOR = "harmonic with a prior"


def gains(habit: Habit, count: int, *, share: float = 0.3, ratio: float = 1.0) -> Array:
    """K_1 ... K_count, float64; `share` of a fixed share, `ratio` = sigma_d² / sigma² of the prior (0: nothing to correct).

    >>> gains(Habit.PRIOR, 3, ratio=0.25).round(3).tolist()
    [0.2, 0.167, 0.143]
    """
    t = np.arange(1, count + 1, dtype=np.float64)
    if habit is Habit.HARMONIC:
        return 1.0 / t
    if habit is Habit.PRIOR:
        return ratio / (ratio * t + 1.0)
    first = {Habit.NEVER: 0.0, Habit.ONCE: 1.0, Habit.FULL: 1.0, Habit.SHARE: share}[habit]
    return np.where(t > 1, 0.0, first) if habit is Habit.ONCE else np.full(count, first)


def excess(steps: Array, square: float) -> float:
    """Sum of E a² over the pieces 2 ... n + 1 in units of sigma², for gains (n,) and E d² = `square` (a fixed d squared, or the
    variance of the prior); 0 for a process that needs nothing and is left alone. Exact."""
    return float(sum(_squares(steps, square)))


def _squares(steps: Array, square: float) -> Iterator[float]:
    for gain in steps.tolist():
        square = (1.0 - gain) ** 2 * square + gain**2
        yield square


def adjusted(start: Array, errors: Array, steps: Array) -> Array:
    """Where a process stands at the pieces 2 ... n + 1, float64 (cases, n): `start` (cases,) where it began, `errors` (cases, n)
    what pieces 1 ... n showed besides, all in units of sigma."""
    at, found = np.array(start, np.float64), np.empty(errors.shape)
    for number, gain in enumerate(steps.tolist()):
        at = at - gain * (at + errors[:, number])
        found[:, number] = at
    return found
