"""Habits of adjusting: the published table of losses, by closed form and by 5,000 seeded cases."""

import numpy as np
import pytest

from setwright.estimate.adjustment import Habit, adjusted, excess, gains

PIECES = 20
D = (0, 1, 2, 3, 4)
# habit, its figure, and the sum over pieces 2 ... 20 of E a² in sigma², for d = 0, 1, 2, 3, 4 sigma
TABLE = [
    (Habit.NEVER, {}, (0.0, 19.0, 76.0, 171.0, 304.0)),
    (Habit.ONCE, {}, (19.0,) * 5),
    (Habit.FULL, {}, (19.0,) * 5),
    (Habit.SHARE, {"share": 0.2}, (1.914, 3.691, 9.023, 17.910, 30.352)),
    (Habit.SHARE, {"share": 0.3}, (3.183, 4.144, 7.027, 11.830, 18.556)),
    (Habit.SHARE, {"share": 0.5}, (6.222, 6.556, 7.556, 9.222, 11.556)),
    (Habit.HARMONIC, {}, (3.548,) * 5),
    (Habit.PRIOR, {"ratio": 1 / 4}, (0.936, 3.796, 12.378, 26.680, 46.703)),
    (Habit.PRIOR, {"ratio": 1.0}, (2.002, 2.598, 4.386, 7.367, 11.540)),
    (Habit.PRIOR, {"ratio": 4.0}, (2.924, 2.996, 3.211, 3.569, 4.071)),
    (Habit.PRIOR, {"ratio": 9.0}, (3.233, 3.250, 3.300, 3.384, 3.502)),
]
MATCHED = {0.5: 1.651, 1.0: 2.598, 2.0: 3.211, 3.0: 3.384}


@pytest.mark.parametrize(("habit", "figure", "wanted"), TABLE)
def test_the_published_table(habit: Habit, figure: dict[str, float], wanted: tuple[float, ...]) -> None:
    steps = gains(habit, PIECES - 1, **figure)
    assert [excess(steps, d * d) for d in D] == pytest.approx(wanted, abs=0.0006)


@pytest.mark.parametrize("sd", MATCHED)
def test_with_the_setting_drawn_from_its_prior_the_matched_rule_is_best(sd: float) -> None:
    square = sd * sd
    own = excess(gains(Habit.PRIOR, PIECES - 1, ratio=square), square)
    assert own == pytest.approx(MATCHED[sd], abs=0.0006)
    others = [excess(gains(habit, PIECES - 1, **figure), square) for habit, figure, _ in TABLE if figure.get("ratio") != square]
    assert own < min(others)


def test_a_setting_known_to_be_right_is_left_alone() -> None:
    assert excess(gains(Habit.PRIOR, PIECES - 1, ratio=0.0), 0.0) == 0.0


@pytest.mark.parametrize("d", D)
def test_5000_seeded_cases_lose_what_the_closed_form_says(d: int) -> None:
    rng = np.random.default_rng(20260401 + d)
    start, errors = np.full(5000, float(d)), rng.standard_normal((5000, PIECES - 1))
    means = {}
    for habit, figure, wanted in TABLE:
        losses = (adjusted(start, errors, gains(habit, PIECES - 1, **figure)) ** 2).sum(axis=1)
        error = losses.std() / np.sqrt(losses.size)
        assert abs(losses.mean() - wanted[d]) <= 4.0 * error + 0.0006, (habit, figure)
        means[habit, tuple(figure.items())] = losses.mean()
    advice = means[Habit.PRIOR, (("ratio", 1.0),)]
    assert advice < means[Habit.FULL, ()]
    assert advice < means[Habit.SHARE, (("share", 0.3),)]
    if d > 0:
        assert advice < means[Habit.NEVER, ()]


def test_full_correction_of_a_good_process_doubles_its_variance() -> None:
    rng = np.random.default_rng(7)
    errors = rng.standard_normal((5000, 40))
    at = adjusted(np.zeros(5000), errors[:, :-1], gains(Habit.FULL, 39))
    shown = at + errors[:, 1:]
    assert float(shown.var()) == pytest.approx(2.0, abs=0.03)


@pytest.mark.parametrize(("share", "variance"), [(0.1, 1.053), (0.2, 1.111), (0.3, 1.176), (0.5, 1.333)])
def test_a_fixed_share_settles_at_its_known_variance(share: float, variance: float) -> None:
    steps = gains(Habit.SHARE, 400, share=share)
    settled = excess(steps, 0.0) - excess(steps[:-1], 0.0)
    assert 1.0 + settled == pytest.approx(variance, abs=0.0006)
