"""The whole catalogue on the bundled jobs: the plan keeps its promise, it is the quickest there is, and what is odd is
explained."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest

from setwright.hover.check_plan import plan_checks
from setwright.hover.diagnosis import Weighing
from setwright.hover.matrix_study import known_from_readings
from setwright.hover.plan import least_time
from setwright.hover.station import HoverResult, hover
from setwright.model.answer import finite
from setwright.slips.catalogue import slips
from setwright.touch.measured import truth_of
from tests.hover.asking import asked_on, explained
from tests.hover.bench_setups import bench
from tests.hover.test_hover_matrix import carried_out
from tests.hover.test_hover_plan import every_choice, missed

JOBS = ("bearing-cap", "pintle", "spacers")
SETUPS = 20_000


@cache
def hovered(job: str) -> HoverResult:
    """The station's answer for the first setup of a bundled job."""
    of = bench(job)
    return hover(of.proof, truth_of(of.proof.kit).result, pitch_mm=0.5)


def test_what_only_other_contacts_contradict_was_made_while_measuring() -> None:
    assert {slip.slug for slip in slips() if slip.one_contact} == {"burr-under-finder", "reading-wrong"}
    assert all(slip.misread for slip in slips() if slip.one_contact)


@pytest.mark.parametrize("job", JOBS)
def test_in_twenty_thousand_setups_no_more_harm_gets_through_than_promised(job: str) -> None:
    """Slips happen at their rates, each in its own setup; the planned checks are carried out with the noise they have."""
    result, rng = hovered(job), np.random.default_rng(31)
    found, plan = result.matrix, plan_checks(result.matrix, catch=0.99)
    left = {each.suspect for each in plan.uncaught}
    promised = np.array([i for i in range(len(found.suspects)) if found.harmful[i] and i not in left])
    assert promised.size > 30
    rates = found.rates[promised]
    happened = rng.choice(promised, SETUPS, p=rates / rates.sum())
    through = 0
    for i in np.unique(happened):
        setups = int((happened == i).sum())
        shown = np.zeros(setups, np.bool_)
        for chosen in plan.checks:
            if found.caught[i, chosen.number] > 0.0:
                shown |= carried_out(chosen.check, found.seen[i][chosen.number], found.wanted[i][chosen.number], rng, setups)
        through += int((~shown).sum())
    assert through <= 0.01 * SETUPS + 3.0 * np.sqrt(0.01 * SETUPS)


@pytest.mark.parametrize("job", JOBS)
def test_no_choice_among_fifteen_checks_is_quicker(job: str) -> None:
    """The fifteen that show most slips; what they cannot show as wanted is left out, as the plan leaves it out."""
    found = hovered(job).matrix
    kept = np.argsort(-(found.caught[found.harmful] > 0.9).sum(axis=0), kind="stable")[:15]
    shown, minutes = found.caught[:, kept], [found.minutes[j] for j in kept]
    plan = least_time(shown, minutes, found.harmful, catch=0.99)
    held = found.harmful & ~plan.left_out
    choices = every_choice(15)
    left = missed(np.unique(shown[held], axis=0), choices)
    whole = missed(np.unique(shown[found.harmful & plan.left_out], axis=0), choices[[-1]])
    assert held.sum() > 10
    assert (whole > 0.01).all()
    nearly = [row for row in np.unique(shown[found.harmful & plan.left_out], axis=0) if np.prod(1.0 - row) <= 0.5]
    good = (left <= 0.01 + 1e-9).all(axis=1)
    for row in nearly:
        some = missed(row[None, :], choices)[:, 0]
        good &= some <= np.exp(0.95 * np.log(some[-1])) + 1e-9
    assert plan.minutes == pytest.approx((choices[good] @ np.array(minutes)).min(), abs=1e-9)


@pytest.mark.parametrize("job", JOBS)
def test_every_slip_that_shows_is_named_or_named_with_what_cannot_be_told_from_it(job: str) -> None:
    """Those whose size the job fixes; the others, at sizes drawn by chance, are tests/hover/any_size."""
    found, plan = hovered(job).matrix, hovered(job).plan
    fixed = [i for i, suspect in enumerate(found.suspects) if suspect.sized is None]
    assert len(fixed) > 60
    weighing, rng, runs = Weighing(found), np.random.default_rng(8), [i for i in fixed for _ in range(3)]
    right = sum(explained(weighing, i, asked_on(found, plan, weighing, i, rng)) for i in runs)
    assert right >= 0.98 * len(runs)


def test_the_answer_has_the_keys_other_programs_rely_on() -> None:
    said = json.loads(json.dumps(finite(hovered("bearing-cap").as_plain())))
    assert {"slug", "outcome", "first_line", "probability"} <= said["slips"][0].keys()
    assert {"slug", "minutes", "catches"} <= said["checks"][0].keys()
    assert {"uncaught", "hold_points"} <= said.keys()
    assert len(said["slips"]) >= 60
    assert len(said["hold_points"]) == 5


def test_contacts_that_check_one_another_show_a_burr_and_no_handwheel_lost_before_them_all() -> None:
    """Bore A is touched six times, twice from each of two sides: a burr of 0.06 mm would have stood out by twenty standard
    deviations. A turn of the handwheel lost before the first of them moves all alike: none contradicts another."""
    result = hovered("bearing-cap")
    known = known_from_readings(result.study.slips, truth_of(result.kit).result, "G54")
    by_slug: dict[str, list[float]] = {}
    for slip, probability in zip(result.study.slips, known.tolist(), strict=True):
        by_slug.setdefault(slip.occurrence.slug, []).append(probability)
    assert min(by_slug["burr-under-finder"]) > 0.99
    assert max(by_slug["handwheel-zero-lost"]) == 0.0


def test_reading_the_registers_back_shows_a_radius_register_that_holds_something_else() -> None:
    """The bearing cap's end mill cuts with D2: its register is typed and read back, whoever measured it."""
    matrix = hovered("bearing-cap").matrix
    (reading,) = [j for j, check in enumerate(matrix.checks) if check.name == "lengths-read-back T2"]
    wrong = [i for i, suspect in enumerate(matrix.suspects) if suspect.slug in
             ("radius-not-typed", "diameter-for-radius", "radius-of-another-tool")]  # fmt: skip
    assert len(wrong) >= 3
    assert all(matrix.caught[i, reading] > 0.99 for i in wrong)
