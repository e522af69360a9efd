"""The plan of a setup's checks in a person's terms: what to do, in which order, which slips each is there for, what stays
uncaught."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from setwright.hover.check_list import CheckHere
from setwright.hover.check_odds import shown
from setwright.hover.matrix import Matrix
from setwright.hover.outcome import Outcome
from setwright.hover.plan import least_time, most_protection, ordered
from setwright.model.setup_check import Stage

__all__ = ["HARM", "Catch", "CheckPlan", "Chosen", "Uncaught", "plan_checks"]

Array = NDArray[np.float64]

HARM: Final = {Outcome.UNDECIDED: 10.0, Outcome.CRASH: 10.0, Outcome.BROKEN: 3.0, Outcome.SCRAP: 1.0, Outcome.REWORK: 0.1,
               Outcome.HARMLESS: 0.0}  # fmt: skip
"""How much worse one end is than a scrapped piece, by the shop's judgement; it only ranks what a limited time is spent on first."""

_STAGES: Final[tuple[Stage, ...]] = ("standing", "tip over the part", "running")
_TELLING = 0.5


@dataclass(frozen=True, slots=True)
class Catch:
    """A suspect (its place in the matrix), how probably the check shows it, and whether no other check of the plan is likely to."""

    suspect: int
    probability: float
    alone: bool


@dataclass(frozen=True, slots=True)
class Chosen:
    """A check of the plan (`number`: its place in the matrix). `catches`: the harmful suspects it is there for, the greatest risk
    first: those it shows at least every other time. `risk_share`: how much of the risk that is left when it is made it takes
    away."""

    number: int
    check: CheckHere
    catches: tuple[Catch, ...]
    risk_share: float

    def as_plain(self, matrix: Matrix, units: str = "mm") -> dict[str, Any]:
        """Plain data; what the sheet says in `units`."""
        check = self.check
        return {
            "slug": check.slug, "on": check.on or None, "name": check.check.name, "minutes": check.minutes, "do": check.do,
            "needs": list(check.check.needs), "caution": check.caution, "stage": check.check.stage, "risk_share": self.risk_share,
            "catches": [{"slug": matrix.suspects[c.suspect].slug, "text": matrix.suspects[c.suspect].words,
                         "outcome": matrix.suspects[c.suspect].outcome.value, "probability": c.probability, "alone": c.alone}
                        for c in self.catches],
            "sees": check.sees_plain(units),
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Uncaught:
    """A harmful suspect that the plan shows with less than the wanted probability. `best`: with every check there is; `by_plan`:
    with the checks of the plan."""

    suspect: int
    best: float
    by_plan: float


@dataclass(frozen=True, slots=True)
class CheckPlan:
    """The plan.

    `catch`: the probability asked for; `within`: the minutes to stay in, None where the least time was asked for. `checks`: in the
    order to make them. `minutes`: of all. `uncaught`: what stays below `catch`, the greatest risk first. `spared`: checks that
    would be in the plan if the readings of the touch-off did not check one another. `looks_twice`: how often a good setup raises
    at least one alarm. `risk`, `risk_left`: rate times harm of all suspects, without and with the plan: weights for choosing, no
    probabilities. `harmful_left`: the probability that some harmful slip was made and neither readings nor plan showed it.
    """

    catch: float
    within: float | None
    checks: tuple[Chosen, ...]
    minutes: float
    uncaught: tuple[Uncaught, ...]
    spared: tuple[CheckHere, ...]
    looks_twice: float
    risk: float
    risk_left: float
    harmful_left: float


def plan_checks(matrix: Matrix, *, catch: float, within: float | None = None, already: Array | None = None) -> CheckPlan:
    """The least time that catches every harmful suspect with probability `catch`, or, with `within` minutes, the most protection.

    `already` (n,): the probability that the readings of the touch-off themselves have shown a suspect.
    """
    risk = _risk(matrix)
    known = np.zeros(len(matrix.suspects)) if already is None else already
    made = _solve(matrix, risk, catch, within, known)
    bare = made if not known.any() else _solve(matrix, risk, catch, within, np.zeros_like(known))
    hidden = 1.0 - known
    checks = []
    for j in ordered(matrix.caught, matrix.minutes, risk * hidden, made[0], stage=_stage(matrix)):
        takes = float((risk * hidden) @ matrix.caught[:, j])
        left = float(risk @ hidden)
        checks.append(Chosen(j, matrix.checks[j], _catches(matrix, risk, j, made[0]), takes / left if left > 0.0 else 0.0))
        hidden = hidden * (1.0 - matrix.caught[:, j])
    spared = tuple(matrix.checks[j] for j in np.flatnonzero(bare[0] & ~made[0]))
    alarms = [shown(chosen.check.odds, [0.0] * len(chosen.check.odds.spread), differs=False) for chosen in checks]
    minutes = math.fsum(chosen.check.minutes for chosen in checks)
    return CheckPlan(
        catch, within, tuple(checks), minutes, _uncaught(matrix, risk, catch, *made[1:]), spared,
        1.0 - math.prod(1.0 - alarm for alarm in alarms), float(risk.sum()), float(risk @ hidden),
        1.0 - math.prod(1.0 - rate for rate in (matrix.rates * hidden)[matrix.harmful].tolist()),
    )  # fmt: skip


def _solve(matrix: Matrix, risk: Array, catch: float, within: float | None, known: Array) -> tuple[NDArray[np.bool_], Array, Array]:
    if within is None:
        plan = least_time(matrix.caught, matrix.minutes, matrix.harmful, catch=catch, already=known)
    else:
        plan = most_protection(matrix.caught, matrix.minutes, risk, within=within, already=known)
    return plan.chosen, plan.best, plan.caught


def _risk(matrix: Matrix) -> Array:
    return np.array([suspect.rate * HARM[suspect.outcome] for suspect in matrix.suspects])


def _stage(matrix: Matrix) -> Sequence[int]:
    return [_STAGES.index(check.check.stage) for check in matrix.checks]


def _catches(matrix: Matrix, risk: Array, j: int, chosen: NDArray[np.bool_]) -> tuple[Catch, ...]:
    others = chosen.copy()
    others[j] = False
    alone = ~np.any(matrix.caught[:, others] >= _TELLING, axis=1, keepdims=True)[:, 0]
    found = [i for i in range(len(matrix.suspects)) if matrix.harmful[i] and matrix.caught[i, j] >= _TELLING]
    found.sort(key=lambda i: (not alone[i], -risk[i] * matrix.caught[i, j], i))
    return tuple(Catch(i, float(matrix.shown[i, j]), bool(alone[i])) for i in found)


def _uncaught(matrix: Matrix, risk: Array, catch: float, best: Array, by_plan: Array) -> tuple[Uncaught, ...]:
    rows = np.flatnonzero(matrix.harmful & (by_plan < catch - (1.0 - catch) * 0.001))
    order = sorted(rows.tolist(), key=lambda i: (-risk[i] * (1.0 - by_plan[i]), i))
    return tuple(Uncaught(i, float(best[i]), float(by_plan[i])) for i in order)
