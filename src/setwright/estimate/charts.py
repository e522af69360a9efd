"""Control charts: constants, limits, run rules, and capability of a stable process.

c4 comes from the gamma function, d2 and d3 from the law of the range of n normal values by quadrature; the constants agree with the
published tables to their printed decimals. Run rules cost false alarms: a lone rule of three standard deviations stops a good
process once in 370 points, together with eight on one side once in 153, with all four rules here once in about 92.
Source: ISO 7870-2 (Shewhart) and ISO 7870-6 (EWMA); C. W. Champ and W. H. Woodall, Technometrics 29 (1987) 393; R. N. Rodriguez,
J. Qual. Technol. 24 (1992) 176 (intervals of capability).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import stats
from scipy.special import gammaln, ndtr

__all__ = ["LEAST_POINTS", "RULES", "Capability", "Chart", "Constants", "capability", "constants", "ewma", "individuals",
           "means_and_ranges", "signals"]  # fmt: skip

Array = NDArray[np.float64]
_REACH: Final = 8.0
_NODES: Final = 128
LEAST_POINTS: Final = 8
"""Points from which on a chart speaks of a process as stable."""

RULES: Final = ("beyond three standard deviations", "two of three beyond two on one side", "four of five beyond one on one side",
                "eight in a row on one side")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Constants:
    """Of subgroups of n: mean of s and of the range in sigma (c4, d2), deviation of the range (d3), factors of the limits."""

    c4: float
    d2: float
    d3: float
    a2: float
    a3: float
    d_lower: float
    d_upper: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart: `kind`, centre line, `lower` and `upper` by point, `points`, sigma of a point; `found`: by point the rules (numbers
    in RULES) that it breaks."""

    kind: str
    centre: float
    lower: Array
    upper: Array
    points: Array
    sigma: float
    found: tuple[tuple[int, ...], ...]

    @property
    def stable(self) -> bool | None:
        """Whether no point breaks a rule; None where there are too few to say, or where all are the same and show no scatter."""
        if any(self.found):
            return False
        return True if self.points.size >= LEAST_POINTS and self.sigma > 0.0 else None


@dataclass(frozen=True, slots=True)
class Capability:
    """Cp and Cpk with their 95 % intervals."""

    cp: float
    cp_low: float
    cp_high: float
    cpk: float
    cpk_low: float
    cpk_high: float


@cache
def constants(n: int) -> Constants:
    """The constants of subgroups of n >= 2 values. Error below 1e-6.

    >>> round(constants(5).d2, 5), round(constants(5).a2, 5), round(constants(2).d_upper, 5)
    (2.32593, 0.57682, 3.26653)
    """
    if n < 2:
        raise ValueError("a range needs two values")
    c4 = math.sqrt(2.0 / (n - 1)) * math.exp(gammaln(n / 2) - gammaln((n - 1) / 2))
    x, of_x = np.polynomial.legendre.leggauss(_NODES)
    x, of_x, w, of_w = x * _REACH, of_x * _REACH, (x + 1.0) * _REACH, of_x * _REACH
    density = np.exp(-0.5 * x**2) / math.sqrt(2.0 * math.pi)
    beyond = 1.0 - n * ((ndtr(x[None, :] + w[:, None]) - ndtr(x)[None, :]) ** (n - 1) @ (of_x * density))  # P(range > w)
    d2 = float(of_w @ beyond)
    d3 = math.sqrt(2.0 * float((of_w * w) @ beyond) - d2 * d2)
    spread = 3.0 * d3 / d2
    return Constants(c4, d2, d3, 3.0 / (d2 * math.sqrt(n)), 3.0 / (c4 * math.sqrt(n)), max(0.0, 1.0 - spread), 1.0 + spread)


def individuals(values: Sequence[float]) -> tuple[Chart, Chart]:
    """Charts of single values and of their moving ranges, from at least two values."""
    points = np.asarray(values, np.float64)
    ranges = np.abs(np.diff(points))
    of = constants(2)
    mean = float(ranges.mean())
    sigma = mean / of.d2
    return _level("individuals", points, float(points.mean()), sigma), _range("moving range", ranges, mean, of)


def means_and_ranges(groups: Sequence[Sequence[float]]) -> tuple[Chart, Chart]:
    """Charts of the means and ranges of subgroups of one size."""
    table = np.asarray(groups, np.float64)
    of, ranges, means = constants(table.shape[1]), np.ptp(table, axis=1), table.mean(axis=1)
    mean = float(ranges.mean())
    sigma = mean / of.d2 / math.sqrt(table.shape[1])
    return _level("means", means, float(means.mean()), sigma), _range("ranges", ranges, mean, of)


def ewma(values: Sequence[float], *, centre: float, sigma: float, share: float = 0.2, width: float = 2.8593) -> Chart:
    """The exponentially weighted mean with its exact limits; `share` 0.2 with `width` 2.8593 alarms a good process once in 370."""
    points, at = np.asarray(values, np.float64), centre
    found = np.empty(points.size)
    for number, value in enumerate(points.tolist()):
        at = found[number] = share * value + (1.0 - share) * at
    t = np.arange(1, points.size + 1)
    reach = width * sigma * np.sqrt(share / (2.0 - share) * (1.0 - (1.0 - share) ** (2 * t)))
    beyond = tuple((0,) if abs(value - centre) > limit else () for value, limit in zip(found, reach, strict=True))
    return Chart("EWMA", centre, centre - reach, centre + reach, found, sigma, beyond)


def _level(kind: str, points: Array, centre: float, sigma: float) -> Chart:
    width = np.full(points.size, 3.0 * sigma)
    z = (points - centre) / sigma if sigma else np.zeros(points.size)
    return Chart(kind, centre, centre - width, centre + width, points, sigma, signals(z))


def _range(kind: str, points: Array, mean: float, of: Constants) -> Chart:
    lower, upper = np.full(points.size, of.d_lower * mean), np.full(points.size, of.d_upper * mean)
    beyond = tuple((0,) if not low <= value <= high else () for low, value, high in zip(lower, points, upper, strict=True))
    return Chart(kind, mean, lower, upper, points, of.d3 / of.d2 * mean, beyond)


def signals(z: Array) -> tuple[tuple[int, ...], ...]:
    """The rules (numbers in RULES) that each point breaks, from points in standard deviations from the centre line."""
    found = []
    for end in range(1, z.size + 1):
        broken = []
        for rule, (last, count, beyond) in enumerate(((1, 1, 3.0), (3, 2, 2.0), (5, 4, 1.0), (8, 8, 0.0))):
            run = z[max(0, end - last) : end]
            side = run * (1.0 if z[end - 1] >= 0.0 else -1.0)
            if run.size >= count and side[-1] > beyond and int((side > beyond).sum()) >= count:
                broken.append(rule)
        found.append(tuple(broken))
    return tuple(found)


def capability(values: Sequence[float], lower: float, upper: float, *, sigma: float | None = None) -> Capability:
    """Cp and Cpk of a stable process, from its own standard deviation or a given `sigma` within subgroups.

    Intervals: Cp by chi-square, Cpk by the normal approximation.
    """
    points = np.asarray(values, np.float64)
    n, mean = points.size, float(points.mean())
    s = float(points.std(ddof=1)) if sigma is None else sigma
    cp, cpk = (upper - lower) / (6.0 * s), min(upper - mean, mean - lower) / (3.0 * s)
    low, high = (cp * math.sqrt(stats.chi2.ppf(p, n - 1) / (n - 1)) for p in (0.025, 0.975))
    reach = float(stats.norm.ppf(0.975)) * math.sqrt(1.0 / (9.0 * n) + cpk**2 / (2.0 * (n - 1)))
    return Capability(cp, low, high, cpk, cpk - reach, cpk + reach)
