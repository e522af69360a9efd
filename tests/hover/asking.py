"""How a person comes from something odd to an answer: what is written down after a check, and which check is made next."""

from __future__ import annotations

import numpy as np

from setwright.hover.check_plan import CheckPlan
from setwright.hover.diagnosis import AS_SHEET, Diagnosis, Observed, Weighing, diagnose
from setwright.hover.matrix import Matrix

__all__ = ["asked_on", "made"]

MOST_CHECKS = 12


def made(found: Matrix, suspect: int, check: int, rng: np.random.Generator) -> list[Observed]:
    """What a person writes down after one check under a slip (-1: no slip)."""
    here = found.checks[check]
    seen = here.right if suspect < 0 else found.seen[suspect][check]
    wanted = here.right if suspect < 0 else found.wanted[suspect][check]
    overlooked = rng.random() < here.check.misses
    noted = []
    for k, (now, right, spread) in enumerate(zip(seen, wanted, here.spread, strict=True)):
        there = right if overlooked else now
        if isinstance(there, float):
            noted.append(Observed(check, k, there + spread * float(rng.standard_normal())))
        else:
            noted.append(Observed(check, k, AS_SHEET if there == right else str(there)))
    return noted


def asked_on(found: Matrix, plan: CheckPlan, weighing: Weighing, suspect: int, rng: np.random.Generator) -> Diagnosis:
    """The checks of the plan one after the other until one says stop, then whatever the diagnosis asks for.

    Where none of them would (the slip does no harm, or the touch-off's readings show it), it begins with the check that shows it
    best: a diagnosis is asked for because something was seen.
    """
    noted: list[Observed] = []
    telling = [chosen.number for chosen in plan.checks if found.shown[suspect, chosen.number] > 0.5]
    until = [chosen.number for chosen in plan.checks].index(telling[0]) + 1 if telling else 0
    for chosen in plan.checks[:until]:
        noted += made(found, suspect, chosen.number, rng)
    if not telling:
        noted += made(found, suspect, int(np.argmax(found.shown[suspect])), rng)
    answer = diagnose(weighing, noted)
    for _ in range(MOST_CHECKS):
        if answer.next is None:
            break
        noted += made(found, suspect, answer.next, rng)
        answer = diagnose(weighing, noted)
    return answer
