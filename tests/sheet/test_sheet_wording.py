"""Numbers as printed: sign always shown, never minus nothing, uncertainty never prettier than it is."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.sheet.content import Register
from setwright.sheet.wording import plain_length, range_text, register_text, signed_length, uncertainty_text


@pytest.mark.parametrize(
    ("mm", "units", "shown"),
    [
        (124.0, "mm", "124"),
        (120.0, "mm", "120"),
        (12.5, "mm", "12.5"),
        (0.125, "mm", "0.125"),
        (-0.0001, "mm", "0"),
        (0.0, "inch", "0"),
        (25.4, "inch", "1"),
        (-3.175, "inch", "−0.125"),
    ],
)
def test_drawing_length(mm: float, units: str, shown: str) -> None:
    assert plain_length(mm, units) == shown


@pytest.mark.parametrize(
    ("mm", "units", "shown"),
    [
        (12.7, "mm", "+12.700"),
        (12.7, "inch", "+0.5000"),
        (-287.4424, "mm", "−287.442"),
        (-0.0001, "mm", "+0.000"),
        (0.0, "mm", "+0.000"),
    ],
)
def test_register_length_carries_its_sign(mm: float, units: str, shown: str) -> None:
    assert signed_length(mm, units) == shown
    assert register_text(Register("X", mm), units) == shown


def test_angle_is_in_degrees_whatever_the_units() -> None:
    assert register_text(Register("rotation", -0.01126, angle=True), "inch") == "−0.0113°"
    assert register_text(Register("rotation", -0.00001, angle=True), "mm") == "+0.0000°"


@pytest.mark.parametrize("value", [None, math.nan, math.inf])
def test_what_is_not_known_is_no_number(value: float | None) -> None:
    assert register_text(Register("Z", value, value), "mm") == ""
    assert uncertainty_text(Register("Z", value, value), "mm") == ""


@given(st.floats(0.0, 50.0), st.sampled_from(["mm", "inch", "degree"]))
def test_uncertainty_is_rounded_up_and_by_less_than_a_step(half: float, units: str) -> None:
    register = Register("X", 0.0, half, angle=units == "degree")
    printed = Fraction(uncertainty_text(register, "inch" if units == "inch" else "mm").removeprefix("± ").rstrip("°"))
    step = Fraction(1, 1000 if units == "mm" else 10_000)
    exact = Fraction(half) / (Fraction("25.4") if units == "inch" else 1)
    assert exact - step / 1000 <= printed < exact + step


def test_ranges() -> None:
    assert range_text((6000.0, 7500.0)) == "6000–7500"
    assert range_text((3200.0, 3200.4)) == "3200"
    assert range_text((254.0, 508.0), scale=1 / 25.4, places=1) == "10.0–20.0"
    assert range_text(None) == ""
