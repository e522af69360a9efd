"""The uncertainty of a touch-off by drawing (JCGM 101): every error drawn from its own distribution, the readings solved anew.

It checks the linear budget where the equations bend: a bore of a few millimetres, a part turned far, two coordinates unread.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from setwright.estimate.least_squares import Array, Prior, fit
from setwright.touch.equations import Equations
from setwright.touch.solution import Solution

__all__ = ["drawn"]


def drawn(solution: Solution, weights: Mapping[str, float], *, trials: int, seed: int) -> Array:
    """`trials` values of Σ weight × unknown, sorted; nan at the end for trials that find no place. One seed, one answer."""
    rng = np.random.default_rng(seed)
    equations = Equations.of(list(solution.rows), solution.unknowns)
    noise = np.array([row.standard for row in solution.rows])
    prior = solution.unknowns.prior
    factors = np.zeros(len(solution.unknowns))
    for name, weight in weights.items():
        if (row := solution.unknowns.row(name)) is not None:
            factors[row] += weight
    readings = np.stack([sum((d.sample(rng, trials) for _, d in row.noise), np.zeros(trials)) for row in solution.rows])
    means = np.stack([u.known.sample(rng, trials) - u.known.mean if u.known else np.zeros(trials) for u in solution.unknowns])
    values = np.full(trials, np.nan)
    for trial in range(trials):

        def residuals(x: Array, error: Array = readings[:, trial]) -> tuple[Array, Array]:
            found, jacobian = equations(x)
            return found + error, jacobian

        around = Prior(prior.mean + means[:, trial], prior.standard)
        answer = fit(residuals, solution.fit.x, noise=noise, prior=around)
        if answer.converged:
            values[trial] = float(factors @ answer.x)
    return np.sort(values)
