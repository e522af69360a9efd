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
