"""The gauge study against the worked table of a crossed study, its pooled form, and cases that can be reckoned in the head."""

import math

import numpy as np
import pytest

from setwright.estimate.gauge_study import study

# um from nominal; five parts, people A B C twice each
ROWS = ["4 5 -1 3 3 0", "6 6 9 7 -1 -1", "7 6 5 6 3 0", "-6 -6 -4 -6 -11 -9", "-4 1 -4 -5 -7 -7"]
TABLE = np.array([[float(cell) for cell in row.split()] for row in ROWS]).reshape(5, 3, 2)


def test_the_worked_study_with_its_interaction() -> None:
    found = study(TABLE.tolist(), pool=False)
    assert found.squares == pytest.approx((673.4667, 136.0667, 53.9333, 37.5), abs=1e-4)
    assert found.degrees == (4, 2, 8, 15)
    assert found.repeatability.value == pytest.approx(1.5811, abs=1e-4)
    assert (found.repeatability.low, found.repeatability.high) == pytest.approx((1.168, 2.447), abs=1e-3)
    assert found.reproducibility == pytest.approx(2.8723, abs=1e-4)
    assert found.gauge.value == pytest.approx(3.2787, abs=1e-4)
    assert found.gauge.dof == pytest.approx(4.78, abs=0.01)
    assert (found.gauge.low, found.gauge.high) == pytest.approx((2.03, 8.28), abs=0.01)
    assert (found.parts, found.total) == pytest.approx((5.1901, 6.1390), abs=1e-4)
    assert found.share == pytest.approx(0.5341, abs=1e-4)
    assert found.distinct == 2
    assert found.of_limits(21.0) == pytest.approx(0.94, abs=0.005)


def test_an_interaction_that_shows_is_not_pooled_and_one_that_does_not_is() -> None:
    assert not study(TABLE.tolist()).pooled  # probability of its F 0.047
    calm = np.add.outer(np.array([0.0, 5.0, 9.0, 14.0]), np.array([0.0, 1.0]))[:, :, None] + np.array([-0.5, 0.5])
    found = study(calm.tolist())
    assert found.pooled
    # no interaction at all: 8 cells with 2 values half a unit about their mean, over 8 + 3 degrees of freedom
    assert found.repeatability.value == pytest.approx(math.sqrt(8 * 0.5 / 11))


def test_the_pooled_model_of_the_worked_study(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("setwright.estimate.gauge_study.POOLED", 0.04)
    found = study(TABLE.tolist())
    assert found.repeatability.value**2 == pytest.approx(3.9754, abs=1e-4)
    assert found.reproducibility**2 == pytest.approx(6.4058, abs=1e-4)
    assert found.parts**2 == pytest.approx(27.3986, abs=1e-4)
    assert found.gauge.value == pytest.approx(3.2220, abs=1e-4)
    assert found.share == pytest.approx(0.5242, abs=1e-4)


def test_people_who_agree_add_nothing_and_a_perfect_gauge_has_no_share() -> None:
    same = np.repeat(np.array([0.0, 1.0, 2.0])[:, None, None], 2, axis=1) + np.array([-0.1, 0.1])
    assert study(same.tolist()).reproducibility == 0.0
    perfect = study(np.broadcast_to(np.array([0.0, 1.0, 2.0])[:, None, None], (3, 2, 2)).tolist())
    assert (perfect.gauge.value, perfect.share, perfect.parts) == (0.0, 0.0, 1.0)


@pytest.mark.parametrize("shape", [(1, 2, 2), (2, 1, 2), (2, 2, 1), (2, 2)])
def test_a_table_that_is_too_small_is_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="at least"):
        study(np.zeros(shape).tolist())
