"""From what was seen back to the slip: every slip of the bundled jobs, its checks read with the noise a person has."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.hover.check_plan import plan_checks
from setwright.hover.diagnosis import AS_SHEET, Weighing, diagnose
from setwright.hover.diagnosis_seen import parse_seen
from setwright.hover.matrix import Matrix, matrix_of
from tests.hover.asking import asked_on, explained
from tests.hover.bench_setups import bench
from tests.hover.suspects import suspects

JOBS = ("bearing-cap", "pintle", "spacers")


def matrix(job: str) -> Matrix:
    of = bench(job)
    return matrix_of(of.sheet, suspects(of), of.checks)


@pytest.mark.parametrize("job", JOBS)
def test_the_true_slip_comes_first_or_is_named_as_its_sibling(job: str) -> None:
    found = matrix(job)
    weighing, plan, rng, right = Weighing(found), plan_checks(found, catch=0.99), np.random.default_rng(5), 0
    runs = [i for i in range(len(found.suspects)) for _ in range(3)]
    for i in runs:
        right += explained(weighing, i, asked_on(found, plan, weighing, i, rng, vague=True))
    assert right >= 0.98 * len(runs)


def test_five_millimetres_beside_the_datum_name_the_register_and_the_reading_back_decides() -> None:
    of, found = bench("bearing-cap"), matrix("bearing-cap")
    weighing = Weighing(found)
    seen = parse_seen("tip-over-datum x 5.1 mm", of.checks) + parse_seen("tip-over-datum y 0 mm", of.checks)
    answer = diagnose(weighing, seen)
    first = {found.suspects[each.suspect].words for each in answer.ranked[:2]}
    assert first == {"G54 X +5 mm", "X read +5 mm wrong"}
    assert answer.none < 0.01
    assert not answer.settled
    assert answer.next is not None
    assert of.checks[answer.next].slug == "registers-read-back"
    typed = diagnose(weighing, [*seen, *parse_seen("registers-read-back differs", of.checks)])
    assert typed.settled
    assert found.suspects[typed.ranked[0].suspect].words == "G54 X +5 mm"
    read = diagnose(weighing, [*seen, *parse_seen("registers-read-back as the sheet says", of.checks)])
    assert found.suspects[read.ranked[0].suspect].words == "X read +5 mm wrong"


def test_nothing_odd_seen_means_no_slip_and_something_never_heard_of_is_called_so() -> None:
    of, found = bench("bearing-cap"), matrix("bearing-cap")
    weighing = Weighing(found)
    quiet = [each for name in ("tip-over-datum", "registers-read-back") for each in parse_seen(f"{name} {AS_SHEET}", of.checks)]
    assert diagnose(weighing, quiet).none > 0.9
    strange = parse_seen("blank-measured x 190 mm", of.checks)
    assert diagnose(weighing, strange).unlisted > 0.9


def test_what_no_check_can_tell_apart_is_named_together() -> None:
    found = matrix("bearing-cap")
    twice = Matrix(
        (*found.suspects, found.suspects[0]), found.checks, (*found.seen, found.seen[0]), (*found.wanted, found.wanted[0]),
        np.vstack([found.shown, found.shown[:1]]), np.vstack([found.caught, found.caught[:1]]),
    )  # fmt: skip
    assert len(found.suspects) in Weighing(twice).siblings(0)
    assert Weighing(found).siblings(0) == ()


@pytest.mark.parametrize(("said", "wanted"), [
    ("tip-over-datun x 5 mm", 'did you mean "tip-over-datum"'),
    ("tip-over-datum 5 mm", 'say which: "x", "y"'),
    ("stick-out-by-rule 40 mm", "T1, T2, T3, T4, T5"),
    ("tip-over-datum x five", "not a length"),
    ("tip-over-datum", "does not say what was seen"),
    ("stick-out-by-rule T2 differs", "give the number"),
    ("lengths-read-back T2 differs", 'say which: "length", "radius"'),
    ("stick-out-by-rule T3 -5 mm", "no stick-out is -5 mm"), ("blank-measured x 0 mm", "no blank size, x is 0 mm"),
])  # fmt: skip
def test_what_is_not_understood_is_refused_with_what_to_write(said: str, wanted: str) -> None:
    with pytest.raises(InputRefused) as refused:
        parse_seen(said, bench("bearing-cap").checks)
    assert wanted in str(refused.value)
