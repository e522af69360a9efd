"""The uncertainty of a touch-off by drawing (JCGM 101): every error drawn from its own distribution, the readings solved anew.

It checks the linear budget where the equations bend (a bore of a few millimetres, a part turned far, two coordinates unread) and
says whether both agree: clause 8 compares the ends of the two intervals with half a unit in the last digit that matters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from setwright.base.errors import InputRefused
from setwright.estimate.distribution import Distribution
from setwright.estimate.least_squares import Array
from setwright.estimate.uncertainty import Uncertain, monte_carlo_many, numerical_tolerance, validated
from setwright.touch.equations import Equations
from setwright.touch.many import Many, fit_many
from setwright.touch.solution import Estimate, Solution

__all__ = ["Compared", "compare", "drawn"]

_MOST_TRIALS = 1_000_000


@dataclass(frozen=True, slots=True)
class Compared:
    """One number by its budget and by drawing. `tolerance`: by how much the ends may differ, mm or rad; `agree`: whether they do.

    `settled` is false when the drawing had to stop before its own ends were known well enough to judge by: nothing is then proved.
    """

    budget: Estimate
    drawn: Uncertain
    tolerance: float
    agree: bool

    @property
    def settled(self) -> bool:
        """Whether the drawing met its own tolerance."""
        return self.drawn.settled

    @property
    def verdict(self) -> str:
        """Agree, differ or undecided, as one word."""
        if not self.settled:
            return "undecided"
        return "agree" if self.agree else "differ"


    def as_plain(self, per: float = 1.0) -> dict[str, object]:
        """Plain data, lengths divided by `per`."""
        return {
            "verdict": self.verdict, "budget": self.budget.expanded / per, "drawn": self.drawn.expanded / per,
            "tolerance": self.tolerance / per, "drawn_standard_uncertainty": self.drawn.standard / per, "trials": self.drawn.trials,
        }  # fmt: skip


def drawn(
    solution: Solution, goals: Mapping[str, Mapping[str, float]], *, seed: int, digits: int = 2, most_trials: int = _MOST_TRIALS,
) -> dict[str, Uncertain]:  # fmt: skip
    """Each goal, Σ weight × unknown, by adaptive drawing until all hold to `digits` digits of their u. One seed, one answer.

    Raises InputRefused when some of the drawn readings fit no place at all.
    """
    rows, unknowns = solution.rows, solution.unknowns
    equations = Many.of([Equations.of(list(rows), unknowns)])
    inputs: list[Distribution] = [d for row in rows for _, d in row.noise]
    owner = np.array([i for i, row in enumerate(rows) for _ in row.noise], dtype=np.intp)
    known = [(j, u.known) for j, u in enumerate(unknowns) if u.known is not None]
    inputs += [d for _, d in known]
    gather = np.zeros((owner.size, len(rows)))
    gather[np.arange(owner.size), owner] = 1.0
    weights = np.stack([_weights(solution, goal) for goal in goals.values()])
    noise, prior = np.array([row.standard for row in rows]), unknowns.prior

    def model(x: Array) -> Array:
        means = np.zeros((x.shape[1], len(unknowns)))
        for place, (j, d) in enumerate(known):
            means[:, j] = x[owner.size + place] - d.mean
        readings = x[: owner.size].T @ gather
        found, settled = fit_many(equations, solution.fit.x, noise=noise, prior=prior, readings=readings, means=means)
        found[~settled] = np.nan
        return np.asarray(weights @ found.T)

    try:
        values = monte_carlo_many(model, inputs, seed=seed, digits=digits, most_trials=most_trials)
    except ValueError as error:
        raise InputRefused.because("the uncertainty cannot be found by drawing", why="some of the drawn readings fit no place",
                                   remedy="make one more contact on each face the datum names") from error  # fmt: skip
    return dict(zip(goals, values, strict=True))


def _weights(solution: Solution, goal: Mapping[str, float]) -> Array:
    row = np.zeros(len(solution.unknowns))
    for name, weight in goal.items():
        at = solution.unknowns.row(name)
        if at is not None:
            row[at] += weight
    return row


def compare(solution: Solution, goals: Mapping[str, Mapping[str, float]], *, seed: int, digits: int = 1) -> dict[str, Compared]:
    """Budget against drawing for each goal: whether the 95 % intervals agree to `digits` digits of u (JCGM 101, clause 8).

    The drawing itself is held to one digit more, as 8.2 asks.
    """
    by_drawing = drawn(solution, goals, seed=seed, digits=digits + 1)
    found = {}
    for name, goal in goals.items():
        budget = solution.estimate(goal)
        by_formula = Uncertain(budget.value, budget.standard, budget.dof, budget.k, budget.expanded, budget.value - budget.expanded,
                               budget.value + budget.expanded, 0.95)  # fmt: skip
        agree = validated(by_formula, by_drawing[name], digits=digits)
        found[name] = Compared(budget, by_drawing[name], numerical_tolerance(budget.standard, digits), agree)
    return found
