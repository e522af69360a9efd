"""Cutter compensation: against constructions by hand, and against the offset of the contour as a shape."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.program.compensate import Element, offset_contour
from setwright.program.registers import Registers
from tests.program.compare import ends, good, read

R, L, A = "RAPID", "LINE", "ARC"
FIVE = Registers(radii={1: 5.0, 2: -5.0, 3: 30.0, 4: 0.0})


def test_square_outside_left_rounds_its_corners():
    text = "G21 G90 G1 F100. X-20. Y-10.\nG41 D1 X0.\nY40.\nX40.\nY0.\nX-10.\nG40 Y-20.\nM30"
    path = good(text, registers=FIVE)
    assert ends(path)[1:] == [
        (L, (-5, -10, 0)), (L, (-5, 40, 0)), (A, (0, 45, 0)), (L, (40, 45, 0)), (A, (45, 40, 0)), (L, (45, 0, 0)),
        (A, (40, -5, 0)), (L, (-10, -5, 0)),
        (L, (-10, -20, 0)),
    ]  # fmt: skip
    assert path.arc_centre.tolist() == [[0, 40, 0], [40, 40, 0], [40, 0, 0]]
    assert path.arc_sweep.tolist() == pytest.approx([-math.pi / 2] * 3)
    assert [path.states[i].compensation for i in path.state.tolist()] == ["", *["left"] * 8, ""]


def test_inside_corners_meet_and_a_negative_radius_changes_the_side():
    inside = "G21 G90 G1 F100. X10. Y10.\nG42 D1 X0. Y5.\nY40.\nX40.\nY0.\nG40 X20. Y10."
    assert ends(good(inside, registers=FIVE))[1:] == [(L, (5, 5, 0)), (L, (5, 35, 0)), (L, (35, 35, 0)), (L, (35, 0, 0)),
                                                      (L, (20, 10, 0))]
    assert ends(good(inside.replace("G42 D1", "G41 D2"), registers=FIVE)) == ends(good(inside, registers=FIVE))


def test_corners_by_lengthened_lines():
    text = "G21 G90 G1 F100. X-20. Y-10.\nG41 D1 X0.\nY40.\nX40.\nG40 Y60."
    assert ends(good(text, registers=FIVE, compensation_corner="intersection"))[1:4] == [(L, (-5, -10, 0)), (L, (-5, 45, 0)),
                                                                                         (L, (40, 45, 0))]


def test_arcs_inside_and_outside():
    text = "G21 G90 G1 F100. X-20. Y0.\nG41 D1 X0. Y0.\nY10.\nG2 X20. Y10. R10.\nG1 Y0.\nG40 X40."
    path = good(text, registers=FIVE)
    assert ends(path)[1:] == [(L, (-5, 0, 0)), (L, (-5, 10, 0)), (A, (25, 10, 0)), (L, (25, 0, 0)), (L, (40, 0, 0))]
    right = good(text.replace("G41", "G42"), registers=FIVE)
    assert ends(right)[1:] == [(L, (5, 0, 0)), (L, (5, 10, 0)), (A, (15, 10, 0)), (L, (15, 0, 0)), (L, (40, 0, 0))]


def test_moves_along_the_axis_keep_their_place_and_events_their_order():
    text = "G21 G90 G1 F100. X-20. Y0.\nG41 D1 X0.\nY40.\nZ-3. M8\nM9\nX40.\nG40 Y60."
    path = good(text, registers=FIVE)
    assert ends(path)[3:6] == [(L, (-5, 40, -3)), (A, (0, 45, -3)), (L, (40, 45, -3))]
    assert [(e.kind, e.before) for e in path.events] == [("coolant", 3), ("coolant", 4)]


def test_radius_zero_and_registers_not_known_leave_the_path_as_written():
    text = "G21 G90 G1 F100. X-20. Y0.\nG41 D4 X0.\nY40.\nX40.\nG40 Y60."
    written = [(L, (-20, 0, 0)), (L, (0, 0, 0)), (L, (0, 40, 0)), (L, (40, 40, 0)), (L, (40, 60, 0))]
    assert ends(good(text, registers=FIVE)) == written
    assert ends(good(text.replace("D4", "D9"))) == written


@pytest.mark.parametrize(("text", "slug"), [
    ("G1 X-20. Y0.\nG41 D1 X0.\nY10.\nG3 X-6. Y10. R3.\nG1 Y0.\nG40 X-9.", "radius too large for an arc"),
    ("G1 X-20. Y0.\nG41 D1 X0.\nY10.\nX-4.\nY30.\nG40 X-20.", "radius too large for a corner"),
    ("G1 X-3. Y0.\nG41 D1 X0. Y0.\nY40.\nG40 X-20.", "lead-in shorter than the radius"),
    ("G1 X-20. Y0.\nG41 D1 X0.\nY40.\nG28 Z0.\nG40", "compensation interrupted"),
])  # fmt: skip
def test_remarks(text, slug):
    result = read(f"G21 G90 F100. {text}", registers=FIVE)
    assert slug in {remark.slug for remark in result.remarks}
    assert np.isfinite(result.path.end).all()
    assert np.array_equal(result.path.start[1:], result.path.end[:-1])


def test_what_is_noticed_is_told_in_the_unit_the_program_is_written_in():
    """The radius register holds 5 mm; the lead-in is 0.1 in long."""
    result = read("G20 G90 F10. G1 X-0.1 Y0.\nG41 D1 X0. Y0.\nY4.\nG40 X-1.", registers=FIVE)
    texts = [remark.text for remark in result.remarks if remark.slug == "lead-in shorter than the radius"]
    assert texts == ["The lead-in of 0.1000 in is shorter than the tool radius 0.1969 in."]


def test_beginning_on_an_arc_is_refused():
    result = read("G21 G90 G1 F100. X-20. Y0.\nG41 D1\nG2 X0. Y0. R10.\nG1 Y10.\nG40 X-20.", registers=FIVE)
    assert "begins on an arc" in result.problems[0].what


def test_rotated_contour_has_the_rotated_offset():
    text = "G21 G90 {0}G1 F100. X-20. Y-10.\nG41 D1 X0.\nY40.\nG2 X20. Y40. R10.\nG1 X40.\nY0.\nG40 X60."
    straight, turned = good(text.format(""), registers=FIVE), good(text.format("G68 X3. Y4. R30.\n"), registers=FIVE)
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    expected = np.array([3, 4]) + (straight.end[:, :2] - [3, 4]) @ np.array([[c, s], [-s, c]])
    assert np.abs(turned.end[:, :2] - expected).max() < 1e-9


def test_mirrored_contour_has_the_mirrored_offset():
    text = "G21 G90 {0}G1 F100. X-20. Y-10.\nG41 D1 X0.\nY40.\nG2 X20. Y40. R10.\nG1 X40.\nY0.\nG40 X60."
    straight, mirrored = good(text.format(""), registers=FIVE), good(text.format("G51.1 X100.\n"), registers=FIVE)
    assert np.abs(mirrored.end - (straight.end * [-1, 1, 1] + [200, 0, 0])).max() < 1e-9
    assert np.abs(mirrored.arc_sweep + straight.arc_sweep).max() < 1e-9


def sample(element, step=0.7):
    """Points along an element."""
    if element.centre is None:
        count = max(2, int(math.dist(element.start, element.end) / step))
        t = np.linspace(0, 1, count)[:, None]
        return np.array(element.start) * (1 - t) + np.array(element.end) * t
    radius = math.dist(element.start, element.centre)
    begin = math.atan2(element.start[1] - element.centre[1], element.start[0] - element.centre[0])
    angles = begin + np.linspace(0, element.sweep, max(2, int(radius * abs(element.sweep) / step)))
    return np.array(element.centre) + radius * np.stack([np.cos(angles), np.sin(angles)], 1)


@st.composite
def convex_contours(draw):
    """A closed convex polygon, some corners rounded by tangent arcs, anticlockwise."""
    count = draw(st.integers(3, 8))
    angles = np.sort(draw(st.lists(st.floats(0, 6.2), min_size=count, max_size=count, unique_by=lambda v: round(v, 1))))
    radius = draw(st.floats(20, 60))
    points = [(radius * math.cos(a), radius * math.sin(a)) for a in angles]
    if shapely.Polygon(points).area < 100 or min(math.dist(points[i], points[i - 1]) for i in range(count)) < 4:
        points = [(-30.0, -20.0), (30.0, -20.0), (30.0, 20.0), (-30.0, 20.0)]
    return points, draw(st.floats(0.5, 6.0))


@settings(max_examples=250)
@given(convex_contours())
def test_outside_offset_is_the_rim_of_the_grown_shape(case):
    points, radius = case
    closed = [*points, points[0]]
    elements = [Element(a, b) for a, b in pairwise(closed)]
    contour = offset_contour(elements, radius, left=False)
    assert not contour.cramped
    assert not contour.tight
    rim = shapely.Polygon(points).buffer(radius, quad_segs=400).exterior
    path = [sample(corner) for corner in contour.corners if corner] + [sample(element) for element in contour.elements]
    distance = shapely.distance(shapely.points(np.concatenate(path)), rim)
    assert distance.max() < 2e-5


@settings(max_examples=250)
@given(convex_contours())
def test_inside_offset_is_the_rim_of_the_shrunk_shape_or_is_reported(case):
    points, radius = case
    closed = [*points, points[0], points[1]]
    elements = [Element(a, b) for a, b in pairwise(closed)]
    contour = offset_contour(elements, radius, left=True)
    shape = shapely.Polygon(points).buffer(-radius, join_style="mitre")
    if shape.is_empty or len(shape.exterior.coords) != len(points) + 1:
        return  # an element vanishes altogether, or neighbours two apart meet: more than corners decide
    assert not contour.cramped
    inner = np.concatenate([sample(element) for element in contour.elements[1:-1]])
    distance = shapely.distance(shapely.points(inner), shapely.Polygon(points).exterior)
    assert np.abs(distance - radius).max() < 1e-9
    assert all(corner is None for corner in contour.corners)


@given(st.floats(8, 40), st.floats(0.5, 7.5), st.booleans(), st.floats(0.3, 6.0))
def test_offset_of_an_arc_is_the_concentric_arc(size, radius, left, sweep):
    start = (size, 0.0)
    end = (size * math.cos(sweep), size * math.sin(sweep))
    contour = offset_contour([Element(start, end, (0.0, 0.0), sweep)], radius, left=left)
    moved = contour.elements[0]
    wanted = size - radius if left else size + radius
    assert math.hypot(*moved.start) == pytest.approx(wanted)
    assert math.hypot(*moved.end) == pytest.approx(wanted)
    assert moved.sweep == pytest.approx(sweep)


def test_an_inside_arc_of_just_the_tools_radius_before_an_inside_corner_is_said_not_to_fit():
    """The centre stands still in such an arc; what stands for it has no direction to meet the next arc with."""
    quarter = Element((5.0, 0.0), (0.0, 5.0), (0.0, 0.0), math.pi / 2)
    angle = math.pi + 0.5
    after = Element((0.0, 5.0), (20.0 + 20.0 * math.cos(angle), 5.0 + 20.0 * math.sin(angle)), (20.0, 5.0), 0.5)
    contour = offset_contour([quarter, after], 5.0, left=True)
    assert contour.tight == [0]
    assert contour.cramped == [1]
