"""Least distances against closed forms: every kind of piece, every kind of solid, straight moves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, DISTANCE_GAP_MM
from setwright.clearance import Bodies, Box, Cylinder, Mesh, Shape, least_clearance
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import Meridian, Piece
from tests.clearance.scenes import at, ball, cone, cube_mesh, cylinder, table, through, toroid, turned_about_z
from tests.clearance.segments import segment_triangle

BOX = Box((10.0, -20.0, -30.0), (40.0, 20.0, 0.0))
MESH = Mesh(cube_mesh(BOX.least, BOX.greatest))
PIN = Cylinder(10.0, 0.0, 4.0, -30.0, 0.0)


def bounds(moves: Moves, piece: Piece, body: Shape) -> tuple[float, float]:
    found = least_clearance(moves, table(piece), Bodies.of({"body": body}), groups={"all": (piece.role,)})
    return float(found.lower[0, 0]), float(found.upper[0, 0])


def assert_holds(found: tuple[float, float], truth: float) -> None:
    lower, upper = found
    assert lower - COORDINATE_ROUND_OFF_MM <= truth <= upper + COORDINATE_ROUND_OFF_MM
    assert upper - lower <= DISTANCE_GAP_MM


CASES = {
    "cylinder beside a face": (at(0, 0, -10), cylinder(3, 0, 30), 7.0),
    "cylinder above a face": (at(20, 5, 2.5), cylinder(3, 0, 30), 2.5),
    "cylinder over an edge": (at(3, 0, 4), cylinder(3, 0, 30), math.hypot(4, 4)),
    "cylinder off a corner": (at(7, -24, 12), cylinder(2, 0, 30), math.hypot(math.hypot(3, 4) - 2, 12)),
    "ball over a corner": (at(4, 26, 9), ball(5), math.sqrt(36 + 36 + 81) - 5),
    "ball over an edge": (at(7, 3, 4), ball(1.5), 3.5),
    "upper half of a ball has no lower": (at(20, 0, 5), Piece(Meridian.ARC, 0, 5, 5, 0, 0, 0, 5), 5.0),
    "lower half of a ball": (at(20, 0, 5), Piece(Meridian.ARC, -5, 0, 0, 5, 0, 0, 5), 0.0),
    "cone beside an edge": (at(0, 0, -4), cone(0, 12, 0, 12), 6 / math.sqrt(2)),
    "cone with its tip over a face": (at(25, 0, 0.75), cone(0, 5, 0, 3), 0.75),
    "wide holder, its face over the top": (at(0, 0, -20), cone(20, 20, 26, 40), 6.0),
    "toroid beside a face": (at(2, 0, -10), toroid(3, 2), 3.0),
    "toroid over an edge": (at(4, 0, 3), toroid(3, 1), math.hypot(10 - 4 - 3, 3 + 1) - 1),
    "disc beside a face": (at(0, 0, -10), cylinder(4, 5, 5), 6.0),
    "disc above a face": (at(20, 0, 1), cylinder(4, 0, 0), 1.0),
    "a point": (at(7, 24, 0), cylinder(0, 0, 0), 5.0),
    "a bare axis": (at(0, 0, 3), cylinder(0, 0, 9), math.hypot(10, 3)),
    "swept past a face": (through((0, -100, -10), (0, 100, -10)), cylinder(3, 0, 30), 7.0),
    "swept down beside an edge": (through((5, 0, 50), (5, 0, 8)), ball(5), math.hypot(5, 8) - 5),
    "swept over a corner on the slant": (through((5, -25, 3), (-5, -15, 3)), ball(2), math.sqrt(50 + 9) - 2),
    "swept down to a face": (through((20, 0, 40), (30, 5, 1.25)), toroid(3, 2), 1.25),
    "a very long move": (through((-4000, 0, 6), (4000, 0, 6)), cylinder(3, 0, 30), 6.0),
    "a move of a nanometre": (through((0, 0, -10), (1e-6, 0, -10)), cylinder(3, 0, 30), 7.0 - 1e-6),
}


@pytest.mark.parametrize("body", [BOX, MESH], ids=["box", "mesh"])
@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_distance_from_a_block(case: tuple[Moves, Piece, float], body: Shape) -> None:
    moves, piece, truth = case
    assert_holds(bounds(moves, piece, body), truth)


PIN_CASES = {
    "side by side": (at(0, 0, -10), cylinder(3, 0, 30), 3.0),
    "on the slant": (at(1, 12, -5), cylinder(2.5, 0, 30), 15 - 6.5),
    "above": (at(11, 1, 6), cylinder(3, 0, 30), 6.0),
    "rim over rim": (at(0, 0, 4), cylinder(3, 0, 30), 5.0),
    "ball over the rim": (at(2, 0, 3), ball(1), 4.0),
    "toroid over the rim": (at(0, 0, 3), toroid(2, 1), math.hypot(4, 4) - 1),
    "swept past": (through((-50, 9, -10), (50, 9, -10)), cylinder(3, 0, 30), 2.0),
    "swept on the slant": (through((-2, -12, -10), (22, 20, -10)), cylinder(1, 0, 30), 0.0),
}


@pytest.mark.parametrize("case", PIN_CASES.values(), ids=PIN_CASES.keys())
def test_distance_from_a_pin(case: tuple[Moves, Piece, float]) -> None:
    moves, piece, truth = case
    assert_holds(bounds(moves, piece, PIN), truth)


def test_nearest_points_span_the_distance() -> None:
    found = least_clearance(at(3, 0, 4), table(cylinder(3, 0, 30)), Bodies.of({"block": MESH}))
    assert found.on_tool[0, 0] == pytest.approx([6, 0, 4], abs=1e-3)
    assert found.on_body[0, 0] == pytest.approx([10, 0, 0], abs=1e-3)
    assert np.linalg.norm(found.on_tool[0, 0] - found.on_body[0, 0]) == pytest.approx(found.upper[0, 0], abs=1e-9)


PIECES = [cylinder(4, 0, 20), cone(1, 9, -3, 8), toroid(5, 2), cylinder(3, 1, 1), ball(3)]
coordinate = st.floats(-60, 60) | st.sampled_from([0.0, 10.0, 1e-9, -30.0, 1e-4])
place = st.tuples(coordinate, coordinate, coordinate)


@settings(max_examples=200, deadline=None)
@given(place, place, st.floats(0.01, 25), st.tuples(place, place, place))
def test_ball_along_a_line_against_any_triangle(start: tuple[float, ...], end: tuple[float, ...], radius: float,
                                                corners: tuple[tuple[float, ...], ...]) -> None:  # fmt: skip
    triangle = np.array(corners)
    if np.linalg.norm(np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])) < 1e-3:
        return
    both = Mesh(np.array([triangle, triangle[::-1]]))
    truth = max(0.0, segment_triangle(np.array(start), np.array(end), triangle) - radius)
    lower, upper = bounds(through(start, end), ball(radius), both)  # type: ignore[arg-type]
    assert lower <= truth + COORDINATE_ROUND_OFF_MM
    assert upper >= truth - COORDINATE_ROUND_OFF_MM
    assert upper - lower <= 10 * DISTANCE_GAP_MM


@settings(max_examples=60, deadline=None)
@given(place, place, st.floats(-3, 3), place, st.sampled_from(PIECES))
def test_moving_everything_changes_nothing(start: tuple[float, ...], end: tuple[float, ...], angle: float, by: tuple[float, ...],
                                           piece: Piece) -> None:  # fmt: skip
    here = bounds(through(start, end), piece, MESH)  # type: ignore[arg-type]
    ends = turned_about_z(np.array([start, end]), angle, by)
    there = bounds(through(*map(tuple, ends)), piece, Mesh(turned_about_z(MESH.triangles, angle, by)))
    assert here == pytest.approx(there, abs=2 * DISTANCE_GAP_MM)


@settings(max_examples=60, deadline=None)
@given(place, place, st.sampled_from(PIECES), st.sampled_from([BOX, MESH, PIN]))
def test_never_more_than_any_pose_on_the_way(start: tuple[float, ...], end: tuple[float, ...], piece: Piece, body: Shape) -> None:
    lower, upper = bounds(through(start, end), piece, body)  # type: ignore[arg-type]
    for share in np.linspace(0, 1, 7):
        pose = np.array(start) + share * (np.array(end) - np.array(start))
        stands = bounds(at(*pose), piece, body)[1]
        assert lower <= stands + COORDINATE_ROUND_OFF_MM
    longest = np.linalg.norm(np.array(end) - np.array(start))
    finest = [bounds(at(*(np.array(start) + share * (np.array(end) - np.array(start)))), piece, body)[0]
              for share in np.linspace(0, 1, 31)]  # fmt: skip
    assert upper >= min(finest) - longest / 60 - DISTANCE_GAP_MM
