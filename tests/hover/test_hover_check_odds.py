"""The probability that a check shows a slip, against making that check a hundred thousand times."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.hover.check_odds import Odds, beyond_chance, shown, threshold

TRIALS = 100_000


def carried_out(odds: Odds, off: list[float], *, differs: bool, rng: np.random.Generator) -> np.ndarray:
    """Whether the check says stop, bool (TRIALS,): readings drawn, compared with limits found by bisection of the normal law."""
    stop = np.full(TRIALS, differs)
    for value, spread in zip(off, odds.spread, strict=True):
        limit = limit_of(1.0 - (1.0 - odds.false_alarm) ** (1.0 / len(off))) * spread
        stop |= np.abs(value + spread * rng.standard_normal(TRIALS)) > limit
    return stop & (rng.random(TRIALS) >= odds.misses)


def limit_of(two_sided: float) -> float:
    """The number of standard deviations beyond which lies the share `two_sided`, by bisection over the error function."""
    from math import erfc, sqrt

    low, high = 0.0, 10.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if erfc(middle / sqrt(2.0)) > two_sided else (low, middle)
    return low


@pytest.mark.parametrize("seed", range(25))
def test_what_is_shown_is_what_happens_in_a_hundred_thousand_checks(seed: int) -> None:
    rng = np.random.default_rng(seed)
    m = int(rng.integers(0, 4))
    odds = Odds(float(rng.uniform(0.0005, 0.1)), float(rng.uniform(0.0, 0.2)), tuple(rng.uniform(0.01, 1.0, m).tolist()))
    off = [float(s * rng.uniform(-6.0, 6.0)) if rng.random() < 0.8 else 0.0 for s in odds.spread]
    differs = bool(rng.random() < 0.2)
    share = carried_out(odds, off, differs=differs, rng=rng).mean()
    assert shown(odds, off, differs=differs) == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize("seed", range(5))
def test_a_good_setup_makes_you_look_twice_as_often_as_stated(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    odds = Odds(0.05, 0.0, tuple(rng.uniform(0.01, 1.0, 1 + seed).tolist()))
    quiet = [0.0] * len(odds.spread)
    assert shown(odds, quiet, differs=False) == pytest.approx(0.05, abs=1e-12)
    assert carried_out(odds, quiet, differs=False, rng=rng).mean() == pytest.approx(0.05, abs=0.005)
    assert beyond_chance(shown(odds, quiet, differs=False), odds) == 0.0


def test_limits_of_the_usual_three_standard_deviations() -> None:
    assert threshold(0.0026997960632601866, 1) == pytest.approx(3.0, abs=1e-9)
    assert Odds(0.0026997960632601866, 0.0, (0.25,)).limits.tolist() == pytest.approx([0.75])


def test_what_is_seen_is_exact_and_a_check_that_reads_nothing_finds_nothing_by_chance() -> None:
    odds = Odds(0.01, 0.02, ())
    assert shown(odds, [], differs=True) == 0.98
    assert shown(odds, [], differs=False) == 0.0
    assert beyond_chance(0.98, odds) == 0.98
