"""From registers and truth to the tip over the part: every number by hand."""

import math
from dataclasses import replace

import numpy as np

from setwright.geometry.frames import shifted, turned_about_z
from setwright.geometry.moves import MoveKind, Moves
from setwright.kit.registers import Truth
from setwright.program.motions import moves_in_machine
from setwright.program.path import Frame, Path, State
from setwright.prove.motions import moves_over_part, with_dog_legs

RIGHT = np.array([True])


def line(start: list[float], end: list[float], *, shift: tuple[float, float, float], rpm: float = 5000.0) -> Path:
    return Path(
        np.array([MoveKind.LINE], np.uint8), np.array([start]), np.array([end]), np.array([-1], np.int32), np.array([500.0]),
        np.array([7], np.int32), np.zeros(1, np.int16), np.zeros(1, np.int32), np.zeros(1, np.int32), np.zeros((0, 3)),
        np.zeros(0, np.uint8), np.zeros(0), states=(State(tool=1, spindle_rpm=rpm),), frames=(Frame("G54", shift, 120.0),),
    )  # fmt: skip


def arc(axis: int, sweep: float, *, shift: tuple[float, float, float]) -> Path:
    """A quarter circle of radius 10 about the origin, in the plane of `axis`, from the first to the second of its axes."""
    start, end = np.zeros(3), np.zeros(3)
    start[(axis + 1) % 3] = 10.0
    end[(axis + 2) % 3] = 10.0
    path = line(list(start), list(end), shift=shift)
    return replace(path, kind=np.array([MoveKind.ARC], np.uint8), arc=np.zeros(1, np.int32), arc_centre=np.zeros((1, 3)),
                   arc_axis=np.array([axis], np.uint8), arc_sweep=np.array([sweep]))  # fmt: skip


def truth(*, at: tuple[float, float, float] = (-300, -200, -450), length: float = 120.0, turn: float = 0.0) -> Truth:
    return Truth(shifted(*at) @ turned_about_z(turn), {1: length}, {1: 5.0}, "kit")


def test_fitting_registers_give_back_the_programmed_path() -> None:
    path = line([0, 0, 5], [10, 20, -3], shift=(-300, -200, -330))
    assert moves_in_machine(path).end.tolist() == [[-290, -180, -333]]
    moves = moves_over_part(path, truth(), {1: 0}, right_hand=RIGHT)
    assert np.allclose(moves.start, [[0, 0, 5]], atol=1e-12)
    assert np.allclose(moves.end, [[10, 20, -3]], atol=1e-12)
    assert moves.cuts.tolist() == [True]


def test_a_tool_longer_than_its_register_goes_deeper() -> None:
    path = line([0, 0, 5], [0, 0, -3], shift=(-300, -200, -330))
    moves = moves_over_part(path, truth(length=121.0), {1: 0}, right_hand=RIGHT)
    assert np.allclose(moves.end[0], [0, 0, -4], atol=1e-12)


def test_an_offset_too_far_left_moves_everything_left() -> None:
    path = line([0, 0, 5], [10, 0, -3], shift=(-310, -200, -330))
    moves = moves_over_part(path, truth(), {1: 0}, right_hand=RIGHT)
    assert np.allclose(moves.end[0], [0, 0, -3], atol=1e-12)


def test_a_part_turned_in_the_vise_sees_the_tool_turned_back() -> None:
    path = line([0, 0, 0], [100, 0, 0], shift=(-300, -200, -330))
    moves = moves_over_part(path, truth(turn=math.radians(1)), {1: 0}, right_hand=RIGHT)
    assert np.allclose(moves.end[0], [100 * math.cos(math.radians(1)), -100 * math.sin(math.radians(1)), 0], atol=1e-9)


def test_a_stopped_or_wrong_way_spindle_does_not_cut() -> None:
    for rpm in (0.0, -3000.0):
        path = line([0, 0, 0], [1, 0, 0], shift=(-300, -200, -330), rpm=rpm)
        assert moves_over_part(path, truth(), {1: 0}, right_hand=RIGHT).cuts.tolist() == [False]
    left = line([0, 0, 0], [1, 0, 0], shift=(-300, -200, -330), rpm=-3000.0)
    assert moves_over_part(left, truth(), {1: 0}, right_hand=np.array([False])).cuts.tolist() == [True]


def test_an_upright_arc_becomes_chords_when_the_part_lies_turned() -> None:
    path = arc(1, math.pi / 2, shift=(-300, -200, -330))
    straight = moves_over_part(path, truth(), {1: 0}, right_hand=RIGHT)
    assert straight.kind.tolist() == [MoveKind.ARC]
    turn = math.radians(2)
    chords = moves_over_part(path, truth(turn=turn), {1: 0}, right_hand=RIGHT)
    assert (chords.kind == MoveKind.LINE).all()
    assert (chords.ident == 0).all()
    points = np.concatenate([chords.start, chords.end[-1:]])
    assert np.allclose(chords.start[1:], chords.end[:-1], atol=0)
    assert np.allclose(np.linalg.norm(points, axis=1), 10.0, atol=1e-9)
    middle = np.linalg.norm((chords.start + chords.end) / 2, axis=1)
    assert (10.0 - middle <= 0.0005).all()
    c, s = math.cos(turn), math.sin(turn)
    # the arc of G18 starts on Z and ends on X; the part turned by +2° sees the end turned by −2°
    assert np.allclose(points[0], [0, 0, 10], atol=1e-9)
    assert np.allclose(points[-1], [10 * c, -10 * s, 0], atol=1e-9)


def test_a_flat_arc_stays_an_arc_in_a_turned_part() -> None:
    moves = moves_over_part(arc(2, math.pi / 2, shift=(-300, -200, -330)), truth(turn=0.1), {1: 0}, right_hand=RIGHT)
    assert moves.kind.tolist() == [MoveKind.ARC]


def rapid(start: list[float], end: list[float]) -> Moves:
    return Moves(np.zeros(1, np.uint8), np.array([start]), np.array([end]), np.zeros((1, 3)), np.zeros(1, np.uint8), np.zeros(1),
                 np.zeros(1, np.int32), np.zeros(1, bool), np.array([4], np.int32))  # fmt: skip


def test_dog_leg_has_z_down_half_way() -> None:
    """(300, 50, −100) at 36/36/24 m/min: Z arrives when X is at 150, Y when X is at 50."""
    legs = with_dog_legs(rapid([0, 0, 0], [300, 50, -100]), (36000, 36000, 24000), straight=False)
    assert np.allclose(legs.end, [[50, 50, -100 / 3], [150, 50, -100], [300, 50, -100]], atol=1e-9)
    assert legs.ident.tolist() == [4, 4, 4]
    both = with_dog_legs(rapid([0, 0, 0], [300, 50, -100]), (36000, 36000, 24000), straight=True)
    assert len(both) == 4
    assert np.allclose(both.end[0], [300, 50, -100])


def test_one_axis_or_equal_times_stay_straight() -> None:
    assert len(with_dog_legs(rapid([0, 0, 0], [300, 0, 0]), (36000, 36000, 24000), straight=False)) == 1
    assert len(with_dog_legs(rapid([0, 0, 0], [36, 36, 24]), (36000, 36000, 24000), straight=False)) == 1
