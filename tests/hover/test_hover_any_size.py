"""Slips of any size: a part of the observations here, the sum over sizes against an integral, and what no slip explains.

All of them: python -m tests.hover.any_size.
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
from scipy.integrate import quad

from setwright.hover.diagnosis import Observed, diagnose
from tests.hover.any_size import FAMILIES, JOBS, asked_about, quiet, tried

OBSERVATIONS = 60


def test_slips_of_random_sizes_are_named_or_left_open_and_hardly_ever_settled_wrong() -> None:
    rng, count = np.random.default_rng(11), Counter[str]()
    while count.total() < OBSERVATIONS:
        job = JOBS[count.total() % len(JOBS)]
        found = tried(job, str(rng.choice(list(FAMILIES))), rng)
        if found is not None:
            count[found[0]] += 1
    assert count["wrong and settled"] <= 1
    assert count["right"] + count["open"] >= 0.97 * OBSERVATIONS


@pytest.mark.parametrize("job", JOBS)
def test_normal_readings_mean_nothing_wrong(job: str) -> None:
    rng = np.random.default_rng(12)
    assert sum(quiet(job, rng) for _ in range(20)) == 20


def test_the_sum_over_sizes_is_the_integral() -> None:
    """Tool 2 pulled out, seen by rule and by block: the likelihood by adaptive quadrature of its own formula."""
    of = asked_about("bearing-cap")
    true = next(i for i in of.sized["tool-pulled-out"] if of.found.suspects[i].words.startswith("T2"))
    rule, block = (next(j for j, check in enumerate(of.found.checks) if check.name == name) for name in
                   ("stick-out-by-rule T2", "block-under-tip T2"))  # fmt: skip
    tip = next(k for k, sight in enumerate(of.found.checks[block].sights) if sight.what == "tip over top, z")
    seen = ((rule, 0, 1.75), (block, tip, -1.7))
    observed, curves = [], []
    for check, sight, away in seen:
        here, column = of.found.checks[check], int(of.weighing.first[check]) + sight
        right, spread = here.right[sight], here.spread[sight]
        assert isinstance(right, float)
        observed.append(Observed(check, sight, right + away))
        curves.append((away, float(of.weighing.off[true + 1, column]), spread, max(here.check.misses, 0.001)))

    def normal(off: float, spread: float) -> float:
        return math.exp(-0.5 * (off / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))

    def under(log_times: float) -> float:
        """Per unit of log size: log-normal with a factor of 3, times what is read at that size."""
        times, spread = math.exp(log_times), math.log(3.0)
        both = math.prod((1.0 - misses) * normal(away - times * slope, fine) + misses * normal(away, fine)
                         for away, slope, fine, misses in curves)  # fmt: skip
        return both * math.exp(-0.5 * (log_times / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))

    wanted = quad(under, math.log(3.0) * -3.5, math.log(3.0) * 3.5, points=[math.log(1.75), math.log(1.7)], limit=400)[0]
    log, times, _ = of.weighing.weigh(observed)
    assert log[true + 1] == pytest.approx(math.log(wanted), abs=0.02)
    assert times[true + 1] == pytest.approx(1.7, abs=0.1)


def test_what_no_slip_explains_is_something_else_and_not_the_slip_that_comes_nearest() -> None:
    """A blank 6 mm longer, a tool sticking out 9 mm farther, another 3 mm thicker than it is, and all the rest as it should be."""
    of = asked_about("bearing-cap")
    odd = {("blank-measured", "blank size, x"): 6.0, ("stick-out-by-rule T2", "stick-out"): 9.0,
           ("diameter-by-caliper T4", "tool diameter"): 3.0}  # fmt: skip
    observed = []
    for j, check in enumerate(of.found.checks):
        for k, (sight, right) in enumerate(zip(check.sights, check.right, strict=True)):
            off = odd.get((check.name, sight.what))
            if off is not None and isinstance(right, float):
                observed.append(Observed(j, k, right + off))
            elif check.slug == "block-under-tip" and isinstance(right, float):
                observed.append(Observed(j, k, right))
    answer = diagnose(of.weighing, observed)
    assert len(observed) > len(odd)
    assert answer.unlisted > 0.95
    assert answer.settled


def test_an_open_answer_says_what_tells_the_first_two_apart() -> None:
    of = asked_about("bearing-cap")
    over = next(j for j, check in enumerate(of.found.checks) if check.slug == "tip-over-datum")
    axis = next(k for k, sight in enumerate(of.found.checks[over].sights) if sight.what == "tip over datum, x")
    answer = diagnose(of.weighing, [Observed(over, axis, 3.9)])
    assert not answer.settled
    assert answer.apart is not None
    first, second = (one.suspect + 1 for one in answer.ranked[:2])
    columns = slice(int(of.weighing.first[answer.apart]), int(of.weighing.first[answer.apart + 1]))
    words = of.weighing.differs[first, columns] != of.weighing.differs[second, columns]
    apart = np.abs(answer.ranked[0].times * of.weighing.off[first, columns] - answer.ranked[1].times
                   * of.weighing.off[second, columns]) > 2.0 * of.weighing.spread[columns]  # fmt: skip
    assert words.any() or apart.any()
