"""Every check against every slip: probabilities against carrying the check out, and the promise of the plan against many setups."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.hover.check_list import CheckHere
from setwright.hover.check_plan import HARM, plan_checks
from setwright.hover.check_sights import Seen
from setwright.hover.matrix import Matrix, matrix_of
from tests.hover.bench_setups import bench
from tests.hover.suspects import suspects

TRIALS = 100_000
SETUPS = 20_000
JOBS = ("bearing-cap", "pintle", "spacers")


def matrix(job: str) -> Matrix:
    of = bench(job)
    return matrix_of(of.sheet, suspects(of), of.checks)


def carried_out(
    check: CheckHere, seen: tuple[Seen, ...], wanted: tuple[Seen, ...], rng: np.random.Generator, trials: int
) -> np.ndarray:
    """Whether the check says stop, bool (trials,): each number read with noise and held against its limit, words compared."""
    limits = iter(check.odds.limits.tolist())
    stop = np.zeros(trials, np.bool_)
    for now, right, spread in zip(seen, wanted, check.spread, strict=True):
        if isinstance(right, float):
            limit = next(limits)
            read = (now if isinstance(now, float) else np.inf) + spread * rng.standard_normal(trials)
            stop |= np.abs(read - right) > limit
        else:
            stop |= now != right
    return stop & (rng.random(trials) >= check.check.misses)


@pytest.mark.parametrize("job", JOBS)
def test_probabilities_are_those_of_carrying_the_checks_out(job: str) -> None:
    found, rng = matrix(job), np.random.default_rng(20)
    pairs = [(i, j) for i in range(len(found.suspects)) for j in range(len(found.checks))]
    middling = [(i, j) for i, j in pairs if 0.02 < found.shown[i, j] < 0.98]
    for i, j in [*middling[:12], *(pairs[int(k)] for k in rng.integers(0, len(pairs), 24))]:
        share = carried_out(found.checks[j], found.seen[i][j], found.wanted[i][j], rng, TRIALS).mean()
        assert found.shown[i, j] == pytest.approx(share, abs=0.005), (found.suspects[i].words, found.checks[j].name)


@pytest.mark.parametrize("job", JOBS)
def test_of_harmful_slips_in_twenty_thousand_setups_no_more_get_through_than_promised(job: str) -> None:
    found, rng = matrix(job), np.random.default_rng(21)
    plan = plan_checks(found, catch=0.99)
    left = {each.suspect for each in plan.uncaught}
    promised = [i for i in range(len(found.suspects)) if found.harmful[i] and i not in left]
    assert len(promised) > 20, "hardly a slip is caught at all"
    rates = found.rates / found.rates[promised].sum()
    happened = rng.choice(promised, SETUPS, p=rates[promised] / rates[promised].sum())
    through = 0
    for i in np.unique(happened):
        setups = int((happened == i).sum())
        shown = np.zeros(setups, np.bool_)
        for chosen in plan.checks:
            if found.caught[i, chosen.number] > 0.0:  # a hold point behind the harm is no help
                shown |= carried_out(chosen.check, found.seen[i][chosen.number], found.wanted[i][chosen.number], rng, setups)
        through += int((~shown).sum())
    # one percent is promised slip by slip; three standard deviations of the count are allowed above it
    assert through <= 0.01 * SETUPS + 3.0 * np.sqrt(0.01 * SETUPS)


@pytest.mark.parametrize("job", JOBS)
def test_the_plan_says_what_it_is_there_for_and_what_it_leaves(job: str) -> None:
    found = matrix(job)
    plan = plan_checks(found, catch=0.99)
    assert plan.minutes == pytest.approx(sum(chosen.check.minutes for chosen in plan.checks))
    stages = ["standing", "tip over the part", "running"]
    order = [stages.index(chosen.check.check.stage) for chosen in plan.checks]
    assert order == sorted(order)
    for chosen in plan.checks:
        assert chosen.catches, f"{chosen.check.name} is in the plan for nothing"
    for each in plan.uncaught:
        assert each.by_plan < 0.99
    harmful = sum(suspect.rate * HARM[suspect.outcome] for suspect in found.suspects)
    assert plan.risk == pytest.approx(harmful)
    assert plan.risk_left < 0.2 * plan.risk
    # a chance, not a weight: what is made and not shown, one slip beside the other
    unseen = [suspect.rate * float(np.prod([1.0 - found.caught[i, chosen.number] for chosen in plan.checks]))
              for i, suspect in enumerate(found.suspects) if suspect.outcome.harmful]  # fmt: skip
    assert plan.harmful_left == pytest.approx(1.0 - float(np.prod([1.0 - rate for rate in unseen])))
    assert plan.harmful_left < 0.2 * sum(suspect.rate for suspect in found.suspects if suspect.outcome.harmful)


def test_more_minutes_leave_less_risk_and_no_more_time_is_taken_than_given() -> None:
    found = matrix("bearing-cap")
    left = [plan_checks(found, catch=0.99, within=within) for within in (0.0, 1.0, 3.0, 6.0, 12.0)]
    assert [plan.minutes <= within + 1e-9 for plan, within in zip(left, (0.0, 1.0, 3.0, 6.0, 12.0), strict=True)] == [True] * 5
    risks = [plan.risk_left for plan in left]
    assert risks == sorted(risks, reverse=True)
    assert risks[0] == pytest.approx(left[0].risk)


def test_a_hold_point_behind_the_harm_protects_from_nothing() -> None:
    of = bench("bearing-cap")
    third = of.check("held-and-measured T3")
    hold = of.checks[third].looked.hold
    assert hold is not None
    base = suspects(of)[0]
    early = type(base)(base.slug, base.words, base.rate, base.world, base.outcome, lost_row=hold.row - 1, lost_tool=2)
    late = type(base)(base.slug, base.words, base.rate, base.world, base.outcome, lost_row=hold.row, lost_tool=3)
    found = matrix_of(of.sheet, [early, late], of.checks)
    assert found.shown[0, third] > 0.9
    assert found.caught[:, third].tolist() == [0.0, pytest.approx(found.shown[1, third], abs=0.01)]
