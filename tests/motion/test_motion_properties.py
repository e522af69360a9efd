"""What must hold for any path: more of anything never takes longer, backwards takes as long, splitting changes nothing, and a plain
integration along the path agrees."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from setwright.motion import time_along
from setwright.motion.plan import corner_speed
from tests.motion.test_motion_time import machine, path, total

steps = st.lists(st.tuples(st.integers(-3, 3), st.integers(-3, 3), st.integers(-1, 1)), min_size=1, max_size=25)
jerk = st.sampled_from([None, 30000.0])


def corners(drawn: list[tuple[int, int, int]], scale: float) -> NDArray[np.float64]:
    return np.concatenate([[[0, 0, 0]], np.cumsum(np.array(drawn, np.float64) * scale, axis=0)])


@settings(max_examples=150)
@given(steps, st.sampled_from([0.05, 1.0, 20.0]), jerk, st.floats(1.0, 4.0))
def test_more_never_takes_longer(drawn: list[tuple[int, int, int]], scale: float, jerk: float | None, more: float) -> None:
    """Along one axis with jerk: in other directions a ramp over several motions keeps to the least acceleration among them."""
    at = corners(drawn, scale)
    if jerk is not None:
        at[:, 1:] = 0.0
    moves, feed = path(at), 1000.0 + 3000.0 * (np.arange(len(at) - 1) % 3)
    base = {"accel": 2000.0, "jerk": jerk, "junction_tolerance_mm": 0.01, "look_ahead_blocks": 5}
    slow = time_along(moves, feed, machine(**base)).total_s  # type: ignore[arg-type]
    for key in ("accel", "jerk", "junction_tolerance_mm"):
        if base[key] is not None:
            better = machine(**{**base, key: base[key] * more})  # type: ignore[arg-type,operator]
            assert time_along(moves, feed, better).total_s <= slow * (1 + 1e-9)
    farther = machine(**{**base, "look_ahead_blocks": 9})  # type: ignore[arg-type]
    assert time_along(moves, feed, farther).total_s <= slow * (1 + 1e-9)
    assert time_along(moves, feed * more, machine(**base)).total_s <= slow * (1 + 1e-9)  # type: ignore[arg-type]


@settings(max_examples=150)
@given(steps, st.sampled_from([0.05, 1.0, 20.0]), jerk)
def test_backwards_takes_as_long(drawn: list[tuple[int, int, int]], scale: float, jerk: float | None) -> None:
    at = corners(drawn, scale)
    there = time_along(path(at), np.full(len(at) - 1, 5000.0), machine(jerk=jerk))
    back = time_along(path(at[::-1]), np.full(len(at) - 1, 5000.0), machine(jerk=jerk))
    assert back.end - back.begin == pytest.approx((there.end - there.begin)[::-1], rel=1e-6, abs=1e-9)


@settings(max_examples=100)
@given(steps, st.sampled_from([1.0, 20.0]), jerk, st.integers(2, 5))
def test_splitting_a_line_changes_nothing(drawn: list[tuple[int, int, int]], scale: float, jerk: float | None, parts: int) -> None:
    at = corners(drawn, scale)
    shares = np.arange(1, parts + 1)[:, None] / parts
    fine = np.concatenate([at[:1], *[a + (b - a) * shares for a, b in itertools.pairwise(at)]])
    whole = time_along(path(at), np.full(len(at) - 1, 5000.0), machine(jerk=jerk))
    split = time_along(path(fine), np.full(len(fine) - 1, 5000.0), machine(jerk=jerk))
    assert split.end[parts - 1 :: parts] == pytest.approx(whole.end, rel=1e-6, abs=1e-9)


def integrated(at: NDArray[np.float64], feed: float, accel: float, tolerance: float) -> float:
    """Time by stepping the fastest allowed speed through a fine grid of places; one acceleration for all axes."""
    step, most = [], [0.0]
    for k, (a, b) in enumerate(itertools.pairwise(at)):
        length = float(np.linalg.norm(b - a))
        cells = max(2, math.ceil(length / 0.002))
        step += [length / cells] * cells
        most += [feed] * cells
        if k + 2 < len(at):
            turn = float(np.dot(b - a, at[k + 2] - b) / length / np.linalg.norm(at[k + 2] - b))
            s = math.sqrt(max(0.0, (1 + turn) / 2))
            most[-1] = min(feed, math.sqrt(accel * tolerance * s / (1 - s)) if s < 1 - 1e-12 else feed)
    most[-1] = 0.0
    for i in range(len(step) - 1, -1, -1):
        most[i] = min(most[i], math.sqrt(most[i + 1] ** 2 + 2 * accel * step[i]))
    for i in range(len(step)):
        most[i + 1] = min(most[i + 1], math.sqrt(most[i] ** 2 + 2 * accel * step[i]))
    return sum(2 * s / (u + v) for s, (u, v) in zip(step, itertools.pairwise(most), strict=True))


@pytest.mark.parametrize("seed", range(4))
def test_against_integration_along_x(seed: int) -> None:
    """Along one axis every limit is the same number, so the plain integration needs no directions."""
    rng = np.random.default_rng(seed)
    at = np.zeros((14, 3))
    at[1:, 0] = np.cumsum(rng.choice([-1, 1, 1, 1], 13) * rng.uniform(0.2, 6, 13))
    at = at[np.concatenate([[True], np.abs(np.diff(at[:, 0])) > 0])]
    taken = total(path(at), 9000, machine())
    assert taken == pytest.approx(integrated(at, 150.0, 3000.0, 0.01), rel=2e-4)


def test_corner_speed_is_even_in_direction() -> None:
    one, other, accel = np.array([0.6, 0.8, 0.0]), np.array([0.0, 1.0, 0.0]), np.array([3000.0, 2000.0, 1000.0])
    assert corner_speed(one, other, 0.01, accel) == pytest.approx(corner_speed(-other, -one, 0.01, accel), rel=1e-12)


def test_jerk_never_takes_less_than_the_trapezoid() -> None:
    rng = np.random.default_rng(4)
    at = np.cumsum(rng.normal(0, 1, (400, 3)), axis=0)
    trapezoid = time_along(path(at), np.full(399, 4000.0), machine())
    smooth = time_along(path(at), np.full(399, 4000.0), machine(jerk=1e5))
    assert smooth.total_s > trapezoid.total_s
    # a ramp that spans several motions keeps to the least acceleration any of their directions allows
    assert total(path(at), 4000, machine(jerk=1e12)) == pytest.approx(trapezoid.total_s, rel=1e-3)
