"""A behaviour that nobody is sure of: the proof runs every reading and says what the others would do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from setwright.base.errors import InputRefused
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal, brief
from setwright.prove.readings import prove_readings
from setwright.prove.station import Proof
from tests.prove.conftest import Proving, said

LOW_CHANGE = "X-20. Y25.\nZ-2.\nG1 X40. F300.\nT1 M6\nS5000 M3\nG0 Y40.\nG43 H1 Z50."
"""A groove 2 mm deep to X40, a change in it, then a rapid of 15 mm across."""


def unsure(kit: Kit, **behaviours: str) -> Kit:
    control = kit.machine.control.model_copy(update={"unsure": tuple(behaviours), "behaviours": behaviours})
    return replace(kit, machine=kit.machine.model_copy(update={"control": control}))


def proved(first: Proof, **behaviours: str) -> Proof:
    return prove_readings(unsure(first.kit, **behaviours), first.truth, pitch_mm=1.0)


def test_what_another_reading_hits_is_said_with_its_line(proving: Proving) -> None:
    sure = proving(LOW_CHANGE)
    proof = proved(sure, change_motion="Z home")
    assert not said(proof, "rapid-into-material")
    stays, all_home = sorted(said(proof, "under-another-reading"), key=lambda finding: "all home" in finding.text)
    assert (stays.signal, stays.line, stays.tool, stays.question) == (Signal.WARNING, 12, 1, True)
    assert stays.text.startswith("if the control reads change_motion as “stays”, not as “Z home”: ")
    assert "2.000 mm deep" in stays.text
    assert (all_home.signal, all_home.line) == (Signal.NOTICE, 12)
    shown = said(proof, "two-readings")
    assert len(shown) == 2
    assert "read as “Z home”, line 10 first goes at rapid to the reference point" in shown[0].text
    assert "read as “stays”, line 12 goes at rapid to X40.000 Y40.000 Z-2.000 mm" in shown[0].text


def test_what_only_another_reading_hits_stands_behind_what_is_wrong() -> None:
    asked = Finding(slug="two-readings", signal=Signal.WARNING, text="asked", line=1, question=True,
                    brings=("under-another-reading",))  # fmt: skip
    other = Finding(slug="under-another-reading", signal=Signal.WARNING, text="hits", line=2, question=True)
    wrong = Finding(slug="no-feed", signal=Signal.WARNING, text="no F", line=30)
    assert [one.slug for one in brief([asked, other, wrong]).told] == ["no-feed", "two-readings"]
    mild = replace(asked, signal=Signal.CAUTION)
    assert [one.slug for one in brief([mild, other, wrong]).told] == ["no-feed", "two-readings"]


def test_what_the_first_reading_hits_is_not_said_twice(proving: Proving) -> None:
    proof = proved(proving(LOW_CHANGE), change_motion="stays")
    assert [finding.line for finding in said(proof, "rapid-into-material")] == [12]
    assert [finding.signal for finding in said(proof, "under-another-reading")] == [Signal.NOTICE] * 2


def test_a_behaviour_that_moves_nothing_here_is_not_spoken_of(proving: Proving) -> None:
    proof = proved(proving("G1 Z-2. F300."), decimal="whole units")
    assert not said(proof, "under-another-reading")
    assert not said(proof, "two-readings")


def test_a_control_that_is_sure_has_one_reading(proving: Proving) -> None:
    assert not said(proving(LOW_CHANGE), "under-another-reading")


@pytest.mark.parametrize("name", ["rapid", "decimals", "arc_mismatch_mm"])
def test_what_has_no_readings_to_try_is_refused(proving: Proving, name: str) -> None:
    first = proving("G1 Z-2. F300.")
    control = first.kit.machine.control.model_copy(update={"unsure": (name,)})
    unsure_of = replace(first.kit, machine=first.kit.machine.model_copy(update={"control": control}))
    with pytest.raises(InputRefused, match=r"control\.unsure"):
        prove_readings(unsure_of, first.truth, pitch_mm=1.0)
