"""What the sheet says at a check, told in the unit of whoever asks."""

import pytest

from setwright.hover.check_list import CheckHere, bundled_checks
from setwright.hover.check_sights import Looked


def here(what, right, spread=0.0):
    check, sight = next((check, sight) for check in bundled_checks().values() for sight in check.sees if sight.what == what)
    return CheckHere("any", "", check, Looked(1, "G54", None), (sight,), (right,), (spread,))


def told(what, right, units):
    (said,) = here(what, right).sees_plain(units)
    return said["sheet"]


def test_numbers_are_told_in_inches() -> None:
    assert told("stick-out", 44.45, "in") == pytest.approx(1.75)
    assert told("stick-out", 44.45, "mm") == 44.45


def test_registers_are_told_in_inches() -> None:
    assert told("offset register", "X -101.600 Y 25.400 Z 0.000", "in") == "X -4.0000 Y 1.0000 Z 0.0000"
    assert told("length register", "127.000", "mm") == "127.000"


def test_the_block_of_a_hold_point_stays_as_it_is_written() -> None:
    said = "X12.700 before G1 Z-2.540: at X 12.700 Y 0.000"
    assert told("display at hold point", said, "in") == "X12.700 before G1 Z-2.540: at X 0.5000 Y 0.0000"


def test_what_is_no_number_of_the_control_stays() -> None:
    assert told("program head", "O3107 REV 1.000", "in") == "O3107 REV 1.000"


def test_programmed_numbers_before_the_place_stay() -> None:
    said = "G83 Z-.125: at 0.000 -12.700, to go 25.400"
    assert told("display at hold point", said, "inch") == "G83 Z-.125: at 0.0000 -0.5000, to go 1.0000"
