"""Charts against published constants and worked examples; trends against a filter and a line reckoned elsewhere."""

import math

import numpy as np
import pytest
from scipy import stats

from setwright.estimate.charts import capability, constants, ewma, individuals, means_and_ranges, signals
from setwright.estimate.trend import FARTHEST, follow, pieces_before

# n: c4, d2, d3, A2, A3, D3, D4
PUBLISHED = {
    2: (0.79788, 1.12838, 0.85250, 1.87997, 2.65868, 0, 3.26653),
    3: (0.88623, 1.69257, 0.88837, 1.02333, 1.95441, 0, 2.57459),
    4: (0.92132, 2.05875, 0.87981, 0.72860, 1.62810, 0, 2.28205),
    5: (0.93999, 2.32593, 0.86408, 0.57682, 1.42730, 0, 2.11450),
    6: (0.95153, 2.53441, 0.84804, 0.48325, 1.28713, 0, 2.00383),
    7: (0.95937, 2.70436, 0.83321, 0.41928, 1.18192, 0.07571, 1.92429),
    8: (0.96503, 2.84720, 0.81983, 0.37253, 1.09910, 0.13617, 1.86383),
    9: (0.96931, 2.97003, 0.80783, 0.33670, 1.03166, 0.18401, 1.81599),
    10: (0.97266, 3.07751, 0.79705, 0.30826, 0.97535, 0.22302, 1.77698),
}  # fmt: skip
GROUPS = [[12, 9, 11, 13, 10], [8, 11, 10, 9, 12], [11, 12, 14, 10, 13], [9, 10, 8, 11, 10], [12, 13, 11, 12, 9]]


@pytest.mark.parametrize("n", PUBLISHED)
def test_constants_are_the_published_ones(n: int) -> None:
    found = constants(n)
    wanted = PUBLISHED[n]
    assert (found.c4, found.d2, found.d3, found.a2, found.a3, found.d_lower, found.d_upper) == pytest.approx(wanted, abs=2e-5)


def test_means_and_ranges_of_a_worked_example() -> None:
    means, ranges = means_and_ranges(GROUPS)
    assert (means.centre, ranges.centre) == pytest.approx((10.8, 3.8))
    assert (means.lower[0], means.upper[0], ranges.upper[0]) == pytest.approx((8.608, 12.992, 8.035), abs=0.0006)
    assert means.sigma * math.sqrt(5) == pytest.approx(1.634, abs=0.0006)


def test_individuals_of_a_worked_example() -> None:
    level, ranges = individuals([2.1, 2.9, 3.2, 2.4, 2.6, 1.7, 2.0, 3.3, 2.2, 2.8])
    assert (level.centre, ranges.centre) == pytest.approx((2.52, 0.7))
    assert (level.lower[0], level.upper[0], ranges.upper[0]) == pytest.approx((0.659, 4.381, 2.287), abs=0.0006)
    assert level.stable is True


def test_ewma_limits_widen_as_published() -> None:
    chart = ewma([0.0] * 60, centre=0.0, sigma=1.0)
    assert chart.upper[[0, 1, 2, -1]] == pytest.approx([0.5719, 0.7323, 0.8187, 0.9531], abs=0.0001)


def test_run_rules_by_hand() -> None:
    assert signals(np.array([0.1, 3.1]))[1] == (0,)
    assert signals(np.array([2.1, 0.0, 2.2]))[2] == (1,)
    assert signals(np.array([2.1, -0.5, -2.2]))[2] == ()
    assert signals(np.array([1.1, 1.2, -0.3, 1.4, 1.1]))[4] == (2,)
    assert signals(np.full(8, 0.2))[7] == (3,)
    assert signals(np.full(8, 0.2))[6] == ()
    assert signals(np.full(8, -0.2))[7] == (3,)


def run_length(rng: np.random.Generator, rules: set[int]) -> int:
    """Points of a good process up to the first alarm, that one included."""
    z, at = rng.standard_normal(200), 0
    while True:
        alarms = [number for number, found in enumerate(signals(z)) if rules & set(found) and number >= at]
        if alarms:
            return alarms[0] + 1
        at, z = z.size, np.concatenate([z, rng.standard_normal(200)])


@pytest.mark.parametrize(("rules", "wanted", "runs"), [({0}, 370.4, 100), ({0, 3}, 152.7, 200), ({0, 1, 2, 3}, 91.75, 300)])
def test_a_good_process_is_stopped_as_rarely_as_published(rules: set[int], wanted: float, runs: int) -> None:
    """Mean run length of seeded good processes, to four standard errors of a law about as wide as its mean."""
    rng = np.random.default_rng(11)
    lengths = [run_length(rng, rules) for _ in range(runs)]
    assert float(np.mean(lengths)) == pytest.approx(wanted, rel=4.0 / math.sqrt(runs))


def test_capability_of_a_worked_example() -> None:
    base = stats.norm.ppf((np.arange(50) + 0.5) / 50)
    base = (base - base.mean()) / base.std(ddof=1) * 0.003
    middle = capability(20.0105 + base, 20.0, 20.021)
    assert (middle.cp, middle.cp_low, middle.cp_high) == pytest.approx((1.1667, 0.936, 1.397), abs=0.0007)
    assert (middle.cpk, middle.cpk_low, middle.cpk_high) == pytest.approx((1.1667, 0.918, 1.415), abs=0.0007)
    aside = capability(20.0125 + base, 20.0, 20.021)
    assert (aside.cpk, aside.cpk_low, aside.cpk_high) == pytest.approx((0.9444, 0.736, 1.153), abs=0.0007)


WORN = [2.1, 2.9, 3.2, 4.4, 4.6, 5.7, 6.0, 7.3, 7.2, 8.4]


@pytest.mark.parametrize(("pieces", "level", "slope"), [(2, 2.6066, 0.2934), (5, 4.6346, 0.6011), (10, 8.2414, 0.6795)])
def test_a_trend_is_followed_as_the_filter_reckoned_elsewhere(pieces: int, level: float, slope: float) -> None:
    found = follow(range(1, pieces + 1), WORN[:pieces], sigma=1.0)
    assert found.state == pytest.approx([level, slope], abs=0.0002)
    if pieces == 10:
        assert np.diag(found.covariance) == pytest.approx([0.3744, 0.0181], abs=0.0002)
        assert found.gain == pytest.approx([0.3744, 0.0566], abs=0.0002)


def test_pieces_that_were_not_measured_count_as_pieces() -> None:
    whole, gaps = follow([1, 2, 3, 4, 5], WORN[:5], sigma=1.0), follow([1, 3, 5], [WORN[0], WORN[2], WORN[4]], sigma=1.0)
    assert gaps.state[1] == pytest.approx(whole.state[1], abs=0.15)
    squeezed = follow([1, 2, 3], [WORN[0], WORN[2], WORN[4]], sigma=1.0)
    assert squeezed.state[1] > 1.3 * gaps.state[1]
    with pytest.raises(ValueError, match="order"):
        follow([2, 1], [0.0, 0.0], sigma=1.0)


def test_pieces_left_are_those_before_the_chance_is_reached() -> None:
    found = follow(range(1, 11), WORN, sigma=1.0)
    mean, square = found.forecast()
    left, chance = pieces_before(stats.norm.sf(12.0, mean, np.sqrt(square + 0.64)), 0.05)
    step, state, spread = np.array([[1.0, 1.0], [0.0, 1.0]]), found.state, found.covariance
    chances = []
    for _ in range(left + 1):
        state, spread = step @ state, step @ spread @ step.T + np.diag([0.04, 0.0004])
        chances.append(float(stats.norm.sf(12.0, state[0], math.sqrt(spread[0, 0] + 0.64))))
    assert chance == pytest.approx(chances[-1], rel=1e-9)
    assert chances[-1] > 0.05 >= max(chances[:-1])
    assert pieces_before(stats.norm.sf(1e6, mean, np.sqrt(square)), 0.05)[0] == FARTHEST
