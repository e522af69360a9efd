"""Arcs and helices: the interval holds the closed form and is no wider than its chords allow."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, DISTANCE_GAP_MM
from setwright.clearance import Bodies, Box, Cylinder, Mesh, Shape, least_clearance
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import Piece
from tests.clearance.scenes import arc, ball, cone, cube_mesh, cylinder, table

POST = Cylinder(0.0, 0.0, 6.0, -20.0, 20.0)
WALL = Box((20.0, -50.0, -20.0), (30.0, 50.0, 20.0))
HALF_TURN = math.pi
CASES = {
    "round a post": (arc((0, 0, 0), 15, 0.3, 2 * HALF_TURN), cylinder(4, -5, 5), POST, 5.0),
    "round a post, clockwise, three turns": (arc((0, 0, 0), 15, 0.3, -6 * HALF_TURN), cylinder(4, -5, 5), POST, 5.0),
    "post off centre": (arc((2, 0, 0), 15, 0.0, 2 * HALF_TURN), cylinder(4, -5, 5), POST, 15 - 2 - 6 - 4),
    "towards a wall and back": (arc((0, 0, 0), 15, -1.0, 2.0), cylinder(3, -5, 5), WALL, 2.0),
    "not as far as the nearest point": (arc((0, 0, 0), 15, 0.5, 2.0), cylinder(3, -5, 5), WALL, 17 - 15 * math.cos(0.5)),
    "helix down to a face": (arc((0, 0, 30), 8, 0.0, 4 * HALF_TURN, rise=-7), cylinder(3, 0, 30),
                             Box((-50, -50, 0), (50, 50, 20)), 3.0),
    "past an edge, cone": (arc((0, 0, 0), 10, 0.0, 2 * HALF_TURN), cone(0, 5, 0, 5), Box((20, -9, -9), (30, 9, 0.0)),
                           10 / math.sqrt(2)),
    "past an edge, rim of the cone": (arc((0, 0, 0), 10, 0.0, 2 * HALF_TURN), cone(0, 5, 0, 5), Box((20, -9, -9), (30, 9, 2.0)),
                                      math.hypot(5, 3)),
    "in the ZX plane, ball dips to a face": (arc((0, 0, 20), 12, 0.0, 2 * HALF_TURN, axis=1), ball(2),
                                             Box((-50, -50, -10), (50, 50, 0)), 6.0),
    "in the YZ plane, ball dips to a face": (arc((0, 0, 20), 12, 0.0, -2 * HALF_TURN, axis=0), ball(2),
                                             Box((-50, -50, -10), (50, 50, 0)), 6.0),
    "in the YZ plane, sense of the turn": (arc((0, 0, 20), 12, 0.0, HALF_TURN / 2, axis=0), ball(2),
                                           Box((-50, -50, -10), (50, 50, 0)), 18.0),
    "in the ZX plane, sense of the turn": (arc((0, 0, 20), 12, 0.0, HALF_TURN / 2, axis=1), ball(2),
                                           Box((-50, -50, -10), (50, 50, 0)), 18.0),
    "a turn of nothing": (arc((0, 0, 0), 15, 0.0, 0.0), cylinder(3, -5, 5), WALL, 2.0),
}  # fmt: skip


@pytest.mark.parametrize("sagitta", [0.01, 0.0005])
@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_distance_along_an_arc(case: tuple[Moves, Piece, Shape, float], sagitta: float) -> None:
    moves, piece, body, truth = case
    found = least_clearance(moves, table(piece), Bodies.of({"body": body}), sagitta=sagitta)
    lower, upper = found.lower[0, 0], found.upper[0, 0]
    assert lower - COORDINATE_ROUND_OFF_MM <= truth <= upper + COORDINATE_ROUND_OFF_MM
    assert upper - lower <= 2 * sagitta + 2 * DISTANCE_GAP_MM
    assert found.ident[0, 0] == 3


@pytest.mark.parametrize("seed", range(5))
def test_never_more_than_any_pose_of_a_spiral_helix(seed: int) -> None:
    rng = np.random.default_rng(seed)
    centre, radius, sweep = rng.uniform(-20, 20, 3), rng.uniform(5, 20), rng.uniform(-8, 8)
    moves = arc(tuple(centre), radius, rng.uniform(-3, 3), sweep, rise=rng.uniform(-20, 20), miss=0.01)
    piece, body = cylinder(3, 0, 10), Bodies.of({"block": Mesh(cube_mesh((25, -15, -15), (45, 15, 15)))})
    lower = least_clearance(moves, table(piece), body).lower[0, 0]
    first = np.arctan2(*(moves.start[0, :2] - centre[:2])[::-1])
    for share in np.linspace(0, 1, 400):
        r = radius + 0.01 * share
        tip = [centre[0] + r * np.cos(first + share * sweep), centre[1] + r * np.sin(first + share * sweep),
               moves.start[0, 2] + share * (moves.end[0, 2] - moves.start[0, 2])]  # fmt: skip
        gaps = np.maximum(0, np.maximum([25 - tip[0], -15 - tip[1]], [tip[0] - 45, tip[1] - 15]))
        above = max(0.0, tip[2] - 15, -15 - tip[2] - 10)
        assert lower <= math.hypot(max(0.0, np.hypot(*gaps) - 3), above) + COORDINATE_ROUND_OFF_MM


def test_a_stated_end_off_its_circle_widens_the_bounds() -> None:
    """The end, nearest to the wall and headed for it, is stated 4 µm farther on than the turn goes."""
    moves = arc((0, 0, 0), 15, -HALF_TURN, HALF_TURN / 2)
    moves.end[0, 0] += 0.004
    found = least_clearance(moves, table(cylinder(3, -5, 5)), Bodies.of({"wall": WALL}))
    assert found.lower[0, 0] <= 20 - 3 - moves.end[0, 0] <= found.upper[0, 0]
    assert found.upper[0, 0] - found.lower[0, 0] <= 2 * (0.0005 + 0.004) + DISTANCE_GAP_MM
