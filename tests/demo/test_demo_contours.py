"""The programs' contours against the drawings: where the edge of the cutter really goes, by the circle and the line."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.program.path import MoveKind
from tests.demo.bundled import run

INCH = 25.4


def circles(job: str, setup: str, tool: int) -> set[tuple[float, float, float]]:
    """Every full circle about the part's middle that a tool runs: radius of its centre line, Z, turns (+ counter-clockwise)."""
    path = run(job, setup).path
    found = set()
    for row in np.flatnonzero(path.kind == MoveKind.ARC).tolist():
        arc = int(path.arc[row])
        if path.states[path.state[row]].tool == tool and abs(path.arc_sweep[arc]) > 2 * math.pi - 0.001:
            assert path.arc_centre[arc, :2] == pytest.approx([0, 0], abs=1e-9)
            radius = math.dist(path.start[row, :2], path.arc_centre[arc, :2])
            found.add((round(radius, 6), round(float(path.start[row, 2]), 6), round(path.arc_sweep[arc] / math.tau, 6)))
    return found


def test_cap_bores_are_milled_to_the_middle_of_their_limits() -> None:
    seat = (26.0075 - 7.995, -12.515, 1.0)  # 52 +0.030/0 by 12.50 +0.03/0, measured end mill radius 7.995
    rough = {(17.7, z, 1.0) for z in (-4.1, -8.2, -12.3)}
    assert circles("bearing-cap", "first side", 2) == {*rough, _rounded(seat)}
    seal = (21.01 - 7.995, -7.0, 1.0)  # 42 +0.039/0 by 7
    assert circles("bearing-cap", "second side", 2) == {(12.7, -3.4, 1.0), (12.7, -6.8, 1.0), _rounded(seal)}


def test_chamfers_are_as_wide_as_drawn() -> None:
    """The cone's radius at the edge's height, plus that of the centre line, is the bore's radius plus the chamfer."""
    for job, setup, tool, bore, chamfer, edge, tip in (
        ("bearing-cap", "first side", 4, 26.0075, 0.5, 0.0, 0.0),
        ("bearing-cap", "second side", 4, 21.01, 0.5, 0.0, 0.0),
        ("spacers", "pallet", 4, 8.0065, 0.4, 20.0, 1.0),
    ):
        ((radius, z, turns),) = circles(job, setup, tool)
        assert radius + tip + (edge - z) == pytest.approx(bore + chamfer, abs=1e-6)
        assert radius + tip < bore, "the tip stays clear of the wall"
        assert turns == 1.0


def test_pintle_recess_and_spacer_bore() -> None:
    z = -0.062 * INCH
    assert circles("pintle", "top", 4) == {_rounded((0.35 * INCH, z, 1.0)), _rounded(((0.62625 - 0.2498) * INCH, z, 1.0))}
    assert circles("spacers", "pallet", 3) == {_rounded((8.0065 - 4.996, -0.5, 1.0))}


def _rounded(circle: tuple[float, float, float]) -> tuple[float, float, float]:
    radius, z, turns = circle
    return round(radius, 6), round(z, 6), round(turns, 6)


def test_pintle_waists_are_the_drawn_arcs() -> None:
    """Radius 1.25 about (0, ±2.0): the cutter's centre runs 1.25 - 0.2498 from there, at both depths, material on its right."""
    path = run("pintle", "top").path
    found = set()
    for row in np.flatnonzero(path.kind == MoveKind.ARC).tolist():
        arc = int(path.arc[row])
        x, y = (path.arc_centre[arc, :2] / INCH).tolist()
        if abs(y) > 1:
            assert path.arc_sweep[arc] > 0
            radius, z = math.dist(path.start[row, :2], path.arc_centre[arc, :2]) / INCH, path.start[row, 2] / INCH
            found.add((round(x, 9) + 0.0, round(y, 9), round(radius, 9), round(z, 9)))
    assert found == {(0.0, y, 1.0002, z) for y in (-2.0, 2.0) for z in (-0.2, -0.4)}
    assert math.hypot(0.75, 2.0 - 1.0) == 1.25  # the arc meets the bar's edge at x = 0.75
    assert 2.0 - 1.25 == 0.75  # half the waist's width


def _lines(job: str, setup: str, tool: int, z: float) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    path = run(job, setup).path
    chosen = [
        row for row in np.flatnonzero(path.kind == MoveKind.LINE).tolist()
        if path.states[path.state[row]].tool == tool and path.start[row, 2] == path.end[row, 2] == pytest.approx(z, abs=1e-9)
    ]  # fmt: skip
    return [(tuple(path.start[row, :2].tolist()), tuple(path.end[row, :2].tolist())) for row in chosen]


def test_cap_step_is_118_by_78() -> None:
    """The four straight flanks one measured radius outside ±59 and ±39, each as long as between the R12 corners."""
    flanks = _lines("bearing-cap", "first side", 2, -10.0)
    out = 7.995
    for fixed, at, reach in ((1, 39 + out, 47), (1, -39 - out, 47), (0, 59 + out, 27)):
        ends = {round(v, 6) for a, b in flanks for v in (a[1 - fixed], b[1 - fixed]) if a[fixed] == b[fixed] == pytest.approx(at)}
        assert ends == {reach, -reach}
    left = {round(v, 6) for a, b in flanks for v in (a[1], b[1]) if a[0] == b[0] == pytest.approx(-59 - out)}
    assert left == {-27, 0, 27}


def test_cap_slot_is_20_wide() -> None:
    runs = _lines("bearing-cap", "first side", 2, -5.0)
    walls = {round(a[1], 6) for a, b in runs if a[1] == pytest.approx(b[1]) and abs(a[1]) > 1}
    assert walls == {round(10.0125 - 7.995, 6), -round(10.0125 - 7.995, 6)}


@pytest.mark.parametrize(("job", "setup", "tool", "holes", "bottom"), [
    ("bearing-cap", "first side", 4, {(x, y) for x in (-46, 46) for y in (-26, 26)}, -4.0),
    ("bearing-cap", "first side", 5, {(x, y) for x in (-46, 46) for y in (-26, 26)}, -32.5),
    ("bearing-cap", "first side", 3, {(0, 0)}, -32.0),
    ("bearing-cap", "second side", 4, {(x, y) for x in (-46, 46) for y in (-26, 26)}, -4.0),
    ("pintle", "top", 1, {(x * INCH, y * INCH) for x in (-2.7, -1.3, 1.3, 2.7) for y in (-0.5, 0.5)}, -0.2761 * INCH),
    ("pintle", "top", 2, {(x * INCH, y * INCH) for x in (-2.7, -1.3, 1.3, 2.7) for y in (-0.5, 0.5)}, -0.5 * INCH),
    ("pintle", "top", 3, {(0, 0)}, -0.55 * INCH),
    ("pintle", "top", 5, {(0, 0)}, -0.5 * INCH),
    ("spacers", "pallet", 2, {(0, 0)}, -5.0),
])  # fmt: skip
def test_holes_are_where_and_as_deep_as_drawn(
    job: str, setup: str, tool: int, holes: set[tuple[float, float]], bottom: float
) -> None:
    path = run(job, setup).path
    of_tool = np.array([path.states[state].tool == tool for state in path.state])
    down = of_tool & (path.kind == MoveKind.LINE) & (np.abs(path.end[:, 2] - bottom) < 1e-9)
    found = {(round(x, 6), round(y, 6)) for x, y in path.end[down, :2].tolist()}
    assert found == {(round(x, 6), round(y, 6)) for x, y in holes}


def test_depths_give_what_the_drawing_asks_of_points() -> None:
    """Points of 118° are 0.3004 of the diameter long; a countersink of angle a is as deep as its radius over tan(a/2)."""
    point = 0.5 / math.tan(math.radians(59))
    assert 32.5 - 6.8 * point > 30.0  # full diameter beyond the finished underside of the cap
    assert 5.0 - 14 * point > 0.5  # and half a millimetre under the spacer
    assert 0.5 - 0.266 * point > 0.375
    assert 0.55 - 0.4844 * point > 0.375
    assert 2 * 0.2761 * math.tan(math.radians(41)) == pytest.approx(0.480, abs=0.0005)
    assert 2 * 4.0 * math.tan(math.radians(45)) == pytest.approx(8.0)
