"""Passes over the fixed jaw, whose top is at Z-10, behind the plate: the distance is how high the tool's tip runs above it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from setwright.kit.registers import nominal_truth
from setwright.model.finding import Signal
from setwright.prove.margin import spread_of
from setwright.prove.report import plain
from tests.prove.conftest import JOB, Proving, said

SLUG = "contact-within-uncertainty"
VARIES = JOB.replace("corner = [0, 0, -20]", "corner = [0, 0, -20], varies = [0.1, 0.1, 0.3]")
EXPANDED = 0.3 + 2 * 0.01
"""Upward: the blank's 0.3, a limit, and twice the 0.01 of the tool's length as presets vary unless stated."""


def over_the_jaw(z: str) -> str:
    return f"G0 X-10. Y60.\nZ{z}\nG1 X110. F300."


def test_a_pass_within_the_uncertainty_is_a_warning_and_no_close_pass(proving: Proving) -> None:
    proof = proving(over_the_jaw("-9.7"), job=VARIES)
    finding, = said(proof, SLUG)
    assert (finding.signal, finding.body, finding.tool) == (Signal.WARNING, "fixed jaw", 1)
    assert finding.line in (8, 9)
    assert finding.value == pytest.approx(0.3, abs=1e-6)
    assert f"± {EXPANDED:.3f} mm" in finding.text
    assert "clears the fixed jaw by 0.300 mm" in finding.text
    assert said(proof, "close-pass") == []
    margins = [near["margin_mm"] for near in plain(proof, "mm")["clearance"] if near["bodies"] == ["cutter", "fixed jaw"]]
    assert margins == pytest.approx([0.3 - EXPANDED], abs=1e-6)


def test_beyond_it_the_pass_is_only_close_or_not_spoken_of(proving: Proving) -> None:
    close = proving(over_the_jaw("-9.6"), job=VARIES)
    assert said(close, SLUG) == []
    assert [finding.value for finding in said(close, "close-pass")] == pytest.approx([0.4], abs=1e-6)
    clear = proving(over_the_jaw("-7.9"), job=VARIES)
    assert said(clear, SLUG) == said(clear, "close-pass") == []


def test_what_the_holding_varies_counts_for_the_holding_in_its_own_direction(proving: Proving) -> None:
    """The cutter passes 0.4 over the jaw; the blank varies by 0.3, the jaws by another 0.2 in height or by 5 sideways."""
    def holding(varies: str) -> str:
        return VARIES.replace('holding = { use = "vise"', f'holding = {{ use = "vise", varies = {varies}')

    finding, = [one for one in said(proving(over_the_jaw("-9.6"), job=holding("[0, 0, 0.2]")), SLUG) if one.body == "fixed jaw"]
    assert finding.value == pytest.approx(0.4, abs=1e-6)
    assert f"± {EXPANDED + 0.2:.3f} mm" in finding.text
    assert said(proving(over_the_jaw("-9.6"), job=holding("[5, 0, 0]")), SLUG) == []


def test_a_certain_contact_is_not_also_a_possible_one(proving: Proving) -> None:
    hit = proving(over_the_jaw("-11."), job=VARIES)
    assert said(hit, "tool-into-holding")
    assert [finding for finding in said(hit, SLUG) if finding.body == "fixed jaw"] == []


def test_a_measured_offset_counts_and_an_expected_one_does_not(proving: Proving) -> None:
    together = proving("G0 X0.", job=VARIES).kit
    expected, corners = nominal_truth(together), (np.array([0.0, -50.0, 0.0]), np.array([100.0, 20.0, 40.0]))
    assert spread_of(together, expected, corners).half == pytest.approx([0.1, 0.1, EXPANDED], rel=1e-12)
    measured = replace(expected, source="touch", u_place=(0.5, 0.02, 0.03), u_length=0.04)
    assert spread_of(together, measured, corners).half == pytest.approx([0.1 + 1.0, 0.1 + 0.04, 0.3 + 0.1], rel=1e-12)
    turned = replace(measured, u_angle=0.001)  # 50 off the datum along Y acts on X, 100 along X acts on Y
    x, y = 0.1 + 2 * math.hypot(0.5, 0.05), 0.1 + 2 * math.hypot(0.02, 0.1)
    assert spread_of(together, turned, corners).half == pytest.approx([x, y, 0.4], rel=1e-12)
    spread = spread_of(together, turned, corners)
    assert spread.along([0.0, 3.0, -4.0]) == pytest.approx(0.6 * y + 0.8 * 0.4, rel=1e-12)
    # zero is taken from front and top: those do not vary
    assert spread.along([0.0, -3.0, 4.0]) == pytest.approx(0.6 * (y - 0.1) + 0.8 * 0.1, rel=1e-12)


@pytest.mark.parametrize(("gap", "close"), [(2.0, 0), (1.999, 1)])
def test_a_pass_at_just_what_is_wanted_is_not_close(proving: Proving, gap: float, close: int) -> None:
    """The fixed jaw stands along Y50 up to Z-10, and the cutter passes behind the plate above it."""
    proof = proving(f"G0 X-20. Y62.\nZ{-10.0 + gap:g}\nX120.")
    assert len([one for one in proof.findings if one.slug == "close-pass"]) == close
