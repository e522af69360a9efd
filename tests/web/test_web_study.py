"""What the page of a study says of a check: the numbers of the sheet in the units of the document."""

from __future__ import annotations

import pytest

from setwright.web import study


@pytest.mark.parametrize(
    ("what", "right", "said"),
    [
        ("stick-out", 44.45, 1.75),
        ("tip at hold point, x", 0.0, 0.0),
        ("length register", "-431.800", "-17.0000"),
        ("offset register", "X -50.800 Y 25.400 Z 0.000", "X -2.0000 Y 1.0000 Z 0.0000"),
        ("display at hold point", "G83 Z-.125: at 0.000 -12.700, to go 25.400", "G83 Z-.125: at 0.0000 -0.5000, to go 1.0000"),
        ("program head", "O7 (DRAWING 12.125 REV C)", "O7 (DRAWING 12.125 REV C)"),
    ],
)  # fmt: skip
def test_what_the_sheet_says_is_in_the_units_of_the_document(what: str, right: float | str, said: float | str) -> None:
    assert study._sheet_says(what, right, "mm") == right
    assert study._sheet_says(what, right, "inch") == (pytest.approx(said) if isinstance(said, float) else said)
