"""Units at the border: exact inch, helpful refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.base.units import Dimension, UnitError, format_length, parse_quantity


@pytest.mark.parametrize(
    ("text", "mm"),
    [("12.7 mm", 12.7), ("0.5 in", 12.7), ('0.5"', 12.7), ("1,5 mm", 1.5), ("25.4um", 0.0254), ("1 m", 1000.0), (".25 in", 6.35),
     ("-3", -3.0)],
)  # fmt: skip
def test_length_in_any_unit_is_exact(text: str, mm: float) -> None:
    assert parse_quantity(text, Dimension.LENGTH, "mm") == mm


def test_bare_number_takes_the_stated_unit() -> None:
    assert parse_quantity(2, Dimension.LENGTH, "in") == 50.8
    assert parse_quantity("2", Dimension.LENGTH, "in") == 50.8


@pytest.mark.parametrize(
    ("text", "dimension", "internal"),
    [("90 deg", Dimension.ANGLE, math.pi / 2), ("0.3 mrad", Dimension.ANGLE, 0.0003), ("24 m/min", Dimension.FEED, 24000.0),
     ("10 in/min", Dimension.FEED, 254.0), ("9000 rpm", Dimension.SPEED, 9000.0), ("3 m/s²", Dimension.ACCELERATION, 3000.0),
     ("2 min", Dimension.TIME, 120.0), ("500 W", Dimension.POWER, 0.5), ("20 mm/s", Dimension.FEED, 1200.0),
     ("1 hp", Dimension.POWER, 550 * 0.3048 * 4.4482216152605 / 1000.0),  # 550 foot-pounds of force a second
     ("11.5 um/m/K", Dimension.RATIO, 11.5e-6), ("11.5 um/m", Dimension.RATIO, 11.5e-6)],
)  # fmt: skip
def test_other_dimensions(text: str, dimension: Dimension, internal: float) -> None:
    assert parse_quantity(text, dimension, "mm") == pytest.approx(internal, rel=1e-15)


@pytest.mark.parametrize(
    ("value", "said"),
    [("12 mmm", 'did you mean "mm"'), ("12 inhc", 'did you mean "in"'), ("12 rpm", "is a spindle speed, but a length is wanted"),
     (float("nan"), "not a finite number"), (float("inf"), "not a finite number"), ("abc", "not a number with a unit"),
     (True, "is not a length"), (None, "is not a length"), ("1e30 mm", "too large"), ("", "not a number with a unit")],
)  # fmt: skip
def test_refusals_say_what_to_write(value: object, said: str) -> None:
    with pytest.raises(UnitError, match=said):
        parse_quantity(value, Dimension.LENGTH, "mm")


@given(st.decimals(min_value=-1000, max_value=1000, places=4))
def test_inch_round_trip_keeps_every_digit(inch: object) -> None:
    mm = parse_quantity(f"{inch} in", Dimension.LENGTH, "mm")
    assert format_length(mm, "inch") == format_length(float(str(inch)) * 25.4, "inch")


def test_no_minus_zero_is_shown() -> None:
    assert format_length(-0.0001) == "0.000 mm"
    assert format_length(-0.0001, signed=True) == "+0.000 mm"


@pytest.mark.parametrize("number", [10**400, -(10**400)])
def test_a_whole_number_that_no_other_kind_of_number_can_hold_is_refused(number: int) -> None:
    with pytest.raises(UnitError, match="too large for a length"):
        parse_quantity(number, Dimension.LENGTH, "mm")
