"""One interface to the uncertainty of a computed quantity: by linear propagation (JCGM 100) or by drawing (JCGM 101).

Both take the same model and the same inputs and return the same `Uncertain`. `validated` compares them as JCGM 101 clause 8 does.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import DIFFERENCE_STEP_RELATIVE
from setwright.estimate.coverage import student_factor, welch_satterthwaite
from setwright.estimate.distribution import Distribution

__all__ = ["Interval", "Model", "Uncertain", "linear", "monte_carlo", "monte_carlo_many", "numerical_tolerance", "validated"]

Array = NDArray[np.float64]
Model = Callable[[Array], Array]
"""Inputs (n, trials) -> output (trials,)."""

_BLOCK = 10_000


class Interval(Enum):
    """Which of the intervals with the wanted probability."""

    SYMMETRIC = "symmetric"
    SHORTEST = "shortest"


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value and how sure it is. `contributions` (n,): signed sensitivity × standard uncertainty of each input (linear only).

    `expanded` = `k` × `standard`; for drawn results half of `low`..`high`. `trials` 0 = linear. `settled`: the adaptive
    drawing met its tolerance (always true when linear).
    """

    value: float
    standard: float
    dof: float
    k: float
    expanded: float
    low: float
    high: float
    probability: float
    contributions: tuple[float, ...] = ()
    trials: int = 0
    settled: bool = True


def linear(model: Model, inputs: Sequence[Distribution], *, probability: float = 0.95, second_order: bool = False) -> Uncertain:
    """Law of propagation of uncertainty for independent inputs, with Welch–Satterthwaite dof (cut to a whole number) and k from t.

    Sensitivities by central differences of DIFFERENCE_STEP_RELATIVE × u: relative error of the order of its square plus round-off
    of the model over the step. `second_order` adds the terms of the note to JCGM 100, 5.1.2, by differences over one u.
    """
    mean = np.array([d.mean for d in inputs])
    u = np.array([d.standard for d in inputs])
    value = float(model(mean[:, None])[0])
    step = np.where(u > 0.0, u, 0.0) * math.sqrt(DIFFERENCE_STEP_RELATIVE)
    offsets = np.diag(step)
    moved = model(np.concatenate([mean[:, None] + offsets, mean[:, None] - offsets], axis=1))
    n = u.size
    used = step > 0.0
    sensitivity = np.divide(moved[:n] - moved[n:], 2.0 * step, out=np.zeros(n), where=used)
    contributions = sensitivity * u
    variance = float(contributions @ contributions)
    dof = welch_satterthwaite(contributions.tolist(), [d.dof for d in inputs])
    if second_order:
        variance += _second_order(model, mean, u, contributions)
    standard = math.sqrt(max(variance, 0.0))
    whole = math.floor(dof) if math.isfinite(dof) else math.inf
    k = student_factor(probability, max(whole, 1.0))
    expanded = k * standard
    return Uncertain(value, standard, dof, k, expanded, value - expanded, value + expanded, probability,
                     tuple(contributions.tolist()))  # fmt: skip


def _second_order(model: Model, mean: Array, u: Array, first: Array) -> float:
    """Σᵢⱼ [½ fᵢⱼ² + fᵢ fᵢⱼⱼ] uᵢ² uⱼ², derivatives in units of u from the values at mean ± u."""
    n = u.size

    def at(*moves: tuple[int, float]) -> float:
        place = mean.copy()
        for index, sign in moves:
            place[index] += sign * u[index]
        return float(model(place[:, None])[0])

    middle = at()
    total = 0.0
    for i in range(n):
        for j in range(n):
            if i == j:
                plus, minus = at((i, 1.0)), at((i, -1.0))
                curve = plus - 2.0 * middle + minus
                third = 0.5 * (at((i, 2.0)) - 2.0 * plus + 2.0 * minus - at((i, -2.0)))
            else:
                pp, pm = at((i, 1.0), (j, 1.0)), at((i, 1.0), (j, -1.0))
                mp, mm = at((i, -1.0), (j, 1.0)), at((i, -1.0), (j, -1.0))
                curve = 0.25 * (pp - pm - mp + mm)
                third = 0.5 * ((pp + pm) - (mp + mm)) - (at((i, 1.0)) - at((i, -1.0)))
            total += 0.5 * curve * curve + float(first[i]) * third
    return total


def numerical_tolerance(standard: float, digits: int = 2) -> float:
    """δ of JCGM 101, 7.9.2: half a unit in the last of the `digits` significant digits of the standard uncertainty.

    >>> numerical_tolerance(0.0354)
    0.0005
    """
    if standard <= 0.0:
        return 0.0
    power = math.floor(math.log10(standard)) - (digits - 1)
    if round(standard / 10.0**power) >= 10**digits:
        power += 1
    return 0.5 * 10.0**power


def monte_carlo(
    model: Model,
    inputs: Sequence[Distribution],
    *,
    seed: int,
    probability: float = 0.95,
    interval: Interval = Interval.SYMMETRIC,
    digits: int = 2,
    most_trials: int = 4_000_000,
) -> Uncertain:
    """Adaptive Monte Carlo (JCGM 101, 7.9): blocks of 10 000 until value, uncertainty and both ends hold to `digits` digits of u.

    The same `seed` gives the same answer. `settled` is false when `most_trials` came first.
    Blocks hold at least 100/(1 − p) trials.
    """

    def single(x: Array) -> Array:
        return model(x)[None, :]

    return monte_carlo_many(single, inputs, seed=seed, probability=probability, interval=interval, digits=digits,
                            most_trials=most_trials)[0]  # fmt: skip


def monte_carlo_many(
    model: Model,
    inputs: Sequence[Distribution],
    *,
    seed: int,
    probability: float = 0.95,
    interval: Interval = Interval.SYMMETRIC,
    digits: int = 2,
    most_trials: int = 4_000_000,
) -> list[Uncertain]:
    """The same for a model with several outputs (outputs, trials), drawn together until every one of them has settled.

    Trials for which the model has no answer (nan) are refused with ValueError: leaving them out would make the rest look surer.
    """
    rng = np.random.default_rng(seed)
    size = max(_BLOCK, math.ceil(100.0 / (1.0 - probability)))
    blocks: list[Array] = []
    summaries: list[Array] = []
    settled = np.zeros(1, dtype=bool)
    while not settled.all() and (len(blocks) + 1) * size <= max(most_trials, 2 * size):
        drawn = np.sort(model(np.stack([d.sample(rng, size) for d in inputs])), axis=1)
        if not np.all(np.isfinite(drawn)):
            raise ValueError("the model has no answer for some of the drawn inputs")
        blocks.append(drawn)
        ends = np.array([_ends(row, probability, interval) for row in drawn])
        summaries.append(np.column_stack([drawn.mean(axis=1), drawn.std(axis=1, ddof=1), ends]))
        settled = np.zeros(drawn.shape[0], dtype=bool)
        if len(blocks) >= 2:
            table = np.stack(summaries)
            scatter = 2.0 * table.std(axis=0, ddof=1) / math.sqrt(len(blocks))
            tolerance = np.array([numerical_tolerance(float(u), digits) for u in table[:, :, 1].mean(axis=0)])
            settled = np.all(scatter < tolerance[:, None], axis=1) | (scatter.max(axis=1) == 0.0)
    every = np.sort(np.concatenate(blocks, axis=1), axis=1)
    return [_summed(row, probability, interval, settled=bool(done)) for row, done in zip(every, settled, strict=True)]


def _summed(every: Array, probability: float, interval: Interval, *, settled: bool) -> Uncertain:
    low, high = _ends(every, probability, interval)
    standard = float(every.std(ddof=1))
    expanded = 0.5 * (high - low)
    return Uncertain(float(every.mean()), standard, math.inf, expanded / standard if standard > 0.0 else 0.0, expanded, low, high,
                     probability, trials=every.size, settled=settled)  # fmt: skip


def _ends(ordered: Array, probability: float, interval: Interval) -> tuple[float, float]:
    """Ends of the coverage interval from sorted values (JCGM 101, 7.7)."""
    count = ordered.size
    inside = min(math.floor(probability * count + 0.5), count - 1)
    if interval is Interval.SHORTEST:
        start = int(np.argmin(ordered[inside:] - ordered[: count - inside]))
    else:
        start = min(math.floor(0.5 * (count - inside) + 0.5), count - inside - 1)
    return float(ordered[start]), float(ordered[start + inside])


def validated(by_formula: Uncertain, drawn: Uncertain, *, digits: int = 2) -> bool:
    """Whether the linear interval agrees with the drawn one at both ends within the numerical tolerance (JCGM 101, 8.1).

    Draw with `digits` + 1 to give the comparison the sharper side it needs (8.2).
    """
    tolerance = numerical_tolerance(by_formula.standard, digits)
    return abs(by_formula.low - drawn.low) <= tolerance and abs(by_formula.high - drawn.high) <= tolerance
