"""How probably a check shows a slip: the predicted observation against what a careful person can tell apart.

A number is taken for wrong when it is off by more than a threshold, either way. The threshold follows from how often a good
setup may raise a false alarm: with m numbers in a check, each gets the share a with (1 − a)^m = 1 − (false alarm of the check).
What is seen or not seen is compared exactly. A person who makes the check overlooks what is there with the probability `misses`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

__all__ = ["Odds", "beyond_chance", "shown", "threshold"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Odds:
    """How a check decides. `false_alarm`: of the check as a whole, in a good setup whose numbers are read; `misses`: how often a
    person overlooks; `spread`: (m,) one standard deviation of each number in a good setup, reading and part together, mm."""

    false_alarm: float
    misses: float
    spread: tuple[float, ...]

    @property
    def limits(self) -> Array:
        """(m,) how far each number may be off before the check says stop, mm."""
        return threshold(self.false_alarm, len(self.spread)) * np.array(self.spread)


def threshold(false_alarm: float, numbers: int) -> float:
    """How many standard deviations a number may be off, so that `numbers` independent ones together raise a false alarm with the
    stated probability.

    >>> round(threshold(0.0027, 1), 2), round(threshold(0.05, 2), 2)
    (3.0, 2.24)
    """
    if numbers == 0:
        return math.inf
    each = -math.expm1(math.log1p(-false_alarm) / numbers)
    return float(-ndtri(0.5 * each))


def shown(odds: Odds, off: Sequence[float], *, differs: bool) -> float:
    """The probability that the check says stop when its numbers are off by `off` (m values, mm) and something seen `differs`.

    P = (1 − misses)·(1 − Π [Φ(t − δ/σ) − Φ(−t − δ/σ)]), and 1 − misses where something seen differs. Exact for normal, independent
    readings, to round-off.

    >>> round(shown(Odds(0.0027, 0.0, (0.25,)), [0.75], differs=False), 3)  # off by just the threshold: every other time
    0.5
    >>> shown(Odds(0.002, 0.01, ()), [], differs=True), shown(Odds(0.002, 0.01, ()), [], differs=False)
    (0.99, 0.0)
    """
    if differs:
        return 1.0 - odds.misses
    if not odds.spread:
        return 0.0
    limit = threshold(odds.false_alarm, len(odds.spread))
    z = np.asarray(off, np.float64) / np.array(odds.spread)
    passes = ndtr(limit - z) - ndtr(-limit - z)
    return float((1.0 - odds.misses) * (1.0 - np.prod(passes)))


def beyond_chance(probability: float, odds: Odds) -> float:
    """The share of a detection that the slip itself causes: what a false alarm would have found anyway is not counted.

    With p what is shown and a what a good setup would show, (p − a)/(1 − a); never below 0.
    """
    chance = shown(odds, [0.0] * len(odds.spread), differs=False)
    return max(0.0, (probability - chance) / (1.0 - chance))
