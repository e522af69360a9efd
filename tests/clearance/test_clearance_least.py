"""The table over a program: who is nearest, where first, how it goes from move to move, and what is refused."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from setwright.base.errors import Cancelled, InputRefused
from setwright.base.tolerance import CHORD_SAGITTA_MM, DISTANCE_GAP_MM
from setwright.clearance import Bodies, Box, Cylinder, Mesh, least_clearance
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable, Role
from setwright.program.motions import joined
from tests.clearance.scenes import arc, at, cube_mesh, cylinder, table, through

TOOL = table(cylinder(3, 0, 20), cylinder(3, 20, 30, Role.SHANK), cylinder(15, 30, 60, Role.HOLDER),
             cylinder(40, 60, 90, Role.NOSE))  # fmt: skip
JAWS = Bodies.of({
    "fixed jaw": Box((-60, 30, -40), (60, 60, 0)),
    "moving jaw": Mesh(cube_mesh((-60, -60, -40), (60, -30, 0))),
    "stop": [Cylinder(-70, 0, 5, -40, 12), Box((-90, -5, -40), (-70, 5, -20))],
})  # fmt: skip


def wandering(count: int, seed: int) -> Moves:
    rng = np.random.default_rng(seed)
    steps = np.cumsum(rng.normal(0, 2, (count + 1, 3)), axis=0)
    return through(*map(tuple, np.clip(steps, (-50, -20, -8), (50, 20, 30))))


def test_each_body_and_group() -> None:
    moves = through((0, 0, -10), (0, 20, -10), (0, 20, 5), (0, 20, -10), (0, -25, -10), (-20, -25, 40))
    found = least_clearance(moves, TOOL, JAWS)
    assert found.bodies == ("fixed jaw", "moving jaw", "stop")
    assert found.groups == ("cutter", "shank", "holder", "spindle nose")
    truth = [[7.0, math.hypot(7, 10), 20.0, 50.0], [2.0, math.hypot(2, 10), 20.0, 50.0]]
    assert found.lower[:2] == pytest.approx(np.array(truth), abs=1e-6)
    assert found.ident[0, 0] == 10, "the first of the equal motions"
    assert found.ident[1, 0] == 13
    assert found.piece[0].tolist() == [0, 1, 2, 3]
    assert found.row[1, 0] == 3


def test_an_arc_that_touches_is_named_though_a_later_line_touches_exactly() -> None:
    plate = Bodies.of({"plate": Box((-60, -60, -40), (60, 60, 0))})
    moves = joined([at(0, 0, 20), arc((0, 0, 0), 20.0, 0.0, 1.0), *[at(0, 0, 20)] * 13, through((0, 0, 0), (10, 0, 0))])
    found = least_clearance(moves, TOOL, plate)
    assert (found.lower[0, 0], found.row[0, 0]) == (0.0, 1)
    assert 0.0 <= found.upper[0, 0] <= 2 * CHORD_SAGITTA_MM + DISTANCE_GAP_MM


def test_groups_are_the_callers() -> None:
    moves = at(0, 20, -10)
    found = least_clearance(moves, TOOL, JAWS, groups={"not cutting": (Role.SHANK, Role.HOLDER), "cutting": (Role.CUTTING,)})
    assert found.lower[0] == pytest.approx([math.hypot(7, 10), 7.0], abs=1e-6)
    with pytest.raises(InputRefused, match="two groups"):
        least_clearance(moves, TOOL, JAWS, groups={"a": (Role.SHANK,), "b": (Role.SHANK,)})


def test_course_is_the_least_of_each_move() -> None:
    moves = wandering(300, 1)
    found = least_clearance(moves, TOOL, JAWS, course_within=12.0)
    assert found.course is not None
    for row in range(0, 300, 7):
        alone = least_clearance(moves[row : row + 1], TOOL, JAWS)
        assert found.course[row] == pytest.approx(np.minimum(alone.lower.min(axis=1), 12.0), abs=1e-6)
    assert found.course.max() == 12.0
    assert found.course.min(axis=0) == pytest.approx(np.minimum(found.lower.min(axis=1), 12.0), abs=1e-6)


def test_least_over_many_is_the_least_of_all() -> None:
    moves = wandering(9000, 2)
    whole = least_clearance(moves, TOOL, JAWS)
    slices = [least_clearance(moves[at : at + 10], TOOL, JAWS).lower for at in range(0, 9000, 10)]
    assert whole.lower == pytest.approx(np.min(slices, axis=0), abs=1e-6)


def test_cut_off_says_at_least() -> None:
    found = least_clearance(at(0, 20, -10), TOOL, JAWS, cutoff=8.0)
    assert found.lower[0] == pytest.approx([7.0, 8.0, 8.0, 8.0], abs=1e-6)
    assert found.upper[0, 1:].tolist() == [math.inf] * 3
    assert found.ident[0].tolist() == [10, -1, -1, -1]
    assert np.isnan(found.on_body[0, 1]).all()


def test_same_bytes_for_any_number_of_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    moves = wandering(20000, 3)
    answers = []
    for threads in ("1", "2", "5"):
        monkeypatch.setenv("SETWRIGHT_THREADS", threads)
        found = least_clearance(moves, TOOL, JAWS, course_within=9.0)
        answers.append([np.asarray(getattr(found, field.name)).tobytes() for field in dataclasses.fields(found)])
    assert answers[0] == answers[1] == answers[2]


def test_no_moves_and_no_pieces() -> None:
    nothing = least_clearance(at(0, 0, 0)[:0], TOOL, JAWS, course_within=5.0)
    assert np.isinf(nothing.lower).all()
    assert nothing.course is not None
    assert nothing.course.shape == (0, 3)
    bare = least_clearance(at(0, 0, 0), PieceTable.of([[]]), JAWS)
    assert np.isinf(bare.lower).all()


def test_progress_counts_and_may_stop() -> None:
    seen: list[tuple[int, int]] = []
    least_clearance(wandering(9000, 4), TOOL, JAWS, progress=lambda done, total: seen.append((done, total)))
    assert [done for done, _ in seen] == list(range(1, 10))
    assert {total for _, total in seen} == {9}

    def stop(done: int, total: int) -> None:
        raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        least_clearance(wandering(9000, 4), TOOL, JAWS, progress=stop)


@pytest.mark.parametrize("spoil", [
    lambda moves: dataclasses.replace(moves, start=moves.start * np.nan),
    lambda moves: dataclasses.replace(moves, sweep=moves.sweep + np.inf),
    lambda moves: dataclasses.replace(moves, tool=moves.tool + 7),
    lambda moves: dataclasses.replace(moves, axis=moves.axis + 3),
], ids=["nan", "inf", "tool", "axis"])  # fmt: skip
def test_moves_that_mean_nothing_are_refused(spoil: object) -> None:
    with pytest.raises(InputRefused, match="motion 10"):
        least_clearance(spoil(at(0, 0, 0)), TOOL, JAWS)  # type: ignore[operator]


@pytest.mark.parametrize(("bodies", "said"), [
    ({}, "no body"),
    ({"clamp": []}, "clamp.*no shape"),
    ({"clamp": Box((0, 0, 0), (1, -1, 1))}, "clamp.*is no box"),
    ({"clamp": Box((0, 0, 0), (1, math.inf, 1))}, "is no box"),
    ({"pin": Cylinder(0, 0, -1, 0, 1)}, "pin.*is no cylinder"),
    ({"pin": Mesh(np.zeros((0, 3, 3)))}, "no triangles"),
    ({"pin": Mesh(np.full((4, 3, 3), np.nan))}, "not a number"),
    ({"pin": Mesh(cube_mesh((0, 0, 0), (1, 1, 1))[1:])}, "not closed: 3 sides"),
], ids=lambda value: value if isinstance(value, str) else "")  # fmt: skip
def test_bodies_that_mean_nothing_are_refused(bodies: dict[str, object], said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        Bodies.of(bodies)  # type: ignore[arg-type]


@pytest.mark.parametrize("wrong", [{"cutoff": 0.0}, {"cutoff": math.nan}, {"course_within": math.inf}, {"course_within": -1.0},
                                   {"sagitta": 0.0}])  # fmt: skip
def test_lengths_that_mean_nothing_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(InputRefused):
        least_clearance(at(0, 0, 0), TOOL, JAWS, **wrong)  # type: ignore[arg-type]
