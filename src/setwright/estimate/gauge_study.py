"""A gauge study: how much of what a gauge shows is the gauge, how much the person, how much the parts.

I parts are each measured m times by each of J people (crossed, balanced). Analysis of variance with interaction:
    repeatability = MSE,  interaction = (MS_po - MSE) / m,  person = (MS_o - MS_po) / (I m),  part = (MS_p - MS_po) / (J m),
each at least 0. Where the interaction does not show (probability of its F above POOLED) its squares go to the error, as is usual,
and person and part are reckoned against that. Repeatability and reproducibility together is the sum of the first three; intervals
are those of chi-square, of sums with Satterthwaite's degrees of freedom.
Source: S. B. Vardeman and J. M. Jobe, Statistical Methods for Quality Assurance, ch. 2 (crossed gauge studies); JCGM 100 G.4.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

__all__ = ["POOLED", "GaugeStudy", "Interval", "study"]

Array = NDArray[np.float64]

POOLED = 0.25
"""Probability of the interaction's F above which its squares go to the error."""

_COVERED = 0.95


@dataclass(frozen=True, slots=True)
class Interval:
    """A standard deviation with its 95 % interval, `dof` degrees of freedom; in the unit of the values."""

    value: float
    low: float
    high: float
    dof: float


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """Standard deviations, in the unit of the values: of the same person on the same part (`repeatability`), between people
    (`reproducibility`, with what differs by part), both together (`gauge`), the parts themselves, everything.

    `squares`: sums of squares of part, person, both, error; `degrees`: their degrees of freedom; `pooled`: whether the interaction
    went to the error.
    """

    squares: tuple[float, float, float, float]
    degrees: tuple[int, int, int, int]
    pooled: bool
    repeatability: Interval
    reproducibility: float
    gauge: Interval
    parts: float

    @property
    def total(self) -> float:
        """One standard deviation of a value of any part by anybody."""
        return math.hypot(self.gauge.value, self.parts)

    @property
    def share(self) -> float:
        """The gauge's share of the whole, of standard deviations; nan where nothing scatters."""
        return self.gauge.value / self.total if self.total else math.nan

    @property
    def distinct(self) -> int:
        """How many sizes of these parts the gauge tells apart: 1.41 times parts over gauge, cut to a whole number."""
        return int(1.41 * self.parts / self.gauge.value) if self.gauge.value else 0

    def of_limits(self, width: float) -> float:
        """Six of the gauge's standard deviations as a share of the width between the limits."""
        return 6.0 * self.gauge.value / width


def study(values: Sequence[Sequence[Sequence[float]]], *, pool: bool = True) -> GaugeStudy:
    """The study of values (I parts, J people, m repeats), at least two of each.

    Exact for the normal random-effects model up to the truncation of negative variances at 0; intervals are approximate, those of
    few people very wide. Raises ValueError for a table that is not full.
    """
    table = np.asarray(values, np.float64)
    if table.ndim != 3 or min(table.shape) < 2:
        raise ValueError("a study needs two parts, two people and two repeats at least, and as many of each everywhere")
    i, j, m = table.shape
    mean, cells = float(table.mean()), table.mean(axis=2)
    parts, people = cells.mean(axis=1), cells.mean(axis=0)
    squares = (j * m * float(((parts - mean) ** 2).sum()), i * m * float(((people - mean) ** 2).sum()),
               m * float(((cells - parts[:, None] - people[None, :] + mean) ** 2).sum()),
               float(((table - cells[:, :, None]) ** 2).sum()))  # fmt: skip
    degrees = (i - 1, j - 1, (i - 1) * (j - 1), i * j * (m - 1))
    of_part, of_person, of_both, error = (square / count for square, count in zip(squares, degrees, strict=True))
    pooled = pool and (error == 0.0 or float(stats.f.sf(of_both / error, degrees[2], degrees[3])) > POOLED)
    counts = [float(count) for count in degrees]
    if pooled:
        counts[3] = float(degrees[2] + degrees[3])
        error = of_both = (squares[2] + squares[3]) / counts[3]
    both = max(0.0, (of_both - error) / m)
    person, part = max(0.0, (of_person - of_both) / (i * m)), max(0.0, (of_part - of_both) / (j * m))
    if pooled:
        terms = [(of_person / (i * m), counts[1]), (error * (i * m - 1) / (i * m), counts[3])]
    else:
        terms = [(of_person / (i * m), counts[1]), ((i - 1) * of_both / (i * m), counts[2]), ((m - 1) * error / m, counts[3])]
    whole = error + both + person
    weight = sum(size**2 / count for size, count in terms)
    dof = sum(size for size, _ in terms) ** 2 / weight if weight else counts[3]
    return GaugeStudy(squares, degrees, pooled, _interval(error, counts[3]), math.sqrt(both + person), _interval(whole, dof),
                      math.sqrt(part))  # fmt: skip


def _interval(square: float, dof: float) -> Interval:
    low, high = (math.sqrt(square * dof / float(stats.chi2.ppf(p, dof))) for p in ((1 + _COVERED) / 2, (1 - _COVERED) / 2))
    return Interval(math.sqrt(square), low, high, dof)
