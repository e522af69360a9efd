"""Flatness, ridges and angles of milled faces on a plate 100 x 50 x 20 with its top at Z0, by the formula of the tool's shape."""

import math

import pytest

from setwright.model.finding import State
from setwright.model.requirement import Requirement
from setwright.prove.case import Feature
from setwright.prove.station import Proof
from tests.prove.conftest import JOB, Proving, said

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
    # about the plane of least squares a step of 0.03 is more even than 0.03 and more uneven than half of it
    assert 0.015 < (one.simulated or 0.0) <= 0.03
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
