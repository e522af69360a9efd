"""A level with a slope, followed piece by piece: how far a feature has drifted, and how many pieces are left to a limit.

State (level, slope per piece) with F = [[1, 1], [0, 1]]; between pieces the level walks by sqrt(0.04) and the slope by sqrt(0.0004)
of the standard deviation of a measured piece, so that wear may change its pace; pieces that were not measured are passed over with
the same steps. Everything is the exact Kalman filter of that model.
Source: A. C. Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, ch. 2 and 3 (local linear trend).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

__all__ = ["FARTHEST", "Trend", "follow"]

Array = NDArray[np.float64]
FARTHEST: Final = 500
"""Pieces ahead beyond which nothing is said."""

_STEP: Final = np.array([[1.0, 1.0], [0.0, 1.0]])
_WALK: Final = np.array([0.04, 0.0004])
_START: Final = np.array([25.0, 1.0])


@dataclass(frozen=True, slots=True)
class Trend:
    """After the last measured piece: `state` (level, slope per piece), its covariance, the gain of the last step; `sigma` of a
    measured piece; `first`: the level after the first piece."""

    state: Array
    covariance: Array
    gain: Array
    sigma: float
    first: float

    def left(self, lower: float, upper: float, *, chance: float, scatter: float) -> tuple[int, float]:
        """How many pieces come before the first one that is outside the limits with more than `chance`, and that piece's
        probability; FARTHEST where none is. `scatter`: one standard deviation from piece to piece, without the gauge's."""
        state, covariance, out = self.state, self.covariance, 0.0
        for ahead in range(1, FARTHEST + 1):
            state, covariance = _predicted(state, covariance, self.sigma)
            spread = math.sqrt(covariance[0, 0] + scatter**2)
            out = float(ndtr((lower - state[0]) / spread) + ndtr((state[0] - upper) / spread))
            if out > chance:
                return ahead - 1, out
        return FARTHEST, out

    def forecast(self) -> tuple[Array, Array]:
        """Mean and variance of the level at each of the next FARTHEST pieces, (FARTHEST,) each."""
        state, covariance = self.state, self.covariance
        means, variances = np.zeros(FARTHEST), np.zeros(FARTHEST)
        for ahead in range(FARTHEST):
            state, covariance = _predicted(state, covariance, self.sigma)
            means[ahead], variances[ahead] = state[0], covariance[0, 0]
        return means, variances


def follow(numbers: Sequence[int], values: Sequence[float], *, sigma: float, start: float = 0.0) -> Trend:
    """Follow measured values (mm) of pieces of these rising numbers; `sigma`: one standard deviation of a measured piece, `start`:
    what was to be expected of the first.

    Raises ValueError for numbers that do not rise.
    """
    state, covariance = np.array([start, 0.0]), np.diag(_START) * sigma**2
    gain, first, before = np.zeros(2), start, None
    for number, value in zip(numbers, values, strict=True):
        if before is not None and number <= before:
            raise ValueError("pieces must come in their order")
        for _ in range(0 if before is None else number - before):
            state, covariance = _predicted(state, covariance, sigma)
        gain = covariance[:, 0] / (covariance[0, 0] + sigma**2)
        state = state + gain * (value - state[0])
        covariance = covariance - np.outer(gain, covariance[0])
        first, before = (float(state[0]) if before is None else first), number
    return Trend(state, covariance, gain, sigma, first)


def _predicted(state: Array, covariance: Array, sigma: float) -> tuple[Array, Array]:
    return _STEP @ state, _STEP @ covariance @ _STEP.T + np.diag(_WALK) * sigma**2
