"""Faces the program should make and does not, on a plate 100 x 50 whose top is at Z0 unless the blank is said to be higher."""

import pytest

from setwright.model.finding import Signal, State
from setwright.prove.station import prove
from setwright.prove.verdict import verdict
from tests.prove.conftest import JOB, Proving, said

SLUG = "face-not-made"
ACROSS = "G0 X-10. Y25.\nZ{z}\nG1 X110. F300."


def with_face(face: str, job: str = JOB) -> str:
    return job + f"[[setup.face]]\nname = \"it\"\n{face}\n"


def flat(z: float) -> str:
    return f'flat = {{ facing = "+Z", at = [50, 25, {z}], size = [60, 6] }}'


def test_a_face_that_is_cut_is_not_spoken_of(proving: Proving) -> None:
    assert said(proving(ACROSS.format(z="-1."), job=with_face(flat(-1.0))), SLUG) == []


def test_a_blank_too_small_leaves_the_face_in_the_air(proving: Proving) -> None:
    """The cut runs at Z1.5, the blank ends at Z1."""
    higher = JOB.replace("corner = [0, 0, -20]", "corner = [0, 0, -19]")
    finding, = said(proving(ACROSS.format(z="1.5"), job=with_face(flat(1.5), higher)), SLUG)
    assert (finding.signal, finding.setup) == (Signal.WARNING, "first side")
    assert finding.value == pytest.approx(0.5, abs=1e-9)
    assert "0.500 mm too small" in finding.text


def test_a_face_that_no_line_cuts(proving: Proving) -> None:
    finding, = said(proving("G0 X-10. Y25.", job=with_face(flat(0.0))), SLUG)
    assert (finding.signal, finding.value) == (Signal.WARNING, None)
    assert said(proving("G0 X-10. Y25.", job=with_face(flat(0.0) + "\nmade = false")), SLUG) == []


SIZE = '[[setup.requirement]]\nname = "size"\n{kind}\nsize = "{size} ±0.1"\n'
OUT = SIZE.format(kind='between = ["top", "it"]', size=8)
BORE = "bore = { centre = [50, 25], diameter = 10, from = 0, to = -6 }"


@pytest.mark.parametrize(
    ("moves", "face", "requirement", "why"),
    [("G0 X-10. Y25.", flat(-8.0), OUT, "metal stands there"), (ACROSS.format(z="-12."), flat(-8.0), OUT, "there is no metal"),
     ("G0 X50. Y25.", BORE, SIZE.format(kind='diameter = "it"', size=10), "metal stands there"),
     ("G0 X50. Y25.\nZ5.\nG1 Z-6. F300.\nX44.\nG2 I6.\nG1 X50.", BORE, SIZE.format(kind='diameter = "it"', size=10),
      "there is no metal")],
)  # fmt: skip
def test_a_face_that_is_not_there_is_not_made_and_its_size_out(
    proving: Proving, moves: str, face: str, requirement: str, why: str
) -> None:
    """8 mm of metal in front of the floor, 4 mm below it, a bore never drilled, and one milled 22 mm wide instead of 10."""
    proof = proving(moves, job=with_face(face) + requirement)
    unmade, = said(proof, SLUG)
    missed, = said(proof, "requirement-missed")
    assert {(one.signal, one.state) for one in (unmade, missed)} == {(Signal.WARNING, State.FOUND)}
    assert unmade.text.endswith(why)
    assert missed.text.endswith(why)
    assert [feature.state for feature in proof.features] == ["out"]
    assert verdict(proof).text.startswith(f"Nothing hits, but WARNING: {unmade.text}")


def test_a_face_that_leans_where_it_should_lie_flat_is_undecided(proving: Proving) -> None:
    """The floor falls by 4 mm in 5, at X50 to Z-5 behind a cutter of radius 5: no ray of the stated extent ends on metal that faces
    straight up, and all of it lies within 2 mm of its place, neither proud nor gone."""
    face = 'flat = { facing = "+Z", at = [50, 25, -5], size = [2, 2] }'
    job = with_face(face) + SIZE.format(kind='between = ["top", "it"]', size=5)
    proof = proving("G0 X40. Y25.\nZ7.\nG1 X65. Z-13. F300.", job=job)
    assert [one.state for one in said(proof, SLUG)] == [State.UNDECIDED]
    assert [feature.state for feature in proof.features] == ["undecided"]


def test_a_bore_that_is_cut(proving: Proving) -> None:
    assert said(proving("G0 X50. Y25.\nZ5.\nG1 Z-6. F300.", job=with_face(BORE)), SLUG) == []


def test_part_of_a_program_is_not_blamed_for_what_comes_later(proving: Proving) -> None:
    proof = proving(ACROSS.format(z="-1."), job=with_face(flat(-1.0)))
    early = prove(proof.kit, proof.truth, pitch_mm=1.0, until=("plate.nc", 7))
    assert early.case.unmade
    assert said(early, SLUG) == []


# --- zero on a face that is not there --------------------------------------------------------------------------------
NOT_THERE = "datum-not-there"
HIGHER = JOB.replace("box = [100, 50, 20]", "box = [100, 50, 20.5]")  # its top at Z0.5
TOP = '[[setup.face]]\nname = "finished"\nflat = { facing = "+Z", at = [50, 25, 0], size = [100, 50] }\n'
FACING = "G0 X-10. Y0.\nZ5.\n" + "\n".join(f"G0 X-10. Y{y}.\nG1 Z0. F300.\nX110.\nG0 Z5." for y in range(0, 57, 8))


def zero_on(face: str, at: float = 0.0, job: str = HIGHER) -> str:
    return job.replace('z = { face = "top" }', f'z = {{ face = "{face}", is = {at} }}')


def test_zero_on_a_face_that_this_program_makes(proving: Proving) -> None:
    """The raw top lies 0.5 above it, and the tip meets that. The pass at Y8, line 15, makes the first strip 8 mm wide."""
    finding, = said(proving(FACING, job=zero_on("finished") + TOP), NOT_THERE)
    assert (finding.signal, finding.file, finding.value) == (Signal.WARNING, "job.toml", pytest.approx(0.5, abs=1e-9))
    assert 'face = "finished"' in finding.excerpt
    assert finding.text.startswith("zero in Z is to be taken from face “finished”, which the blank does not have")
    assert "0.500 mm of metal stands over it, and line 15 of plate.nc makes it" in finding.text
    higher = said(proving("G0 X0. Y0.", job=zero_on("finished") + TOP.replace("25, 0]", "25, 1]")), NOT_THERE)
    assert "0.500 mm of metal is missing before it" in higher[0].text


@pytest.mark.parametrize(
    ("job", "moves"),
    [(zero_on("top", 0.5), FACING), (zero_on("raw", 0.5) + TOP.replace("finished", "raw").replace("25, 0]", "25, 0.5]"), FACING),
     (zero_on("raw", 0.5) + TOP.replace("finished", "raw").replace("25, 0]", "25, 0.5]") + "made = false\n", FACING),
     (zero_on("finished", job=JOB) + TOP, "G0 X0. Y0.")],
    ids=["raw top then faced", "stated raw top", "stated as there", "flush"],
)  # fmt: skip
def test_zero_on_a_face_that_is_there(proving: Proving, job: str, moves: str) -> None:
    assert said(proving(moves, job=job), NOT_THERE) == []


def test_zero_on_a_bore_that_is_drilled_later(proving: Proving) -> None:
    bore = f'[[setup.face]]\nname = "bore"\n{BORE}\n'
    on_bore = JOB.replace('x = "left", y = "front"', 'x = "bore", y = "bore"')
    finding, = said(proving("G0 X50. Y25.\nZ5.\nG1 Z-6. F300.", job=on_bore + bore), NOT_THERE)
    assert finding.text.startswith("zero in X and Y is to be taken from face “bore”")
    assert "line 9 of plate.nc makes it" in finding.text
    assert "nothing like it lies within 2 mm of its place" in finding.text
    assert said(proving("G0 X0. Y0.", job=on_bore + bore + "made = false\n"), NOT_THERE) == []  # stated as there
