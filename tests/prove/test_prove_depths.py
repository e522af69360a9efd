"""Straight down deeper than flutes: an end mill 10 with flutes 22 long, its body as wide; the plate is made 40 thick."""

import pytest

from setwright.model.finding import Signal
from tests.prove.conftest import JOB, Proving, said

SLUG = "deeper-than-flutes"
THICK = JOB.replace("box = [100, 50, 20], corner = [0, 0, -20]", "box = [100, 50, 40], corner = [0, 0, -40]")
PECKS = "G0 X50. Y25.\nZ2.\nG1 Z-10. F300.\nG0 Z2.\nZ-9.\nG1 Z-20.\nG0 Z2.\nZ-19.\nG1 Z-25.\nG0 Z5."


def test_at_once(proving: Proving) -> None:
    finding, = said(proving("G0 X50. Y25.\nZ2.\nG1 Z-23. F300.", job=THICK), SLUG)
    assert (finding.signal, finding.line, finding.tool) == (Signal.WARNING, 9, 1)
    assert finding.value == pytest.approx(23, abs=1e-9)


def test_in_pecks_they_add_up_and_the_last_is_named(proving: Proving) -> None:
    finding, = said(proving(PECKS, job=THICK), SLUG)
    assert finding.value == pytest.approx(25, abs=1e-9)
    assert finding.line == 15


def test_as_deep_as_the_flutes_or_beside_a_narrow_body_is_not_spoken_of(proving: Proving) -> None:
    assert said(proving("G0 X50. Y25.\nZ2.\nG1 Z-22. F300.", job=THICK), SLUG) == []
    narrow = 'shank = { diameter = 8 }\n'
    assert said(proving(PECKS, job=THICK, tool=narrow), SLUG) == []


def test_two_holes_are_two_places(proving: Proving) -> None:
    assert said(proving("G0 X20. Y25.\nZ2.\nG1 Z-15. F300.\nG0 Z2.\nX70.\nG1 Z-15.", job=THICK), SLUG) == []
    deep = "G0 X20. Y25.\nZ2.\nG1 Z-23. F300.\nG0 Z2.\nX70.\nG1 Z-24."
    finding, = said(proving(deep, job=THICK), SLUG)
    assert finding.value == pytest.approx(24, abs=1e-9)
    assert "at 2 places" in finding.text
