"""Metal cut away from the faces in the vise: 100 x 10 mm of each stand in the jaws, Z-20 to Z-10."""

import pytest

from setwright.model.check import HEADINGS, checks_in
from setwright.model.finding import Signal
from tests.prove.conftest import JOB, Proving, said

SLUG = "grip-cut-away"


@pytest.mark.parametrize(("y", "jaw"), [("0.", "moving jaw"), ("50.", "fixed jaw")])
def test_a_side_cut_down_into_the_jaws(proving: Proving, y: str, jaw: str) -> None:
    """4 of 10 mm of the gripped height are gone all along: 600 of 1000 mm² are left."""
    proof = proving(f"G0 X-10. Y{y}\nZ-14.\nG1 X110. F300.")
    finding, = said(proof, SLUG)
    assert (finding.signal, finding.line, finding.body) == (Signal.WARNING, 9, jaw)
    loss, = proof.case.grip_losses
    assert (loss.before_mm2, loss.after_mm2) == (pytest.approx(1000), pytest.approx(600))


def test_a_little_off_the_grip_or_nothing_is_not_spoken_of(proving: Proving) -> None:
    proof = proving("G0 X-10. Y0.\nZ-11.\nG1 X110. F300.")
    assert proof.case.grip_losses[0].share == pytest.approx(0.1)
    assert said(proof, SLUG) == []
    assert proving("G0 X-10. Y0.\nZ-9.9\nG1 X110. F300.").case.grip_losses == ()


def test_a_kit_finding_is_part_of_the_proof(proving: Proving) -> None:
    assert said(proving("G0 X-10. Y25.", job=JOB.replace("parallels = 30", "parallels = 38")), "little-left-in-jaws")


def test_every_check_has_its_headings() -> None:
    checks = checks_in("setwright.prove.checks")
    assert len({check.META.slug for check in checks}) == len(checks)
    for check in checks:
        assert [heading for heading in HEADINGS if f"\n{heading}\n" not in check.__doc__] == []
