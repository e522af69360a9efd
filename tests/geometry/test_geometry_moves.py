"""Extents of arcs against dense sampling and closed forms."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from setwright.geometry.moves import MoveKind, Moves, extent_of


def arc(axis: int, radius: float, begin: float, sweep: float, rise: float) -> Moves:
    a, b = (axis + 1) % 3, (axis + 2) % 3
    start, end = np.zeros(3), np.zeros(3)
    start[a], start[b] = radius * math.cos(begin), radius * math.sin(begin)
    end[a], end[b], end[axis] = radius * math.cos(begin + sweep), radius * math.sin(begin + sweep), rise
    return Moves(np.array([MoveKind.ARC], np.uint8), start[None], end[None], np.zeros((1, 3)), np.array([axis], np.uint8),
                 np.array([sweep]), np.zeros(1, np.int32), np.ones(1, bool), np.zeros(1, np.int32))  # fmt: skip


SWEEPS = st.floats(-14, 14).filter(lambda sweep: abs(sweep) > 0.01)


@given(st.integers(0, 2), st.floats(0.1, 100), st.floats(-7, 7), SWEEPS, st.floats(-5, 5))
def test_extent_of_an_arc_bounds_its_samples_closely(axis: int, radius: float, begin: float, sweep: float, rise: float) -> None:
    low, high = extent_of(arc(axis, radius, begin, sweep, rise))
    t = np.linspace(0, 1, 20_001)
    points = np.zeros((t.size, 3))
    points[:, (axis + 1) % 3] = radius * np.cos(begin + sweep * t)
    points[:, (axis + 2) % 3] = radius * np.sin(begin + sweep * t)
    points[:, axis] = rise * t
    sampling = radius * (sweep / 20_000) ** 2 / 8 + 1e-9
    assert (low[0] <= points.min(axis=0) + 1e-9).all()
    assert (high[0] >= points.max(axis=0) - 1e-9).all()
    assert (low[0] >= points.min(axis=0) - sampling).all()
    assert (high[0] <= points.max(axis=0) + sampling).all()


def test_full_circle_reaches_all_four_sides() -> None:
    low, high = extent_of(arc(2, 10.0, 0.3, 2 * math.pi, 0.0))
    assert np.allclose(low[0], [-10, -10, 0], atol=1e-12)
    assert np.allclose(high[0], [10, 10, 0], atol=1e-12)
