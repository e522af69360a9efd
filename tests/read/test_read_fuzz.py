"""A few texts of each kind that no control wrote; `python -m tests.read.fuzz` reads more."""

from __future__ import annotations

import pytest

from setwright.read.station import read_alone
from tests.program.fuzz import SEEDS
from tests.read.fuzz import KINDS, made, read_it


@pytest.mark.parametrize("end", ["\r", "\r\n", "\n\r"])
def test_a_finding_shows_its_line_whatever_ends_it(end: str) -> None:
    text = "G21 G17 G90 G54\nT1 M6\nS1 M3\nG0 G43 H1 X0. Y0. Z50.\nG0 Z2.\nG1 Z-1. F0.\nX9.\nG0 Z50.\nM30\n"
    (found,) = [one for one in read_alone({"p.nc": text.replace("\n", end).encode()}).findings if one.slug == "no-feed"]
    assert found.excerpt.splitlines()[0].endswith("G1 Z-1. F0.")


@pytest.mark.parametrize("kind", KINDS)
def test_a_text_that_no_control_wrote_ends_in_an_answer_or_a_refusal(kind: str) -> None:
    answered = [read_it(made(1_000_000 + number, SEEDS, kind)) for number in range(3 if kind == "endless" else 8)]
    assert any(answered)
