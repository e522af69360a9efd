"""What the measured values say of the registers: the posterior of how far each is off, and which values nobody should act on.

The deviations a of registers and kit are normal beforehand with the standard deviations of the touch-off and the kit; a value is
    measured - simulated = J (a + what was typed since) + the gauge's error + what differs from piece to piece.
That is one weighted least squares with priors, over all pieces; for one register and one feature it is the recursive gain
K_t = 1 / (t + sigma² / sigma_d²) of the harmonic rule with a prior.

A value that this model cannot have made is not averaged in. Rivals are weighed by their evidence, the normal density of all values
together: nothing odd; one value misread; one register or one tool off by any amount (a slip); something that is in no list. Only
where one of them holds 95 % of the probability does it decide; otherwise the odd values are measured again first.
Source: Gelman et al., Bayesian Data Analysis, ch. 14 (linear model with informative priors); F. E. Grubbs, An optimum procedure for
setting machines, J. Qual. Technol. 15 (1983), 186.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from setwright.estimate.least_squares import Array, Fit, Prior, fit

__all__ = ["SETTLED", "Belief", "Rival", "Values", "believe"]

SETTLED: Final = 0.95
"""Probability from which on one explanation decides."""

_GROSS_MM: Final = 1.0
_GROSS_RAD: Final = 0.02
_MISREAD: Final = 0.002
"""How often a value is written down wrong: a few digits at one in a thousand or two each (NUREG/CR-1278, chapter 20)."""

_OFF: Final = 0.003
"""How often one register or one tool is grossly off."""

_UNLISTED: Final = 0.001
_SHARED: Final = 0.5
"""Share of a gauge's variance that stays the same when the same place is measured again with it."""

_ODD: Final = 3.5


@dataclass(frozen=True, slots=True)
class Values:
    """k measured values: `rows` (k, n) of the influence matrix, `off` (k,) measured less simulated less what was typed, mm;
    `gauge` (k,) one standard deviation of its gauge, mm; `same` (k,) the number of its piece and place; `with_` (k,) that of its
    gauge."""

    rows: Array
    off: Array
    gauge: Array
    same: Sequence[int]
    with_: Sequence[int]

    def noise(self, between_mm: float) -> Array:
        """Covariance of the values (k, k), mm²; `between_mm`: one standard deviation from piece to piece."""
        same, with_ = np.asarray(self.same), np.asarray(self.with_)
        together = same[:, None] == same[None, :]
        shared = together & (with_[:, None] == with_[None, :])
        found = np.where(shared, _SHARED * np.outer(self.gauge, self.gauge), 0.0) + np.where(together, between_mm**2, 0.0)
        return np.asarray(found + np.diag((1.0 - _SHARED) * self.gauge**2))

    def without(self, rows: Sequence[int]) -> Values:
        """The same without some values."""
        kept = [number for number in range(self.off.size) if number not in rows]
        same, with_ = ([of[number] for number in kept] for of in (self.same, self.with_))
        return Values(self.rows[kept], self.off[kept], self.gauge[kept], same, with_)


@dataclass(frozen=True, slots=True)
class Rival:
    """One explanation: "none", "value", "cause" or "unlisted", the number of its value or cause, and its probability."""

    kind: str
    number: int
    probability: float


@dataclass(frozen=True, slots=True)
class Belief:
    """`mean` (n,), `covariance` (n, n): how far each cause was off when the first piece was cut. `rivals`: the likeliest first.
    `aside`: numbers of values that were not used."""

    mean: Array
    covariance: Array
    rivals: tuple[Rival, ...]
    aside: tuple[int, ...]
    fit: Fit = field(repr=False)

    @property
    def settled(self) -> bool:
        """Whether one explanation decides."""
        return self.rivals[0].probability >= SETTLED


def believe(values: Values, standard: Array, *, between_mm: float, turns: Sequence[int] = ()) -> Belief:
    """The posterior from values and the priors' `standard` deviations (n,), mm; `turns`: causes that are directions, rad.

    Exact for the linear normal model; with no value the belief is the prior.
    """
    noise = values.noise(between_mm)
    gross = np.array([_GROSS_RAD if number in turns else _GROSS_MM for number in range(standard.size)])
    rivals = _rivals(values, standard, noise, gross)
    first, wide = rivals[0], standard.copy()
    aside: tuple[int, ...] = ()
    if first.probability >= SETTLED and first.kind == "cause":
        wide[first.number] = math.hypot(standard[first.number], gross[first.number])
    elif first.probability >= SETTLED and first.kind == "value":
        aside = (first.number,)
    elif first.kind != "none" or first.probability < SETTLED:
        aside = _odd(values, standard, noise, rivals)
    kept = values.without(aside)
    found = _posterior(kept, wide, kept.noise(between_mm))
    return Belief(found.x, found.covariance, tuple(rivals), aside, found)


def _posterior(values: Values, standard: Array, noise: Array) -> Fit:
    prior = Prior(np.zeros(standard.size), standard)
    return fit(lambda a: (values.rows @ a - values.off, values.rows), np.zeros(standard.size), noise=noise, prior=prior)


def _rivals(values: Values, standard: Array, noise: Array, gross: Array) -> list[Rival]:
    spread = (values.rows * standard**2) @ values.rows.T + noise
    k, n = values.rows.shape
    told = [("none", -1, 0.0, spread), ("unlisted", -1, math.log(_UNLISTED), spread + _GROSS_MM**2 * np.eye(k))]
    for number in range(k):
        unit = np.zeros(k)
        unit[number] = _GROSS_MM
        told.append(("value", number, math.log(_MISREAD), spread + np.outer(unit, unit)))
    for number in range(n):
        column = values.rows[:, number] * gross[number]
        if np.any(column):
            told.append(("cause", number, math.log(_OFF), spread + np.outer(column, column)))
    logs = np.array([odds + _log_density(values.off, covariance) for _, _, odds, covariance in told])
    share = np.exp(logs - logs.max())
    share /= share.sum()
    found = [Rival(kind, number, float(p)) for (kind, number, _, _), p in zip(told, share, strict=True)]
    return sorted(found, key=lambda rival: -rival.probability)


def _log_density(off: Array, covariance: Array) -> float:
    if not off.size:
        return 0.0
    lower = np.linalg.cholesky(covariance)
    return -0.5 * float(np.sum(np.linalg.solve(lower, off) ** 2)) - float(np.log(np.diag(lower)).sum())


def _odd(values: Values, standard: Array, noise: Array, rivals: Sequence[Rival]) -> tuple[int, ...]:
    """Values that stand out where no explanation decides: those that may be misread, and those far from what was to be expected."""
    spread = (values.rows * standard**2) @ values.rows.T + noise
    far = np.abs(values.off) / np.sqrt(np.diag(spread)) > _ODD
    named = [rival.number for rival in rivals if rival.kind == "value" and rival.probability > 1.0 - SETTLED]
    return tuple(sorted({*named, *np.flatnonzero(far).tolist()}))
