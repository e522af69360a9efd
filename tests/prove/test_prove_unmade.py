"""Faces the program should make and does not, on a plate 100 x 50 whose top is at Z0 unless the blank is said to be higher."""

import pytest

from setwright.model.finding import Signal, State
from setwright.prove.station import prove
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


def test_a_face_that_is_nowhere_near_is_undecided(proving: Proving) -> None:
    finding, = said(proving("G0 X-10. Y25.", job=with_face(flat(-8.0))), SLUG)
    assert finding.state is State.UNDECIDED


def test_a_bore_that_is_cut_or_not_there(proving: Proving) -> None:
    bore = "bore = { centre = [50, 25], diameter = 10, from = 0, to = -6 }"
    assert said(proving("G0 X50. Y25.\nZ5.\nG1 Z-6. F300.", job=with_face(bore)), SLUG) == []
    finding, = said(proving("G0 X50. Y25.", job=with_face(bore)), SLUG)
    assert finding.state is State.UNDECIDED


def test_part_of_a_program_is_not_blamed_for_what_comes_later(proving: Proving) -> None:
    proof = proving(ACROSS.format(z="-1."), job=with_face(flat(-1.0)))
    early = prove(proof.kit, proof.truth, pitch_mm=1.0, until=("plate.nc", 7))
    assert early.case.unmade
    assert said(early, SLUG) == []
