"""Which observation does not agree with the others, and how large a blunder could hide.

For a fit with redundancy every observation can be asked: what would the others have predicted for it? The answer in units of its
own uncertainty is Baarda's w; its redundancy number (0..1) says how much of an error in it shows at all. Source: Baarda, A
testing procedure for use in geodetic networks (1968); Grubbs' test for repeats: ISO 5725-2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

from setwright.base.tolerance import NO_REDUNDANCY
from setwright.estimate.least_squares import Fit

__all__ = ["CRITICAL", "SHIFT_FOUND", "Checked", "check", "grubbs_limit", "grubbs_statistic"]

Array = NDArray[np.float64]

CRITICAL = float(ndtri(1.0 - 0.001 / 2.0))
"""|w| above this is an outlier: false alarm 0.1 % for each observation, 3.291."""

SHIFT_FOUND = CRITICAL + float(ndtri(0.8))
"""Shift of w that is found with probability 80 %: 4.132."""


@dataclass(frozen=True, slots=True)
class Checked:
    """The m observations of a fit, looked at one by one.

    redundancy   (m,)  share of an error in the observation that shows in the residuals; 0 = nothing checks it
    w            (m,)  standardised residual, ~ N(0, 1) without blunders; nan where redundancy is 0
    blunder      (m,)  the observation's own error as the others see it (observed less what they predict); nan where redundancy is 0
    least_found  (m,)  smallest blunder found with 80 % at a false alarm of 0.1 %; inf where redundancy is 0
    """

    redundancy: Array
    w: Array
    blunder: Array
    least_found: Array

    @property
    def worst(self) -> int | None:
        """Index of the largest |w| beyond CRITICAL, or None."""
        size = np.where(np.isnan(self.w), 0.0, np.abs(self.w))
        index = int(np.argmax(size)) if size.size else 0
        return index if size.size and size[index] > CRITICAL else None


def check(fit: Fit) -> Checked:
    """Look at every observation of `fit`; correlated observations are allowed (general form with V⁻¹)."""
    weight = np.linalg.inv(fit.noise)
    of_residuals = fit.noise - fit.jacobian @ np.where(np.isfinite(fit.covariance), fit.covariance, 0.0) @ fit.jacobian.T
    information = np.diag(weight @ of_residuals @ weight)
    redundancy = np.clip(np.diag(of_residuals @ weight), 0.0, 1.0)
    pull = -(weight @ fit.residuals)
    seen = (redundancy > NO_REDUNDANCY) & (information > 0.0)
    m = redundancy.size
    w = np.full(m, np.nan)
    blunder = np.full(m, np.nan)
    least = np.full(m, np.inf)
    root = np.sqrt(information[seen])
    w[seen] = pull[seen] / root
    blunder[seen] = pull[seen] / information[seen]
    least[seen] = SHIFT_FOUND / root
    return Checked(np.where(seen, redundancy, 0.0), w, blunder, least)


def grubbs_statistic(values: Array) -> float:
    """Largest distance from the mean of n ≥ 3 repeats, in units of their standard deviation; 0 when all are alike."""
    spread = float(np.std(values, ddof=1))
    return float(np.max(np.abs(values - values.mean()))) / spread if spread > 0.0 else 0.0


def grubbs_limit(count: int, false_alarm: float = 0.05) -> float:
    """Two-sided critical value of `grubbs_statistic` for `count` ≥ 3 repeats.

    >>> round(grubbs_limit(6), 3)
    1.887
    """
    t = float(stdtrit(count - 2, 1.0 - false_alarm / (2.0 * count)))
    return (count - 1) / math.sqrt(count) * math.sqrt(t * t / (count - 2 + t * t))
