"""The plan of checks against every other choice there is."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from setwright.hover.plan import least_time, most_protection, ordered, undetected

SEEDS = range(16)


def case(seed: int) -> tuple[np.ndarray, list[float], np.ndarray, np.ndarray]:
    """Up to 15 checks and 30 slips: most checks are blind to most slips, some see with certainty."""
    rng = np.random.default_rng(seed)
    n, m = int(rng.integers(1, 31)), int(rng.integers(1, 16))
    shown = np.where(rng.random((n, m)) < 0.3, rng.beta(3.0, 0.6, (n, m)), 0.0)
    shown = np.where(rng.random((n, m)) < 0.05, 1.0, shown)
    minutes = np.round(rng.uniform(0.2, 5.0, m), 2).tolist()
    return shown, minutes, rng.random(n) < 0.7, rng.random(n) * 10.0 ** rng.uniform(-4, 0, n)


def every_choice(m: int) -> np.ndarray:
    """All subsets of m checks, bool (2^m, m)."""
    return (np.arange(2**m)[:, None] >> np.arange(m)) & 1 == 1


def missed(shown: np.ndarray, choices: np.ndarray) -> np.ndarray:
    """(subsets, slips): the probability that no check of the subset shows the slip, by plain multiplication."""
    total = np.ones((len(choices), len(shown)))
    for j in range(shown.shape[1]):
        total *= np.where(choices[:, j : j + 1], 1.0 - shown[:, j], 1.0)
    return total


@pytest.mark.parametrize("seed", SEEDS)
def test_no_choice_that_catches_as_much_takes_less_time(seed: int) -> None:
    shown, minutes, harmful, _ = case(seed)
    plan = least_time(shown, minutes, harmful, catch=0.99)
    choices = every_choice(shown.shape[1])
    left = missed(shown, choices)
    held = harmful & ~plan.left_out
    assert (left[-1][harmful & plan.left_out] > 0.01).all(), "a slip is given up though every check together would catch it"
    assert (1.0 - plan.caught[held] <= 0.01 + 1e-9).all()
    # a slip that cannot be caught as wanted still gets all but a twentieth of what can be had, from an even chance on
    goal = np.where(plan.left_out, np.where(left[-1] <= 0.5, np.exp(0.95 * np.log(np.maximum(left[-1], 1e-300))), 1.0), 0.01)
    good = (left[:, harmful] <= goal[harmful] + 1e-9).all(axis=1)
    assert plan.minutes == pytest.approx((choices[good] @ np.array(minutes)).min(), abs=1e-9)
    assert plan.minutes == pytest.approx(math.fsum(np.array(minutes)[plan.chosen]))


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("within", [0.0, 1.5, 3.0, 8.0])
def test_no_choice_of_the_same_time_takes_away_more_risk(seed: int, within: float) -> None:
    shown, minutes, _, risk = case(seed)
    plan = most_protection(shown, minutes, risk, within=within)
    choices = every_choice(shown.shape[1])
    fits = choices @ np.array(minutes) <= within + 1e-9
    assert plan.minutes <= within + 1e-9
    least = (missed(shown, choices[fits]) @ risk).min()
    assert float(risk @ (1.0 - plan.caught)) == pytest.approx(least, rel=1e-6, abs=1e-9)


def test_a_slip_nothing_shows_is_given_up_and_asks_for_nothing() -> None:
    shown = np.array([[0.0, 0.002], [0.999, 0.0]])
    plan = least_time(shown, [1.0, 9.0], np.array([True, True]), catch=0.99)
    assert plan.left_out.tolist() == [True, False]
    assert plan.chosen.tolist() == [True, False]
    assert plan.best.tolist() == pytest.approx([0.002, 0.999])


def test_two_weak_checks_stand_for_a_strong_one() -> None:
    shown = np.array([[0.9, 0.9, 0.995]])
    assert least_time(shown, [1.0, 1.0, 3.0], np.array([True]), catch=0.99).chosen.tolist() == [True, True, False]
    assert least_time(shown, [1.0, 1.0, 1.5], np.array([True]), catch=0.99).chosen.tolist() == [False, False, True]
    # 0.99 is exactly what two such checks give: 1 - 0.1 * 0.1
    assert least_time(shown[:, :2], [1.0, 1.0], np.array([True]), catch=0.99).left_out.tolist() == [False]


def test_what_protects_most_per_minute_comes_first_and_nothing_runs_before_all_stands() -> None:
    shown = np.array([[0.9, 0.0, 0.9, 0.0], [0.0, 0.9, 0.9, 0.99]])
    risk = np.array([1.0, 3.0])
    order = ordered(shown, [1.0, 1.0, 10.0, 0.1], risk, np.ones(4, np.bool_), stage=[0, 0, 0, 1])
    assert order == [1, 0, 2, 3]


def test_no_checks_and_no_slips_are_answered() -> None:
    nothing = least_time(np.zeros((2, 0)), [], np.array([True, False]), catch=0.9)
    assert nothing.left_out.tolist() == [True, False]
    assert least_time(np.zeros((0, 3)), [1.0, 2.0, 3.0], np.zeros(0, np.bool_), catch=0.9).chosen.sum() == 0
    with pytest.raises(ValueError, match="between 0 and 1"):
        least_time(np.zeros((1, 1)), [1.0], np.array([True]), catch=1.0)


def test_what_a_choice_misses_is_the_product_of_what_each_misses() -> None:
    shown = np.array([[0.5, 0.2, 0.9]])
    for choice in itertools.product([False, True], repeat=3):
        by_hand = math.prod(1.0 - p for p, taken in zip(shown[0], choice, strict=True) if taken)
        assert undetected(shown, np.array(choice))[0] == pytest.approx(by_hand)


def test_what_is_known_already_needs_no_check() -> None:
    shown = np.array([[0.995, 0.9], [0.0, 0.9]])
    both = np.array([True, True])
    plan = least_time(shown, [2.0, 1.0], both, catch=0.99, already=np.array([0.9, 0.9]))
    assert plan.chosen.tolist() == [False, True]
    assert plan.caught.tolist() == pytest.approx([0.99, 0.99])
    assert least_time(shown, [2.0, 1.0], both, catch=0.99, already=np.array([0.995, 0.999])).chosen.tolist() == [False, False]
    risky = most_protection(shown, [2.0, 1.0], np.array([1.0, 0.1]), within=2.0, already=np.array([0.999, 0.0]))
    assert risky.chosen.tolist() == [False, True]
