"""The sentence a proof begins with, and what it does not say twice."""

from setwright.prove.report import verdict
from tests.prove.conftest import Proving, said

ACROSS = "G0 X-10. Y25.\nZ-4.\nG1 X110. F300."


def test_a_good_program_is_told_in_one_sentence(proving: Proving) -> None:
    assert verdict(proving(ACROSS)) == "Nothing hits (on expected offsets)."


def test_a_stopped_spindle_is_not_also_a_tool_that_meets_no_metal(proving: Proving) -> None:
    proof = proving("M5\n" + ACROSS)
    assert said(proof, "cut-without-spindle")
    assert said(proof, "tool-cuts-nothing") == []
    assert verdict(proof).startswith("DANGER: 1 finding that would hurt")
    assert len(said(proving("G0 X-10. Y25.\nG1 X110. F300."), "tool-cuts-nothing")) == 1


def test_what_is_known_to_hit_is_said_even_where_the_proof_stops(proving_whatever: Proving) -> None:
    proof = proving_whatever("G0 X-10. Y25.\nZ-4.\nX110.\nG1 XQ")
    assert proof.stopped
    assert verdict(proof).startswith("DANGER: 1 finding that would hurt machine, tool or part, and NOT PROVED beyond plate.nc:10")
