"""Drift of a datum: shapes made by formula are told apart, their numbers found, noise alone is not accused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.touch.drift import datum_drift

TIMES = np.arange(0.0, 125.0, 10.0)


def test_noise_alone_is_a_steady_place_nearly_always():
    rng = np.random.default_rng(1)
    shapes = [datum_drift(TIMES, rng.normal(0, 0.002, TIMES.size), standard=0.002).shape for _ in range(300)]
    assert shapes.count("steady place") >= 288  # 1 % level: 3 expected to be wrong, 12 once in 100 000


def test_slope_of_a_slipping_part():
    rng = np.random.default_rng(2)
    got = datum_drift(TIMES, 0.0003 * TIMES + rng.normal(0, 0.002, TIMES.size), standard=0.002)
    assert got.shape == "steady drift"
    assert got.rate == pytest.approx(0.0003, abs=4 * got.rate_standard)
    # standard uncertainty of a slope: s / sqrt(sum of squared distances from the mean time)
    assert got.rate_standard == pytest.approx(0.002 / math.sqrt(((TIMES - TIMES.mean()) ** 2).sum()), rel=0.5)
    assert got.minutes_left(0.01) == pytest.approx(0.01 / (got.rate + 2 * got.rate_standard))
    assert "look for a part that slips" in got.text("Y")


def test_warming_up_finds_its_time_constant():
    rng = np.random.default_rng(3)
    got = datum_drift(TIMES, 0.04 * (1 - np.exp(-TIMES / 30)) + rng.normal(0, 0.001, TIMES.size), standard=0.001)
    assert got.shape == "warming up"
    assert got.time_constant == pytest.approx(30, rel=0.2)
    assert got.moved == pytest.approx(0.04 * (1 - math.exp(-4)), abs=0.002)
    assert got.rate == pytest.approx(0.04 / 30 * math.exp(-4), abs=4 * got.rate_standard)
    assert got.minutes_left(0.02) == math.inf
    assert "warming up" in got.text("Z")


def test_three_steady_checks_say_how_little_they_know():
    got = datum_drift([0, 10, 20], [0.001, -0.001, 0.0], standard=0.002)
    assert got.shape == "steady place"
    assert got.expanded == pytest.approx(2 * 0.002 * math.sqrt(2))
    assert got.minutes_left(0.01) == math.inf


@pytest.mark.parametrize(("times", "said"), [([0, 1], "at least three times"), ([0, 5, 5], "order they were made")])
def test_refusals(times, said):
    with pytest.raises(InputRefused, match=said):
        datum_drift(times, [0.0] * len(times), standard=0.002)
