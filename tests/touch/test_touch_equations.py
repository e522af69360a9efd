"""The equations of the contacts: derivatives against the complex step, closed forms, uncertainty against drawing."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.estimate.distribution import Normal, Rectangular
from setwright.touch.equations import Equations, Kind, Row, rotation
from setwright.touch.solution import solve
from setwright.touch.unknowns import POSE, Unknown, Unknowns


def table(*extra: Unknown, tilt: bool = False) -> Unknowns:
    unknowns = Unknowns()
    for name in POSE[: 6 if tilt else 4]:
        wide = 0.01 if "t" in name or name == "angle" else 500.0
        unknowns.add(Unknown(name, 0.0, Normal(0.0, wide), name, "the kit"))
    for unknown in extra:
        unknowns.add(unknown)
    return unknowns


def plane(normal, offset, point, *, u=0.003, **more):
    noise = (("finder", Normal(0.0, u)),)
    return Row(kind=Kind.PLANE, label="face", point=point, normal=normal, offset=offset, noise=noise, **more)


def some_rows() -> list[Row]:
    return [
        plane((-1, 0, 0), 62 + 5, (-367.0, 11.0, -3.0), shift=(("backlash", (-1.0, 0.0, 0.0)),), direct=(("tip", -1.0),)),
        plane((0, 1, 0), 42 + 5, (-290.0, 49.0, -2.0), carry=(("scale", (0.0, -42.0, 0.0)),)),
        plane((0, 0, 1), 1.0, (-310.0, 4.0, 151.0), shift=(("length", (0.0, 0.0, -1.0)),)),
        Row(kind=Kind.ROUND, label="bore", point=(-290.0, 3.0, 2.0), centre=(1.0, -2.0, 0.0), offset=10.0, direct=(("tip", 1.0),)),
        Row(kind=Kind.MIDDLE, label="swept", point=(-300.0, 2.0, 1.0), normal=(0, 1, 0), centre=(3.0, 4.0, 0.0)),
        Row(kind=Kind.LINEAR, label="setter", offset=20.0, direct=(("length", -1.0),)),
    ]


def test_derivatives_are_those_of_the_complex_step():
    extra = [Unknown(name, 0.0, Normal(0.0, 1.0), name) for name in ("tip", "backlash", "scale", "length")]
    unknowns = table(*extra, tilt=True)
    equations = Equations.of(some_rows(), unknowns)
    rng = np.random.default_rng(1)
    for _ in range(20):
        x = np.concatenate([rng.normal(size=3) * 5 + [-300, 2, 0], rng.normal(size=3) * 0.2, rng.normal(size=4)])
        _, jacobian = equations(x)
        for j in range(x.size):
            step = np.zeros(x.size, complex)
            step[j] = 1e-30j
            column = equations(x + step)[0].imag / 1e-30
            np.testing.assert_allclose(jacobian[:, j], column, rtol=1e-12, atol=1e-12)


def test_rotation_is_proper_and_turns_the_right_way():
    turn, *_ = rotation(0.3, 0.2, -0.1)
    np.testing.assert_allclose(turn @ turn.T, np.eye(3), atol=1e-15)
    assert np.linalg.det(turn) == pytest.approx(1.0)
    np.testing.assert_allclose(rotation(math.pi / 2, 0.0, 0.0)[0] @ [1, 0, 0], [0, 1, 0], atol=1e-15)
    np.testing.assert_allclose(rotation(0.0, math.pi / 2, 0.0)[0] @ [0, 1, 0], [0, 0, 1], atol=1e-15)
    np.testing.assert_allclose(rotation(0.0, 0.0, math.pi / 2)[0] @ [0, 0, 1], [1, 0, 0], atol=1e-15)


def test_corner_touched_once_on_each_face():
    """Left face at W -62 touched at M -367 with a 10 mm tip: the axis stands 5 before the face, so zero is at -300."""
    rows = [plane((-1, 0, 0), 62 + 5, (-367.0, 0.0, 0.0)), plane((0, -1, 0), 42 + 5, (0.0, -257.0, 0.0))]
    got = solve(rows, table())
    assert got.value("x") == pytest.approx(-300.0, abs=0.2)
    flat = solve(rows, Unknowns([Unknown("x", 0.0, None, "x"), Unknown("y", 0.0, None, "y")], {"x": 0, "y": 1}))
    assert (flat.value("x"), flat.value("y")) == (pytest.approx(-300.0), pytest.approx(-210.0))
    estimate = flat.estimate({"x": 1.0})
    assert estimate.standard == pytest.approx(0.003)
    assert estimate.k == pytest.approx(1.95996, abs=1e-4)


def test_common_tip_error_cancels_in_the_middle_and_adds_at_one_face():
    tip = Unknown("tip", 0.0, Normal(0.0, 0.01), "tip size")
    x = Unknown("x", 0.0, None, "x")
    left = plane((-1, 0, 0), 55.0, (-355.0, 0.0, 0.0), direct=(("tip", -1.0),))
    right = plane((1, 0, 0), 55.0, (-245.0, 0.0, 0.0), direct=(("tip", -1.0),))
    middle = solve([left, right], Unknowns([x, tip], {"x": 0, "tip": 1})).estimate({"x": 1.0})
    one = solve([left], Unknowns([x, tip], {"x": 0, "tip": 1})).estimate({"x": 1.0})
    assert middle.value == pytest.approx(-300.0)
    assert middle.standard == pytest.approx(0.003 / math.sqrt(2))
    assert one.standard == pytest.approx(math.hypot(0.003, 0.01))
    assert one.contributions[0].source == "tip size"
    assert one.contributions[0].standard == pytest.approx(0.01)


@pytest.mark.parametrize("count", [3, 4, 8])
def test_bore_touched_evenly_has_the_closed_form_uncertainty(count):
    angles = 2 * np.pi * (np.arange(count) + 0.2) / count
    rows = [Row(kind=Kind.ROUND, label="bore", point=(-300 + 10 * math.cos(a), 50 + 10 * math.sin(a), 0.0), offset=10.0,
                direct=(("size", -1.0),), noise=(("finder", Normal(0.0, 0.003)),)) for a in angles]  # fmt: skip
    starts = {"x": -299.0, "y": 49.0, "size": 0.0}
    got = solve(rows, Unknowns([Unknown(n, at, None, "") for n, at in starts.items()], {n: i for i, n in enumerate(starts)}))
    assert (got.value("x"), got.value("y")) == (pytest.approx(-300.0), pytest.approx(50.0))
    assert got.estimate({"y": 1.0}).standard == pytest.approx(0.003 * math.sqrt(2 / count))


def test_angle_from_two_contacts_of_one_face():
    rows = [plane((0, 1, 0), 0.0, (-50.0, 0.1, 0.0)), plane((0, 1, 0), 0.0, (50.0, -0.1, 0.0))]
    got = solve(rows, Unknowns([Unknown("y", 0.0, None, ""), Unknown("angle", 0.0, None, "")], {"y": 0, "angle": 1}))
    assert got.value("angle") == pytest.approx(-math.atan(0.002), rel=1e-12)
    assert got.estimate({"angle": 1.0}).standard == pytest.approx(math.sqrt(2) * 0.003 / 100.0, rel=1e-4)


def test_what_rests_on_the_kit_is_named():
    got = solve([plane((-1, 0, 0), 55.0, (-355.0, 0.0, 0.0))], table())
    assert got.rests_on({"x": 1.0}) == ""
    assert got.rests_on({"angle": 1.0}) == "the kit"
    assert got.rests_on({"y": 1.0}) == "the kit"


def test_budget_adds_up_and_matches_drawing():
    tip = Unknown("tip", 0.0, Rectangular(0.0, 0.006), "tip size")
    noise = (("finder", Normal(0.0, 0.002)), ("step", Rectangular(0.0, 0.005)))
    row = Row(kind=Kind.PLANE, label="left", point=(-355.0, 0.0, 0.0), normal=(-1, 0, 0), offset=55.0, direct=(("tip", -1.0),),
              noise=noise)  # fmt: skip
    got = solve([row, row], Unknowns([Unknown("x", 0.0, None, "x"), tip], {"x": 0, "tip": 1})).estimate({"x": 1.0})
    assert math.fsum(c.standard**2 for c in got.contributions) == pytest.approx(got.standard**2)
    assert math.fsum(c.share for c in got.contributions) == pytest.approx(1.0)
    rng = np.random.default_rng(2)
    step = rng.uniform(-0.005, 0.005, (2, 1_000_000)).mean(axis=0)
    drawn = rng.normal(0, 0.002 / math.sqrt(2), 1_000_000) + step + rng.uniform(-0.006, 0.006, 1_000_000)
    assert got.expanded == pytest.approx(float(np.quantile(np.abs(drawn), 0.95)), rel=3e-3)
