"""Flatness, ridges and angles of milled faces on a plate 100 x 50 x 20 with its top at Z0, by the formula of the tool's shape."""

import math

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape, MeshShape
from setwright.geometry.pieces import PieceTable
from setwright.model.finding import State
from setwright.model.requirement import Requirement
from setwright.prove.case import Feature
from setwright.prove.station import Proof
from setwright.removal.cut import cut
from setwright.removal.evenness import evenness
from setwright.removal.field import Field, field_of
from setwright.removal.regions import BoxRegion
from tests.prove.conftest import JOB, Proving, said
from tests.removal.common import ball, moves

BALL = JOB.replace("em10", "ball10")
BALL_TOOL = """name = "ball 10"
kind = "ball mill"
diameter = 10
flute_length = 22
length = 72
holder = [{ diameter = 32, length = 60 }]
"""
FLOOR = '[[setup.face]]\nname = "floor"\nflat = { facing = "+Z", at = [50, 25, -1], size = [20, 20] }\n'


def passes(step: float, z: str = "-1.", first: float = 5.0, last: float = 45.0) -> str:
    """Level passes along X, side by side."""
    rows = [f"G0 X-10. Y{first:.3f}", f"Z{z}"]
    for number in range(round((last - first) / step) + 1):
        rows.append(f"G1 Y{first + number * step:.4f} F800.")
        rows.append("X110." if number % 2 == 0 else "X-10.")
    return "\n".join(rows)


def feature(proof: Proof) -> Feature:
    one, = proof.features
    assert one.simulated is not None, one.why
    return one


def asked(kind: str, faces: str = FLOOR, job: str = JOB) -> str:
    return f'{job}\n{faces}\n[[setup.requirement]]\nname = "it"\n{kind}\n'


@pytest.mark.parametrize("kind", ["flatness", "cusp"])
@pytest.mark.parametrize("step", [1.0, 2.0])
def test_ball_passes_leave_ridges_as_high_as_their_formula(proving: Proving, kind: str, step: float) -> None:
    """R less the root of R squared less half a step squared; the rays 1 mm apart cannot tell, so the face is cut again."""
    one = feature(proving(passes(step), job=asked(f'{kind} = {{ of = "floor", within = 0.5 }}', job=BALL), balls=BALL_TOOL))
    exact = 5 - math.sqrt(25 - step**2 / 4)
    assert one.simulated is not None
    assert exact - one.bound_mm <= one.simulated <= exact + 1e-9
    assert one.bound_mm <= 0.05 + 1e-9
    assert one.state == "in"


def test_a_tighter_limit_is_measured_more_closely_and_decided(proving: Proving) -> None:
    exact = 5 - math.sqrt(25 - 1)
    for within, state in ((exact * 0.7, "out"), (exact * 1.3, "in")):
        proof = proving(passes(2.0), job=asked(f'cusp = {{ of = "floor", within = {within:.6f} }}', job=BALL), balls=BALL_TOOL)
        assert feature(proof).state == state
        assert bool(said(proof, "requirement-missed")) == (state == "out")


def test_too_near_its_limit_is_undecided(proving: Proving) -> None:
    exact = 5 - math.sqrt(25 - 1)
    proof = proving(passes(2.0), job=asked(f'cusp = {{ of = "floor", within = {exact * 1.001:.6f} }}', job=BALL), balls=BALL_TOOL)
    assert feature(proof).state == "undecided"
    finding, = said(proof, "requirement-missed")
    assert finding.state is State.UNDECIDED


def test_a_flat_tool_leaves_a_flat_floor(proving: Proving) -> None:
    one = feature(proving(passes(8.0), job=asked('flatness = { of = "floor", within = 0.01 }')))
    assert one.simulated == pytest.approx(0.0, abs=1e-9)
    assert one.bound_mm < 1e-6
    assert one.state == "in"


def test_a_step_between_two_passes_is_uneven_but_no_ridge(proving: Proving) -> None:
    step = passes(8.0, last=21.0) + "\nG0 Z5.\n" + passes(8.0, z="-1.03", first=29.0, last=45.0)
    one = feature(proving(step, job=asked('flatness = { of = "floor", within = 0.02 }')))
    assert one.simulated == pytest.approx(0.03, abs=1e-9)
    ridge = feature(proving(step, job=asked('cusp = { of = "floor", within = 0.02 }')))
    assert (ridge.simulated or 0.0) < one.simulated


RAMP = "G0 X-10. Y25.\nZ0.\nG1 X110. Z-{drop} F300."
TILTED = """[[setup.face]]
name = "floor"
slope = {{ facing = [{dx:.9f}, 0, {dz:.9f}], at = [50, 25, {z}], across = 6 }}
"""


@pytest.mark.parametrize("drop", [1.2, 12.0])
def test_a_ramp_lies_at_its_angle(proving: Proving, drop: float) -> None:
    """Along the middle of the way a flat tool leaves the line its rear rim draws: the ramp lies half a diameter's rise higher."""
    lean = math.atan2(drop, 120)
    faces = TILTED.format(dx=math.sin(lean), dz=math.cos(lean), z=-(drop / 2) * (60 / 60))
    job = asked(f'angle = {{ between = ["floor", "bottom"], is = {math.degrees(lean):.4f}, within = 0.2 }}', faces)
    one = feature(proving(RAMP.format(drop=drop), job=job))
    assert one.unit == "deg"
    assert one.simulated is not None
    assert abs(one.simulated - math.degrees(lean)) <= one.bound_mm
    assert one.size.nominal == pytest.approx(math.degrees(lean), abs=1e-4)


def test_a_square_corner_is_exact(proving: Proving) -> None:
    wall = '[[setup.face]]\nname = "wall"\nflat = { facing = "-Y", at = [50, 30, -2], size = [60, 2] }\n'
    floor = '[[setup.face]]\nname = "floor"\nflat = { facing = "+Z", at = [50, 25, -4], size = [60, 6] }\n'
    job = asked('angle = { between = ["wall", "floor"], is = 90, within = 0.01 }', wall + floor)
    one = feature(proving("G0 X-10. Y25.\nZ-4.\nG1 X110. F300.", job=job))
    assert one.simulated == pytest.approx(90.0, abs=1e-7)
    assert one.state == "in"


def test_an_obtuse_angle_is_told_from_its_supplement(proving: Proving) -> None:
    lean = math.atan2(12, 120)
    faces = TILTED.format(dx=math.sin(lean), dz=math.cos(lean), z=-6)
    job = asked(f'angle = {{ between = ["floor", "bottom"], is = {180 - math.degrees(lean):.4f}, within = 0.2 }}', faces)
    one = feature(proving(RAMP.format(drop=12.0), job=job))
    assert one.simulated == pytest.approx(180 - math.degrees(lean), abs=one.bound_mm)


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        ({"flatness": {"of": "a", "within": 0}}, "more than zero"),
        ({"flatness": {"of": "a", "within": 1}, "size": "1"}, "leave size away"),
        ({"flatness": {"of": "a", "within": 1}, "cusp": {"of": "a", "within": 1}}, "exactly one"),
        ({"angle": {"between": ["a", "b"], "is": 45}}, "within"),
    ],
)
def test_what_makes_no_sense_is_refused(bad: dict[str, object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        Requirement.model_validate({"name": "it"} | bad)


def test_a_bore_has_no_flatness(proving: Proving) -> None:
    bore = '[[setup.face]]\nname = "floor"\nbore = { centre = [50, 25], diameter = 10, from = 0, to = -4 }\n'
    proof = proving("G0 X50. Y25.\nZ2.\nG1 Z-5. F300.", job=asked('flatness = { of = "floor", within = 0.01 }', bore))
    assert proof.features[0].state == "undecided"
    assert "flat face is wanted" in proof.features[0].why


def test_every_part_of_a_pallet_is_measured(proving: Proving) -> None:
    """Two plates 60 apart along Y; the second one's floor is cut 0.2 deeper."""
    floor = FLOOR.replace("[20, 20]", "[20, 8]")  # as wide as the one pass
    job = asked('between = ["top", "floor"]\nsize = "1 +0.1/-0.1"', floor)
    job = job.replace("datum =", 'shifts = { G55 = [0, 60, 0] }\ndatum =')
    job = job.replace(', fixed_jaw = { against = "back" }', "")
    vise = 'name = "plate"\nplate = { size = [200, 200], thickness = 20 }\n'
    moves = "G0 X-10. Y25.\nZ-1.\nG1 X110. F300.\nG0 Z5.\nG55\nX-10. Y25.\nZ-1.2\nG1 X110."
    proof = proving(moves, job=job, vise=vise)
    first, second = proof.features
    assert (first.name, second.name) == ("it", "it (G55)")
    assert first.simulated == pytest.approx(1.0, abs=1e-9)
    assert second.simulated == pytest.approx(1.2, abs=1e-9)
    assert (first.state, second.state) == ("in", "out")
    finding, = said(proof, "requirement-missed")
    assert "it (G55)" in finding.text


# --- how even: closed forms ------------------------------------------------------------------------------------------
PITCHES = (0.1, 0.5, 1.0)
FACE = BoxRegion((2.0, 2.0, -3.0), (28.0, 22.0, 4.0))
"""Most of the top of a block 30 x 24."""


def steps(*boxes: tuple[float, float, float, float, float], pitch: float) -> Field:
    """A block made of upright ones: least and greatest X, least and greatest Y, height."""
    return field_of([BoxShape((x0, y0, -5.0), (x1, y1, top)) for x0, x1, y0, y1, top in boxes], pitch_mm=pitch)


def leaning(first: float, second: float, *, step_at: float, by: float, pitch: float) -> Field:
    """A block whose top rises by so much a millimetre along X and Y, and by `by` more beyond X `step_at`."""
    halves = []
    for x0, x1, up in ((0.0, step_at, 0.0), (step_at, 30.0, by)):
        corners = np.array([[x, y, -5.0] for y in (0.0, 24.0) for x in (x0, x1)])
        above = corners.copy()
        above[:, 2] = first * corners[:, 0] + second * corners[:, 1] + up
        p = np.concatenate([corners, above])
        quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
        halves.append(MeshShape(np.array([p[[a, b, c]] for q in quads for a, b, c in ((q[0], q[1], q[2]), (q[0], q[2], q[3]))])))
    return field_of(halves, pitch_mm=pitch)


UP = (0.0, 0.0, 1.0)


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("at", [4.0, 9.0, 15.0, 26.5])
def test_two_levels_are_as_uneven_as_they_are_apart(at: float, pitch: float) -> None:
    """0.2 apart: no tilt brings both sides of the step nearer together."""
    two = evenness(steps((0, at, 0, 24, 0.0), (at, 30, 0, 24, -0.2), pitch=pitch), FACE, facing=UP)
    assert two.flatness == pytest.approx(0.2, abs=1e-9)
    assert two.bound < 1e-6
    three = evenness(steps((0, at, 0, 24, 0.0), (at, 30, 0, 12, -0.2), (at, 30, 12, 24, 0.1), pitch=pitch), FACE, facing=UP)
    assert three.flatness == pytest.approx(0.3, abs=1e-9)


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize(("low", "high"), [((10, 8), (14, 12)), ((0, 0), (5, 5)), ((24, 0), (30, 24)), ((0, 11), (30, 13))])
def test_one_gouge_is_as_uneven_as_it_is_deep(low: tuple[int, int], high: tuple[int, int], pitch: float) -> None:
    """In the middle, at a corner, along a side, right across."""
    (a, b), (c, d) = low, high
    around = [(0, a, 0, 24), (c, 30, 0, 24), (a, c, 0, b), (a, c, d, 24)]
    boxes = [(*edges, 0.0) for edges in around if edges[0] < edges[1] and edges[2] < edges[3]]
    one = evenness(steps(*boxes, (a, c, b, d, -0.25), pitch=pitch), FACE, facing=UP)
    assert one.flatness == pytest.approx(0.25, abs=1e-9)


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("slope", [(0.0, 0.0), (0.03, 0.0), (-0.05, 0.02)])
def test_a_leaning_plane_is_flat_and_a_step_on_it_as_high_as_it_is_square_to_it(slope: tuple[float, float], pitch: float) -> None:
    plane = evenness(leaning(*slope, step_at=13.0, by=0.0, pitch=pitch), FACE, facing=UP)
    assert plane.flatness == pytest.approx(0.0, abs=1e-7)
    step = evenness(leaning(*slope, step_at=13.0, by=0.2, pitch=pitch), FACE, facing=UP)
    exact = 0.2 / math.sqrt(1.0 + slope[0] ** 2 + slope[1] ** 2)
    # a normal is kept to 1e-4, and that much tilt goes from ray to ray without being told from the plane's own
    assert step.flatness == pytest.approx(exact, abs=2e-4 * pitch + 1e-7)
    assert abs(step.flatness - exact) <= step.bound


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("middle", [(15.0, 12.0), (9.0, 12.0), (20.0, 4.0)])
def test_a_hollow_is_as_uneven_as_its_zone_is_wide(middle: tuple[float, float], pitch: float) -> None:
    """A ball of radius 300 sunk 1 mm at its lowest: z = 1 - R + root(R² - r²) turned over. Between the planes that touch it below
    and pass above through the corners lies the least zone; the hollow about its own middle is the sagitta of its corners, and any
    other stretch of a sphere as good as that of the chord, whose zone a plane through three corners shows."""
    ball_row = PieceTable.of([[ball(300.0)]])
    block = field_of(BoxShape((0.0, 0.0, -5.0), (30.0, 24.0, 2.0)), pitch_mm=pitch)
    at = (*middle, -1.0)
    hollow = cut(block, moves(("line", at, at)), ball_row).field
    found = evenness(hollow, FACE, facing=UP, sharpest_mm=300.0)
    # a paraboloid's zone is the same wherever its vertex lies: half the squared half-diagonal over the radius
    exact = (13.0**2 + 10.0**2) / (2 * 300.0)
    assert exact - found.bound <= found.flatness <= exact * 1.002


def test_a_floor_of_two_levels_is_in_where_the_limit_lets_them(proving: Proving) -> None:
    step = passes(8.0, last=21.0) + "\nG0 Z5.\n" + passes(8.0, z="-1.2", first=29.0, last=45.0)
    for within, state in ((0.19, "out"), (0.21, "in")):
        one = feature(proving(step, job=asked(f'flatness = {{ of = "floor", within = {within} }}')))
        assert (one.state, one.simulated) == (state, pytest.approx(0.2, abs=1e-9))
