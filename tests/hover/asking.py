"""How a person comes from something odd to an answer: what is written down after a check, and which check is made next."""

from __future__ import annotations

import numpy as np

from setwright.hover.check_plan import CheckPlan
from setwright.hover.diagnosis import AS_SHEET, DIFFERS, Diagnosis, Observed, Weighing, diagnose
from setwright.hover.matrix import Matrix

__all__ = ["asked_on", "explained", "made"]

MOST_CHECKS = 12


def made(found: Matrix, suspect: int, check: int, rng: np.random.Generator, *, vague: bool = False) -> list[Observed]:
    """What a person writes down after one check under a slip (-1: no slip); a `vague` one only that something differs."""
    here = found.checks[check]
    seen = here.right if suspect < 0 else found.seen[suspect][check]
    wanted = here.right if suspect < 0 else found.wanted[suspect][check]
    overlooked = rng.random() < here.check.misses
    noted = []
    for k, (now, right, spread) in enumerate(zip(seen, wanted, here.spread, strict=True)):
        there = right if overlooked else now
        if isinstance(there, float):
            of_ours = here.right[k]  # a wrong reading stands on the sheet as well: what is read back is as the sheet says
            assert isinstance(of_ours, float)
            assert isinstance(right, float)
            noted.append(Observed(check, k, of_ours + there - right + spread * float(rng.standard_normal())))
        else:
            noted.append(Observed(check, k, AS_SHEET if there == right else DIFFERS if vague else str(there)))
    return noted


def asked_on(
    found: Matrix, plan: CheckPlan, weighing: Weighing, suspect: int, rng: np.random.Generator, *, vague: bool = False
) -> Diagnosis:
    """The checks of the plan one after the other until one says stop, then whatever the diagnosis asks for.

    Where none of them would (the slip does no harm, or the touch-off's readings show it), it begins with the check that shows it
    best: a diagnosis is asked for because something was seen.
    """
    noted: list[Observed] = []
    telling = [chosen.number for chosen in plan.checks if found.shown[suspect, chosen.number] > 0.5]
    until = [chosen.number for chosen in plan.checks].index(telling[0]) + 1 if telling else 0
    for chosen in plan.checks[:until]:
        noted += made(found, suspect, chosen.number, rng, vague=vague)
    if not telling:
        noted += made(found, suspect, int(np.argmax(found.shown[suspect])), rng, vague=vague)
    answer = diagnose(weighing, noted)
    for _ in range(MOST_CHECKS):
        if answer.next is None:
            break
        noted += made(found, suspect, answer.next, rng, vague=vague)
        answer = diagnose(weighing, noted)
    return answer


def explained(weighing: Weighing, suspect: int, answer: Diagnosis) -> bool:
    """Whether the answer names the slip first, or first one that no check in the list can tell from it; "no slip" is such a one."""
    if answer.none > 0.5:
        return -1 in weighing.siblings(suspect)
    return bool(answer.ranked) and suspect in {answer.ranked[0].suspect, *answer.ranked[0].siblings}
