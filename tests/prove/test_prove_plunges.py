"""Tools that do not cut at their centre, fed down into the full: their moves start at line 7."""

import math

import pytest

from setwright.model.finding import Signal
from tests.prove.conftest import Proving, said

SLUG = "plunge-without-centre-cutting"
BLUNT = "centre_cutting = false\n"
DOWN = "G0 X50. Y25.\nZ5.\nG1 Z-6. F300."


def test_straight_down_into_the_full_is_danger(proving: Proving) -> None:
    finding, = said(proving(DOWN, tool=BLUNT), SLUG)
    assert (finding.signal, finding.line, finding.tool) == (Signal.DANGER, 9, 1)
    assert finding.value == pytest.approx(6.0, abs=1e-9)


def test_a_tool_that_cuts_at_its_centre_may(proving: Proving) -> None:
    assert said(proving(DOWN), SLUG) == []


def test_beside_the_part_or_over_its_edge_only_the_outside_cuts(proving: Proving) -> None:
    """X-2.6: the core, 2.5 mm about the centre, stays off the edge at X0; at X-2 it comes 0.5 mm over it."""
    assert said(proving("G0 X-2.6 Y25.\nZ5.\nG1 Z-6. F300.", tool=BLUNT), SLUG) == []
    assert said(proving("G0 X-1.5 Y25.\nZ5.\nG1 Z-6. F300.", tool=BLUNT), SLUG)


def test_metal_that_is_gone_by_then_is_not_plunged_into(proving: Proving) -> None:
    """From the side to the middle at Z-4, then down: only the 2 mm below are met."""
    finding, = said(proving("G0 X-10. Y25.\nZ-4.\nG1 X50. F300.\nZ-6.", tool=BLUNT), SLUG)
    assert finding.line == 10
    assert finding.value == pytest.approx(2.0, abs=1e-9)


@pytest.mark.parametrize(("degrees", "spoken"), [(2.5, False), (3.5, True)])
def test_a_ramp_is_judged_by_its_slope(proving: Proving, degrees: float, spoken: bool) -> None:
    drop = 40 * math.tan(math.radians(degrees))
    found = said(proving(f"G0 X20. Y25.\nZ0.\nG1 X60. Z{-drop:.4f} F300.", tool=BLUNT), SLUG)
    assert [finding.signal for finding in found] == [Signal.WARNING] * spoken


@pytest.mark.parametrize(("depth", "spoken"), [(-1.5, False), (-1.8, True)])
def test_a_helix_is_judged_along_its_arc(proving: Proving, depth: float, spoken: bool) -> None:
    """Once round at radius 5: 31.4 mm of way, so 3 degrees are 1.646 mm."""
    found = said(proving(f"G0 X55. Y25.\nZ0.\nG3 X55. Y25. I-5. Z{depth} F300.", tool=BLUNT), SLUG)
    assert bool(found) is spoken


def test_cores_leave_the_metal_and_the_volume_as_they_are(proving: Proving) -> None:
    moves = DOWN + "\nX70. Z-8."
    with_core, without = proving(moves, tool=BLUNT), proving(moves)
    assert with_core.rest.value == pytest.approx(without.rest.value, abs=1e-6)
    assert with_core.removed[1] == pytest.approx(without.removed[1], abs=1e-6)
