"""A level with a slope, followed piece by piece: how far a feature has drifted, and how many pieces are left to a limit.

State (level, slope per piece) with F = [[1, 1], [0, 1]]; between pieces the level walks by WALK and the slope by sqrt(0.0004) of
the standard deviation of a measured piece, so that wear may change its pace; pieces that were not measured are passed over with the
same steps, in closed form. Everything is the exact Kalman filter of that model.

Two things the model cannot make are told apart by their evidence once a later value is there: a value that was misread (it is
dropped) and a jump (the level starts anew). Until then the last value is only suspected, and the state is that before it.
The standard deviation is the stated one, or what the values themselves show where that is more: the median of the second
differences of neighbours, which neither a slope nor a few wild values move.
Source: A. C. Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, ch. 2 and 3 (local linear trend);
M. West and J. Harrison, Bayesian Forecasting and Dynamic Models, ch. 11 (outliers and level changes by Bayes factors).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["FARTHEST", "PACE", "WALK", "Trend", "follow", "pieces_before", "scatter_of"]

Array = NDArray[np.float64]
FARTHEST: Final = 500
"""Pieces ahead beyond which nothing is said."""

WALK: Final = 0.2
"""How far a level walks from piece to piece, in standard deviations of a measured piece."""

PACE: Final = 1.0
"""One standard deviation of the slope before anything is measured, in the same unit a piece."""

_WALKS: Final = (WALK**2, 0.0004)
_START: Final = (25.0, PACE**2)
_STRANGE: Final = 3.7
"""A value farther than so many standard deviations from its forecast waits for the next: chance is once in 4,600."""

_MISREAD: Final = 0.002
_JUMPS: Final = 0.003
_ANYWHERE: Final = 100.0
"""How far a misread value or a jump may lead, in standard deviations of a measured piece."""

_MAD: Final = 1.4826
_STATED_COUNTS: Final = 5
"""The stated standard deviation counts as much as so many second differences."""


@dataclass(frozen=True, slots=True)
class Trend:
    """After the last measured piece: `state` (level, slope per piece), its covariance, the gain of the last step; `sigma` of a
    measured piece; `first`: the level after the first piece (that of the tool in use). `aside`: numbers of the values that were
    misread; `jumps`: pieces at which the level jumped; `suspect`: whether the last value fits neither, and waits for another."""

    state: Array
    covariance: Array
    gain: Array
    sigma: float
    first: float
    aside: tuple[int, ...] = ()
    jumps: tuple[int, ...] = ()
    suspect: bool = False

    def forecast(self) -> tuple[Array, Array]:
        """Mean and variance of the level at each of the next FARTHEST pieces, (FARTHEST,) each."""
        n, p = np.arange(1.0, FARTHEST + 1.0), self.covariance
        walked = _walked(n, self.sigma)[0]
        return self.state[0] + n * self.state[1], p[0, 0] + 2.0 * n * p[0, 1] + n**2 * p[1, 1] + walked

    def after(self, count: int) -> Trend:
        """The same so many pieces later, nothing measured."""
        if not count:
            return self
        step = np.array([[1.0, float(count)], [0.0, 1.0]])
        level, both, slope = _walked(float(count), self.sigma)
        walked = np.array([[level, both], [both, slope]])
        return replace(self, state=step @ self.state, covariance=step @ self.covariance @ step.T + walked)

    def seen(self, value: float) -> Trend:
        """The same with the value of the piece it stands at."""
        p = self.covariance
        gain = p[:, 0] / (p[0, 0] + self.sigma**2)
        return replace(self, state=self.state + gain * (value - self.state[0]), covariance=p - np.outer(gain, p[0]), gain=gain)

    def widened(self) -> Trend:
        """The same with a level that may be anywhere."""
        covariance = self.covariance.copy()
        covariance[0, 0] += (_ANYWHERE * self.sigma) ** 2
        return replace(self, covariance=covariance)

    def log_density(self, value: float) -> float:
        """Of a value of the piece it stands at."""
        square = float(self.covariance[0, 0]) + self.sigma**2
        return -0.5 * (value - float(self.state[0])) ** 2 / square - 0.5 * math.log(square)

    def strange(self, value: float) -> bool:
        """Whether a value of the piece it stands at is farther off than chance makes it."""
        return abs(value - float(self.state[0])) > _STRANGE * math.sqrt(float(self.covariance[0, 0]) + self.sigma**2)


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A strange value: its place among the values, its piece, and the trend at that piece without it."""

    place: int
    number: int
    value: float
    without: Trend


def pieces_before(out: Array, chance: float) -> tuple[int, float]:
    """How many pieces come before the first one that is outside with more than `chance`, and that piece's probability, from the
    probabilities of the next pieces `out` (FARTHEST,); FARTHEST where none is.

    >>> pieces_before(np.array([0.001, 0.02, 0.3]), 0.01)
    (1, 0.02)
    """
    beyond = np.flatnonzero(out > chance)
    return (int(beyond[0]), float(out[beyond[0]])) if beyond.size else (FARTHEST, float(out[-1]))


def scatter_of(numbers: Sequence[int], values: Sequence[float], *, sigma: float) -> float:
    """One standard deviation of a measured piece, mm: the stated `sigma`, or that of the values where it is greater.

    >>> scatter_of([1, 2, 3], [0.0, 0.0, 0.0], sigma=2.0)
    2.0
    """
    at, y = np.asarray(numbers, np.float64), np.asarray(values, np.float64)
    if y.size < _STATED_COUNTS:
        return sigma
    late = (at[1:-1] - at[:-2]) / np.maximum(at[2:] - at[:-2], 1.0)
    bent = (y[1:-1] - (1.0 - late) * y[:-2] - late * y[2:]) / np.sqrt(1.0 + late**2 + (1.0 - late) ** 2)
    own = _MAD * float(np.median(np.abs(bent)))
    return max(sigma, math.sqrt((_STATED_COUNTS * sigma**2 + bent.size * own**2) / (_STATED_COUNTS + bent.size)))


def follow(numbers: Sequence[int], values: Sequence[float], *, sigma: float, start: float = 0.0,
           changed: Sequence[tuple[int, float]] = (), until: int | None = None) -> Trend:  # fmt: skip
    """Follow measured values (mm) of pieces of these numbers, in their order; `sigma`: one standard deviation of a measured piece
    as stated, `start`: what was to be expected of the first. `changed`: pieces before which the tool was changed, with one standard
    deviation of where a new one starts, mm. `until`: the last piece that was cut, where that is not the last measured one.

    Raises ValueError for numbers that fall.
    """
    sigma, changes = scatter_of(numbers, values, sigma=sigma), sorted(changed)
    trend = _new(Trend(np.zeros(2), np.zeros((2, 2)), np.zeros(2), sigma, start), start, 0.0)
    waits: _Waiting | None = None
    before, fresh = None, True
    for place, (number, value) in enumerate(zip(numbers, values, strict=True)):
        if before is not None:
            if number < before:
                raise ValueError("pieces must come in their order")
            for since, wide in changes:
                if before < since <= number:
                    trend, waits, fresh = _renewed(trend.after(since - 1 - before), waits, start, wide), None, True
                    before = since - 1
            trend = trend.after(number - before)
        if waits is not None:
            trend = _decided(waits, number, value)
            waits = None
        if not fresh and trend.strange(value):
            waits = _Waiting(place, number, value, trend)
        else:
            trend = trend.seen(value)
            if fresh:
                trend, fresh = replace(trend, first=float(trend.state[0])), False
        before = number
    if before is None or until is None or until < before:
        return replace(trend, suspect=waits is not None)
    for since, wide in changes:
        if before < since <= until + 1:
            trend, waits = replace(_renewed(trend.after(since - 1 - before), waits, start, wide), first=start), None
            before = since - 1
    return replace(trend.after(until - before), suspect=waits is not None)


def _renewed(trend: Trend, waits: _Waiting | None, start: float, wide: float) -> Trend:
    """The same with a new tool; a value that was still waiting is left out."""
    return replace(_new(trend, start, wide), aside=trend.aside if waits is None else (*trend.aside, waits.place))


def _new(trend: Trend, start: float, wide: float) -> Trend:
    """The same with a tool of which nothing is known yet."""
    level, slope = (size * trend.sigma**2 for size in _START)
    return replace(trend, state=np.array([start, 0.0]), covariance=np.diag([level + wide**2, slope]))


def _decided(waits: _Waiting, number: int, value: float) -> Trend:
    """What a strange value was, now that the next one is there: misread, a jump, or chance after all."""
    at, later = waits.without, number - waits.number
    strange = at.widened().log_density(waits.value)
    misread = replace(at.after(later), aside=(*at.aside, waits.place))
    jumped = replace(at.widened().seen(waits.value).after(later), jumps=(*at.jumps, waits.number))
    chance = at.seen(waits.value).after(later)
    told = [(math.log(_MISREAD) + strange, misread), (math.log(_JUMPS) + strange, jumped), (at.log_density(waits.value), chance)]
    return max(((log + trend.log_density(value), trend) for log, trend in told), key=lambda one: one[0])[1]


def _walked(count: Any, sigma: float) -> tuple[Any, Any, Any]:
    """What so many steps add to the variances of level, both and slope: sums of F^k Q F^kT in closed form."""
    level, slope = (size * sigma**2 for size in _WALKS)
    before = count - 1.0
    return level * count + slope * before * count * (2.0 * count - 1.0) / 6.0, slope * before * count / 2.0, slope * count
