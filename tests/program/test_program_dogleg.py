"""Rapids whose axes do not wait for one another."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.program.dogleg import dog_leg, with_dog_legs
from setwright.program.registers import Registers, WorkOffset
from tests.program.compare import good


@pytest.mark.parametrize(("end", "rates", "corners"), [
    ((30, 10, 0), (1, 1, 1), [(10, 10, 0), (30, 10, 0)]),
    ((10, -30, 0), (1, 3, 1), [(10, -30, 0)]),
    ((0, 0, 5), (1, 1, 1), [(0, 0, 5)]),
    ((10, 20, -30), (1, 1, 1), [(10, 10, -10), (10, 20, -20), (10, 20, -30)]),
    ((10, 20, 0), (2, 1, 1), [(10, 5, 0), (10, 20, 0)]),
    ((0, 0, 0), (1, 1, 1), [(0, 0, 0)]),
])  # fmt: skip
def test_corners(end, rates, corners):
    assert dog_leg(np.zeros(3), np.array(end, float), np.array(rates, float)).tolist() == [list(corner) for corner in corners]


@given(st.tuples(*[st.floats(-500, 500).map(lambda v: round(v, 3))] * 3), st.tuples(*[st.floats(1, 50)] * 3))
def test_every_axis_runs_evenly_until_it_arrives(end, rates):
    points = dog_leg(np.zeros(3), np.array(end), np.array(rates))
    times = np.abs(np.array(end)) / np.array(rates)
    clock = 0.0
    before = np.zeros(3)
    for point in points:
        duration = (np.abs(point - before) / np.array(rates)).max()
        clock += duration
        wanted = np.array(end) * np.minimum(1.0, clock / np.where(times > 0, times, 1.0))
        assert np.abs(point - np.where(times > 0, wanted, end)).max() <= 1e-6
        before = point
    assert points[-1].tolist() == list(end)


def test_a_whole_path_keeps_cuts_and_events():
    path = good("G21 S9 M3\nG0 X30. Y10.\nM8\nG1 X40. F9.\nM9\nG0 X0. Y0.\nM30")
    bent = with_dog_legs(path, (1.0, 1.0, 1.0))
    assert bent.end.tolist() == [[10, 10, 0], [30, 10, 0], [40, 10, 0], [30, 0, 0], [0, 0, 0]]
    assert np.array_equal(bent.start[1:], bent.end[:-1])
    assert [(event.kind, event.before) for event in bent.events if event.kind == "coolant"] == [("coolant", 2), ("coolant", 3)]
    assert bent.line.tolist() == [2, 2, 4, 6, 6]


def test_the_legs_follow_the_machine_where_the_work_is_turned():
    turned = Registers(offsets={"G54": WorkOffset(rotation=math.pi / 2)})
    bent = with_dog_legs(good("G21 G0 X30. Y10.", registers=turned), (1.0, 1.0, 1.0))
    assert bent.end == pytest.approx(np.array([[10.0, 10.0, 0.0], [30.0, 10.0, 0.0]]))
    half = Registers(offsets={"G54": WorkOffset(rotation=math.pi / 4)})
    bent = with_dog_legs(good("G21 G0 X10. Y10.", registers=half), (1.0, 1.0, 1.0))
    assert len(bent) == 1
