"""Walls and floors of a plate 100 x 50 x 20 with its top at Z0, cut with an end mill 10."""

import math

import pytest

from setwright.model.finding import Signal
from tests.prove.conftest import JOB, Proving, said

SLUG = "thinner-than-asked"


def at_least(wall: float = 0.0, floor: float = 0.0) -> str:
    return JOB.replace("datum =", f"at_least = {{ wall = {wall}, floor = {floor} }}\ndatum =")


TWO_SLOTS = "G0 X-10. Y15.\nZ-6.\nG1 X110. F300.\nG0 Z5.\nX-10. Y25.75\nZ-6.\nG1 X110."


def test_a_wall_between_two_slots(proving: Proving) -> None:
    """From Y20 to Y20.75: thinner than the rays are apart, and exact."""
    finding, = said(proving(TWO_SLOTS, job=at_least(wall=1.0)), SLUG)
    assert (finding.signal, finding.line) == (Signal.WARNING, 13)
    assert finding.value == pytest.approx(0.75, abs=1e-9)
    assert "other side is cut in line 9" in finding.text
    assert said(proving(TWO_SLOTS, job=at_least(wall=0.75)), SLUG) == []
    assert said(proving(TWO_SLOTS), SLUG) == []


def test_a_slanting_wall_is_measured_square_to_its_sides(proving: Proving) -> None:
    lean = math.radians(10)
    away = 10.5 / math.cos(lean)  # axes 10.5 apart: the wall is 0.5 thick

    def slot(y: float) -> str:
        return f"G0 X-20. Y{y - 70 * math.tan(lean):.6f}\nZ-6.\nG1 X120. Y{y + 70 * math.tan(lean):.6f} F300.\nG0 Z5."

    finding, = said(proving(slot(20.0) + "\n" + slot(20.0 + away), job=at_least(wall=0.6)), SLUG)
    assert finding.value == pytest.approx(0.5, abs=1e-4)  # by packed normals


def test_a_floor(proving: Proving) -> None:
    deep = "G0 X-10. Y25.\nZ-18.5\nG1 X110. F300."
    finding, = said(proving(deep, job=at_least(wall=1.0, floor=2.0)), SLUG)
    assert finding.value == pytest.approx(1.5, abs=1e-9)
    assert finding.line == 9
    assert "a floor is left 1.500 mm thick" in finding.text
    assert said(proving(deep, job=at_least(floor=1.5)), SLUG) == []


def test_edges_and_the_blank_itself_are_no_walls(proving: Proving) -> None:
    """A bore's rim and a blank 20 thick are met by short rays, but not square to two cut sides."""
    bore = "G0 X50. Y25.\nZ2.\nG1 Z-5. F300.\nX55.\nG3 X55. Y25. I-5. J0."
    assert said(proving(bore, job=at_least(wall=10.0, floor=10.0)), SLUG) == []
    assert said(proving("G0 X50. Y25.", job=at_least(wall=60.0, floor=30.0)), SLUG) == []


FACING = "G0 X-10. Y25.\nZ-3.\nG1 X110. F300."


def planned(depth: str) -> str:
    return JOB.replace("stickout = 40", f"stickout = 40, deepest_cut = {depth}")


VARIES = "corner = [0, 0, -20], varies = [0, 0, {}]"


def test_a_cut_deeper_than_planned(proving: Proving) -> None:
    finding, = said(proving(FACING, job=planned("2.5")), "deeper-than-planned")
    assert (finding.signal, finding.line, finding.tool) == (Signal.WARNING, 9, 1)
    assert finding.value == pytest.approx(3.0, abs=1e-9)
    assert said(proving(FACING, job=planned("3")), "deeper-than-planned") == []
    assert said(proving(FACING), "deeper-than-planned") == []


def test_a_blank_that_may_stand_higher(proving: Proving) -> None:
    """Where Z is taken from the parallels; touched on the top itself, a higher blank moves zero with it."""
    on_top = planned("3.4").replace("corner = [0, 0, -20]", VARIES.format("0.5"))
    assert said(proving(FACING, job=on_top), "deeper-than-planned") == []
    job = on_top.replace('face = "top"', 'face = "bottom"')
    finding, = said(proving(FACING, job=job), "deeper-than-planned")
    assert finding.signal is Signal.CAUTION
    assert "a blank 0.40 mm higher than stated" in finding.text
    below = FACING + "\nG0 Z5.\nX-10.\nZ-6.\nG1 X110."  # the second cut starts on cut metal, however high the blank is
    assert said(proving(below, job=job.replace("3.4", "3.6")), "deeper-than-planned") == []


def test_a_high_blank_against_the_flutes(proving: Proving) -> None:
    high = "box = [100, 50, 40], corner = [0, 0, -40], varies = [0, 0, 1]"
    thick = JOB.replace("box = [100, 50, 20], corner = [0, 0, -20]", high).replace('face = "top"', 'face = "bottom"')
    finding, = said(proving("G0 X-10. Y0.\nZ-21.5\nG1 X110. F300.", job=thick), "deeper-than-planned")
    assert finding.signal is Signal.CAUTION
    assert "its flutes are 22 mm long" in finding.text
    assert said(proving("G0 X-10. Y0.\nZ-20.5\nG1 X110. F300.", job=thick), "deeper-than-planned") == []


def test_a_hole_is_left_to_its_own_check(proving: Proving) -> None:
    assert said(proving("G0 X50. Y25.\nZ2.\nG1 Z-8. F300.", job=planned("2")), "deeper-than-planned") == []
