"""Contacts: overlap against touching, depth as the least push along an axis, first and deepest of many."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.base.tolerance import DEPTH_STEP_MM
from setwright.clearance import Bodies, Box, Cylinder, Mesh, Shape, Verdict, find_contacts
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import Piece, Role
from tests.clearance.scenes import arc, at, ball, cone, cube_mesh, cylinder, table, through

BOX = Box((10.0, -20.0, -30.0), (40.0, 20.0, 0.0))
MESH = Mesh(cube_mesh(BOX.least, BOX.greatest))
UP, LEFT = (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0)
CASES: dict[str, tuple[Moves, Piece, float, tuple[float, float, float]]] = {
    "into the side": (at(7.4, 0, -20), cylinder(3, 0, 50), 0.4, LEFT),
    "into the top": (at(25, 0, -1.25), cylinder(3, 0, 50), 1.25, UP),
    "swept through the top": (through((0, 0, -2), (60, 0, -2)), cylinder(3, 0, 50), 2.0, UP),
    "swept down the slope": (through((25, 0, 40), (30, 0, -0.75)), ball(2, 2), 0.75, UP),
    "cone into the edge": (at(5.5, 0, -12), cone(0, 6, 0, 12), 1.5, LEFT),
    "ball into the edge": (at(8, 0, -4), ball(5), 3.0, LEFT),
    "far below the top, near the side": (at(12, 0, -25), cylinder(3, 0, 50), 5.0, LEFT),
}


@pytest.mark.parametrize("body", [BOX, MESH], ids=["box", "mesh"])
@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_depth_of_one_contact(case: tuple[Moves, Piece, float, tuple[float, float, float]], body: Shape) -> None:
    moves, piece, depth, push = case
    found = find_contacts(moves, table(piece), Bodies.of({"block": body}))
    assert found.count[0, 0] == 1
    assert depth - 1e-9 <= found.depth[0, 0] <= depth + DEPTH_STEP_MM
    assert tuple(found.push[0, 0]) == push
    assert found.first_depth[0, 0] == found.depth[0, 0]


def test_place_is_where_it_frees_last() -> None:
    found = find_contacts(at(7.4, 0, -20), table(ball(3)), Bodies.of({"block": MESH}))
    assert found.place[0, 0] == pytest.approx([10, 0, -20], abs=0.01)


TOUCHING = {
    "standing on the top": (at(25, 0, 0), cylinder(3, 0, 50)),
    "sliding on the top": (through((0, 0, 0), (60, 3, 0)), cylinder(3, 0, 50)),
    "along the side": (through((7, -50, -5), (7, 50, -5)), cylinder(3, 0, 50)),
    "corner to corner": (at(10, 20, 0), cylinder(0, 0, 0)),
    "edge to edge": (through((10, -50, 0), (10, 50, 0)), cone(0, 5, 0, 5)),
    "ball in the slope of nothing": (at(25, 0, 3), ball(3)),
    "a disc on the top": (at(25, 0, 0), cylinder(4, 0, 0)),
    "half a nanometre into the top": (at(25, 0, -5e-7), cylinder(3, 0, 50)),
}


@pytest.mark.parametrize("body", [BOX, MESH], ids=["box", "mesh"])
@pytest.mark.parametrize("case", TOUCHING.values(), ids=TOUCHING.keys())
def test_touching_is_no_contact(case: tuple[Moves, Piece], body: Shape) -> None:
    moves, piece = case
    found = find_contacts(moves, table(piece), Bodies.of({"block": body}))
    assert found.verdict[0, 0, 0] == Verdict.TOUCHING
    assert found.count[0, 0] == 0
    assert found.first[0, 0] == -1
    assert math.isnan(found.depth[0, 0])


@pytest.mark.parametrize("body", [BOX, MESH], ids=["box", "mesh"])
def test_a_hundredth_of_a_micrometre_is_a_contact_or_clear(body: Shape) -> None:
    for height, verdict in ((-1e-5, Verdict.CONTACT), (1e-5, Verdict.CLEAR)):
        found = find_contacts(through((0, 0, height), (60, 3, height)), table(cylinder(3, 0, 50)), Bodies.of({"block": body}))
        assert found.verdict[0, 0, 0] == verdict


def test_arc_grazing_a_wall() -> None:
    wall = Bodies.of({"wall": Box((20, -50, -20), (30, 50, 20))})
    for reach, verdict in ((16.99, Verdict.CLEAR), (17.0, Verdict.TOUCHING), (17.01, Verdict.CONTACT)):
        found = find_contacts(arc((0, 0, 0), reach, -1.0, 2.0), table(cylinder(3, -5, 5)), wall)
        assert found.verdict[0, 0, 0] == verdict
    assert found.depth[0, 0] == pytest.approx(0.01, abs=0.003)


def program() -> Moves:
    """Across the block again and again, 0.1 mm deeper each time down to 2 mm, then up again; safe height between."""
    points = [(0.0, 0.0, 5.0)]
    for turn in range(40):
        deep = -0.1 * min(turn, 40 - turn)
        points += [(0.0, 0.0, deep), (60.0, 0.0, deep), (60.0, 0.0, 5.0), (0.0, 0.0, 5.0)]
    return through(*points)


def test_first_and_deepest_of_many() -> None:
    moves, tool = program(), table(cylinder(3, 0, 10), cylinder(12, 12, 40, Role.HOLDER))
    found = find_contacts(moves, tool, Bodies.of({"block": MESH, "far": Box((0, 90, 0), (1, 91, 1))}))
    assert found.first[:, 0].tolist() == [5, -1]
    assert found.first_depth[0, 0] == pytest.approx(0.1, abs=1e-3)
    assert found.deepest[0, 0] == 4 * 20 + 1
    assert found.depth[0, 0] == pytest.approx(2.0, abs=1e-3)
    assert found.count[0].tolist() == [39, 0, 0, 0]
    assert found.verdict[1, 0, 0] == Verdict.TOUCHING
    lowered = find_contacts(moves, tool, Bodies.of({"block": MESH}), shift=(0, 0, -11))
    assert lowered.depth[0, 2] == pytest.approx(1.0, abs=1e-3)


def test_shift_is_the_same_as_moving_the_program() -> None:
    moves, tool = program(), table(cylinder(3, 0, 10), cylinder(12, 12, 40, Role.HOLDER))
    shift = (1.0, 25.0, -13.0)
    moved = dataclasses.replace(moves, start=moves.start + shift, end=moves.end + shift)
    one = find_contacts(moves, tool, Bodies.of({"block": MESH}), shift=shift)
    other = find_contacts(moved, tool, Bodies.of({"block": MESH}))
    assert (one.verdict == other.verdict).all()
    assert one.depth == pytest.approx(other.depth, abs=1e-9, nan_ok=True)


def test_push_frees_and_less_does_not() -> None:
    rng = np.random.default_rng(8)
    bodies = Bodies.of({"post": Cylinder(0, 0, 9, -20, 20), "block": MESH})
    tool = table(cylinder(3, 0, 10), cylinder(8, 10, 30))
    hit = 0
    for _ in range(40):
        moves = through(*map(tuple, rng.uniform(-25, 25, (2, 3))))
        found = find_contacts(moves, tool, bodies)
        for body in np.flatnonzero(found.count[:, 0]):
            hit += 1
            push, depth = found.push[body, 0], found.depth[body, 0]
            assert find_contacts(moves, tool, bodies, shift=tuple(push * depth)).count[body, 0] == 0
            for other in np.vstack([np.eye(3), -np.eye(3)]):
                less = find_contacts(moves, tool, bodies, shift=tuple(other * (depth - 2 * DEPTH_STEP_MM)))
                assert less.count[body, 0] == 1
    assert hit > 20


def test_same_bytes_for_any_number_of_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    moves = through(*map(tuple, rng.uniform(-30, 30, (6001, 3))))
    answers = []
    for threads in ("1", "3"):
        monkeypatch.setenv("SETWRIGHT_THREADS", threads)
        found = find_contacts(moves, table(cylinder(3, 0, 10)), Bodies.of({"block": MESH, "pin": Cylinder(-20, 0, 3, -9, 9)}))
        answers.append([np.asarray(getattr(found, field.name)).tobytes() for field in dataclasses.fields(found)])
    assert answers[0] == answers[1]


@pytest.mark.parametrize("wrong", [{"shift": (0, 0, math.nan)}, {"touching": 0.0}, {"sagitta": -1.0}])
def test_numbers_that_mean_nothing_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(InputRefused):
        find_contacts(at(0, 0, 0), table(ball(1)), Bodies.of({"block": MESH}), **wrong)  # type: ignore[arg-type]
