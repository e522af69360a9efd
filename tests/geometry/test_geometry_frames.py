"""Frames: chains read by neighbours, quarter turns are exact."""

import math

import numpy as np

from setwright.geometry.bodies import Body, BodyRole, BoxShape
from setwright.geometry.frames import Transform, quarter_turns, shifted, turned_about_z
from setwright.model.job import Turn


def test_chain_and_inverse() -> None:
    machine_from_work = shifted(-300, -200, -400) @ turned_about_z(math.radians(30))
    point = np.array([10.0, 20.0, -5.0])
    moved = machine_from_work.points(point)
    c, s = math.cos(math.radians(30)), 0.5
    assert np.allclose(moved, [-300 + 10 * c - 20 * s, -200 + 10 * s + 20 * c, -405], atol=1e-12)
    assert np.allclose(machine_from_work.inverse().points(moved), point, atol=1e-12)


def test_turning_over_about_x_turns_y_and_z() -> None:
    turn = quarter_turns((Turn(about="x", by=180),))
    assert turn.tolist() == [[1, 0, 0], [0, -1, 0], [0, 0, -1]]


def test_quarter_turn_is_counter_clockwise_seen_from_the_axis_end() -> None:
    assert (quarter_turns((Turn(about="z", by=90),)) @ [1, 0, 0]).tolist() == [0, 1, 0]
    assert (quarter_turns((Turn(about="x", by=90), Turn(about="z", by=90))) @ [0, 1, 0]).tolist() == [0, 0, 1]


def test_box_stays_a_box_under_a_quarter_turn() -> None:
    box = Body("jaw", BodyRole.HOLDING, BoxShape((1, 2, 3), (4, 6, 8)))
    turned = box.moved(shifted(10, 0, 0) @ _quarter())
    assert turned.shape == BoxShape((4, 1, 3), (8, 4, 8))


def _quarter() -> Transform:
    return Transform(np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]), np.zeros(3))
