"""Times against closed forms: single motions, corners, arcs, rapids, pauses."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import ArrayLike

from setwright.base.errors import InputRefused
from setwright.geometry.moves import MoveKind, Moves
from setwright.motion import Dynamics, Pause, RapidPath, time_along
from setwright.motion.plan import corner_speed
from setwright.motion.ramp import ramp_position, ramp_time, reachable_speed, time_in_ramp


def path(points: ArrayLike, kind: MoveKind = MoveKind.LINE) -> Moves:
    at = np.asarray(points, np.float64)
    n = len(at) - 1
    return Moves(np.full(n, kind, np.uint8), at[:-1], at[1:], np.zeros((n, 3)), np.full(n, 2, np.uint8), np.zeros(n),
                 np.zeros(n, np.int32), np.ones(n, np.bool_), np.arange(n, dtype=np.int32))  # fmt: skip


def machine(*, rapid: float = 30000, accel: float = 3000, jerk: float | None = None, **habits: object) -> Dynamics:
    smooth = None if jerk is None else (jerk,) * 3
    return Dynamics(rapid_mm_min=(rapid,) * 3, accel_mm_s2=(accel,) * 3, jerk_mm_s3=smooth, **habits)  # type: ignore[arg-type]


def total(moves: Moves, feed: float, dynamics: Dynamics, **more: object) -> float:
    return time_along(moves, np.full(len(moves), feed), dynamics, **more).total_s  # type: ignore[arg-type]


def test_one_line() -> None:
    hundred = path([(0, 0, 0), (100, 0, 0)])
    assert total(hundred, 6000, machine()) == pytest.approx(1 + 0.1 / 3, abs=1e-12)
    assert total(hundred, 6000, machine(jerk=50000)) == pytest.approx(1 + 2 * math.sqrt(0.1 / 50), abs=1e-12)
    rapid = path([(0, 0, 0), (300, 0, 0)], MoveKind.RAPID)
    assert total(rapid, math.nan, machine(jerk=50000)) == pytest.approx(0.6 + 0.5 / 3 + 3 / 50, abs=1e-12)


def test_one_line_too_short_for_its_feed() -> None:
    short = path([(0, 0, 0), (1, 0, 0)])
    assert total(short, 30000, machine()) == pytest.approx(2 * math.sqrt(1 / 3000), abs=1e-12)
    # jerk alone: two ramps of L/2 each, (v/2) 2 sqrt(v/j) = L/2, so 4 sqrt(v/j) in all with v = (L/2)^(2/3) j^(1/3)
    assert total(short, 30000, machine(accel=1e6, jerk=50000)) == pytest.approx(4 * (0.5 / 50000) ** (1 / 3), rel=1e-9)


@pytest.mark.parametrize(("length", "ratio"), [(0.1, 5.8), (0.5, 2.6), (1, 1.83), (5, 1.17), (20, 1.04)])
def test_exact_stop_against_feed_alone(length: float, ratio: float) -> None:
    moves = path([(length * k, 0, 0) for k in range(11)])
    taken = total(moves, 3000, machine(), exact_stop=np.ones(10, np.bool_))
    assert taken / (10 * length / 50) == pytest.approx(ratio, rel=0.01)


@pytest.mark.parametrize(("degrees", "mm_min"), [(10, 5317), (30, 1750), (60, 836), (90, 511), (135, 259)])
def test_corner(degrees: float, mm_min: float) -> None:
    after = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees)), 0.0])
    speed = corner_speed(np.array([1.0, 0, 0]), after, 0.01, np.full(3, np.inf))
    assert math.isinf(speed), "axes without limit take any corner at any speed"
    toward = (after - [1, 0, 0]) / np.linalg.norm(after - [1, 0, 0])
    alike = 3000.0 * np.abs(toward).max()  # the acceleration is 3 m/s² along the bisector
    assert corner_speed(np.array([1.0, 0, 0]), after, 0.01, np.full(3, alike)) * 60 == pytest.approx(mm_min, abs=1)


def test_corner_of_the_plan() -> None:
    """A right angle between two long lines: slow down to the corner's speed and up again."""
    square = path([(0, 0, 0), (50, 0, 0), (50, 50, 0)])
    accel, feed, tolerance = 3000.0, 100.0, 0.01
    toward_corner = accel * math.sqrt(2)  # both axes at their limit at once
    s = math.sqrt(0.5)
    slow = math.sqrt(toward_corner * tolerance * s / (1 - s))
    one = 50 / feed + (feed / accel) / 2 + (feed - slow) ** 2 / (2 * accel * feed)
    found = time_along(square, np.full(2, feed * 60), machine(junction_tolerance_mm=tolerance))
    assert found.end == pytest.approx([one, 2 * one], abs=1e-12)
    assert total(square, feed * 60, machine(junction_tolerance_mm=0.0)) == pytest.approx(2 * (50 / feed + feed / accel), abs=1e-12)


def test_straight_on_is_no_corner_and_back_is_a_stop() -> None:
    feed, accel = 100.0, 3000.0
    straight = total(path([(0, 0, 0), (50, 0, 0), (100, 0, 0)]), feed * 60, machine())
    assert straight == pytest.approx(100 / feed + feed / accel, abs=1e-12)
    back = total(path([(0, 0, 0), (50, 0, 0), (0, 0, 0)]), feed * 60, machine())
    assert back == pytest.approx(2 * (50 / feed + feed / accel), abs=1e-12)


def circle(radius: float, turns: float = 1.0, rise: float = 0.0) -> Moves:
    end = (radius * math.cos(2 * math.pi * turns), radius * math.sin(2 * math.pi * turns), rise)
    one = path([(radius, 0, 0), end], MoveKind.ARC)
    one.sweep[0] = 2 * math.pi * turns
    return one


def test_circle() -> None:
    round_, accel = 2 * math.pi * 10, 3000.0
    assert total(circle(10), 6000, machine()) == pytest.approx(round_ / 100 + 100 / accel, abs=1e-12)
    fastest = math.sqrt(accel * 10)
    assert total(circle(10), 60000, machine(rapid=60000)) == pytest.approx(round_ / fastest + fastest / accel, abs=1e-12)
    jerk, tiny = 50000.0, 0.05
    gentle = (jerk * tiny**2) ** (1 / 3)
    assert gentle < math.sqrt(accel * tiny)
    taken = total(circle(tiny, 20), 6000, machine(jerk=jerk))
    assert taken == pytest.approx(40 * math.pi * tiny / gentle + 2 * math.sqrt(gentle / jerk), rel=1e-9)


def test_helix_runs_along_its_length() -> None:
    length = math.hypot(2 * math.pi * 10, 20)
    accel = 3000 * length / (2 * math.pi * 10)
    assert total(circle(10, 1, 20), 3000, machine()) == pytest.approx(length / 50 + 50 / accel, abs=1e-12)


def test_line_into_arc_is_smooth() -> None:
    line, bow = path([(10, -50, 0), (10, 0, 0)]), circle(10, 0.25)
    joined = Moves(*(np.concatenate([getattr(line, name), getattr(bow, name)]) for name in Moves.__dataclass_fields__))
    round_ = math.pi * 5
    assert total(joined, 3000, machine()) == pytest.approx((50 + round_) / 50 + 50 / 3000, abs=1e-9)


def test_slowest_axis_sets_the_pace() -> None:
    dynamics = Dynamics(rapid_mm_min=(36000, 36000, 24000), accel_mm_s2=(3000, 3000, 1000))
    slant = path([(0, 0, 0), (30, 0, -40)], MoveKind.RAPID)
    speed, accel = min(600 / 0.6, 400 / 0.8), min(3000 / 0.6, 1000 / 0.8)
    assert speed > math.sqrt(accel * 50)
    assert total(slant, math.nan, dynamics) == pytest.approx(2 * math.sqrt(50 / accel), abs=1e-12)
    assert total(path([(0, 0, 0), (30, 0, -40)]), 1e9, dynamics) == pytest.approx(2 * math.sqrt(50 / accel), abs=1e-12)


def test_dog_leg_is_done_when_the_slowest_axis_is() -> None:
    rates = {"rapid_mm_min": (36000, 36000, 24000), "accel_mm_s2": (3000, 3000, 3000)}
    step = path([(0, 0, 0), (300, 50, -100)], MoveKind.RAPID)
    x = 300 / 600 + 600 / 3000
    assert total(step, math.nan, Dynamics(**rates, rapid=RapidPath.DOG_LEG)) == pytest.approx(x, abs=1e-12)  # type: ignore[arg-type]
    only_z = path([(0, 0, 0), (0, 1, -100)], MoveKind.RAPID)
    z = 100 / 400 + 400 / 3000
    assert total(only_z, math.nan, Dynamics(**rates, rapid=RapidPath.DOG_LEG)) == pytest.approx(z, abs=1e-12)  # type: ignore[arg-type]


def test_rapids_stop_unless_the_control_blends_them() -> None:
    two = path([(0, 0, 0), (150, 0, 0), (300, 0, 0)], MoveKind.RAPID)
    assert total(two, math.nan, machine()) == pytest.approx(2 * (0.3 + 0.5 / 3), abs=1e-12)
    assert total(two, math.nan, machine(stop_at_rapids=False)) == pytest.approx(0.6 + 0.5 / 3, abs=1e-12)


@pytest.mark.parametrize("seen", [1, 2, 5])
def test_never_faster_than_it_can_stop_within_what_it_sees(seen: int) -> None:
    """Equal short motions in line: at every junction the speed is held to a stop within the motions seen."""
    length, count, accel = 0.1, 4000, 3000.0
    held = math.sqrt(2 * accel * length * seen)
    moves = path([(length * k, 0, 0) for k in range(count + 1)])
    found = time_along(moves, np.full(count, 30000.0), machine(look_ahead_blocks=seen))
    middle = found.end[3000] - found.end[1000]
    # between two junctions at the held speed there is room for a short rise and fall
    peak = math.sqrt(held**2 + accel * length)
    assert middle / 2000 == pytest.approx(2 * (peak - held) / accel, rel=1e-9)
    assert total(moves, 30000, machine(look_ahead_blocks=count)) == pytest.approx(400 / 500 + 500 / accel, rel=1e-9)


def test_block_time() -> None:
    moves = path([(0.01 * k, 0, 0) for k in range(2001)])
    taken = total(moves, 6000, machine(block_time_s=0.002))
    assert taken == pytest.approx(20 / 5 + 5 / 3000, rel=1e-9)


def test_pauses_stand_where_they_are_put() -> None:
    moves = path([(0, 0, 0), (50, 0, 0), (100, 0, 0)])
    whole = 50 / 100 + 100 / 3000
    found = time_along(moves, np.full(2, 6000.0), machine(), pauses=[Pause(0, 2.0), Pause(1, 0.5), Pause(1, 0.25), Pause(2, 4.0)])
    assert found.begin == pytest.approx([2.0, 2.75 + whole], abs=1e-12)
    assert found.end == pytest.approx([2.0 + whole, 2.75 + 2 * whole], abs=1e-12)
    assert found.total_s == pytest.approx(6.75 + 2 * whole, abs=1e-12)
    assert total(moves, 6000, machine(), pauses=[Pause(1, 0.0)]) == pytest.approx(2 * whole, abs=1e-12)


def test_motions_of_no_length_change_nothing() -> None:
    plain = path([(0, 0, 0), (50, 0, 0), (100, 0, 0)])
    dotted = path([(0, 0, 0), (0, 0, 0), (50, 0, 0), (50, 0, 0), (50, 0, 0), (100, 0, 0), (100, 0, 0)])
    assert total(dotted, 6000, machine()) == pytest.approx(total(plain, 6000, machine()), abs=1e-12)
    stops = np.array([False, False, True, False, False, False])
    assert total(dotted, 6000, machine(), exact_stop=stops) == pytest.approx(2 * (0.5 + 0.1 / 3), abs=1e-12)
    nothing = path([(1, 2, 3), (1, 2, 3)])
    assert total(nothing, 100, machine()) == 0.0
    assert time_along(plain[:0], np.empty(0), machine(), pauses=[Pause(0, 3.0)]).total_s == 3.0


@given(st.floats(0, 500), st.floats(0.001, 900), st.floats(100, 20000), st.floats(1000, 1e6))
def test_ramp(first: float, change: float, accel: float, jerk: float) -> None:
    whole = ramp_time(change, accel, jerk)
    length = (2 * first + change) / 2 * whole
    assert ramp_position(whole, first, change, accel, jerk) == pytest.approx(length, rel=1e-9)
    assert reachable_speed(first, length, accel, jerk) == pytest.approx(first + change, rel=1e-6)
    for share in (0.1, 0.5, 0.77):
        at = ramp_position(share * whole, first, change, accel, jerk)
        assert time_in_ramp(at, first, change, accel, jerk) == pytest.approx(share * whole, rel=1e-5, abs=1e-9)
    before, after = (ramp_position(whole * share, first, change, accel, jerk) for share in (0.4999, 0.5001))
    assert (after - before) / (whole * 0.0002) == pytest.approx(first + change / 2, rel=1e-3)


@pytest.mark.parametrize(("wrong", "said"), [
    ({"rapid_mm_min": (1000.0, 0.0, 1000.0)}, "rapid_mm_min.*for Y"),
    ({"accel_mm_s2": (math.nan, 1.0, 1.0)}, "accel_mm_s2.*for X"),
    ({"jerk_mm_s3": (1.0, 1.0, -5.0)}, "jerk_mm_s3.*for Z"),
    ({"junction_tolerance_mm": -0.1}, "junction_tolerance_mm"),
    ({"block_time_s": math.inf}, "block_time_s"),
    ({"look_ahead_blocks": 0}, "look_ahead_blocks"),
])  # fmt: skip
def test_impossible_machines_are_refused(wrong: dict[str, object], said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        Dynamics(**{"rapid_mm_min": (1.0, 1.0, 1.0), "accel_mm_s2": (1.0, 1.0, 1.0), **wrong})  # type: ignore[arg-type]


def test_impossible_programs_are_refused() -> None:
    moves = path([(0, 0, 0), (50, 0, 0)])
    for feed in (0.0, -5.0, math.nan, math.inf):
        with pytest.raises(InputRefused, match="motion 0 has no feed"):
            total(moves, feed, machine())
    with pytest.raises(InputRefused, match="2 feeds for 1 motion"):
        time_along(moves, np.ones(2), machine())
    with pytest.raises(InputRefused, match="not a number"):
        total(path([(0, 0, 0), (math.nan, 0, 0)]), 100, machine())
    for pause in (Pause(2, 1.0), Pause(-1, 1.0), Pause(0, -1.0), Pause(0, math.nan)):
        with pytest.raises(InputRefused, match="pause"):
            total(moves, 100, machine(), pauses=[pause])


def test_a_slow_motion_beside_a_fast_one_holds_the_speed_between_them() -> None:
    """In line, so that only the feeds matter: the fast motion begins, or ends, at the slow one's 10 mm/s."""
    moves, feeds, accel = path([(0, 0, 0), (10, 0, 0), (20, 0, 0)]), np.array([600.0, 6000.0]), 3000.0
    slow = 10 / accel + (10 - 10**2 / (2 * accel)) / 10
    up, down = (100 - 10) / accel, 100 / accel
    fast = up + down + (10 - (10 + 100) / 2 * up - 100 / 2 * down) / 100
    for order in (feeds, feeds[::-1].copy()):
        assert time_along(moves, order, machine(accel=accel)).total_s == pytest.approx(slow + fast, abs=1e-9)
