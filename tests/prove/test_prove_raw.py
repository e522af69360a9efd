"""A face may stay raw where the blank may end below the cut: on a plate 100 x 50 x 20 with its least corner at X0 Y0 and its top
at Z0 or higher, faced or milled at its side, that varies by a stated ±. The amounts are sums and differences of what is stated."""

import random

import pytest

from setwright.model.finding import Signal
from tests.prove.conftest import JOB, Proving, said

SLUG = "may-stay-raw"
LENGTH = 2 * 0.01
"""Lengths are known to 0.01 as one standard deviation."""


def job(*, varies: tuple[float, float, float], above: float = 0.0, z_from: str = "bottom") -> str:
    blank = f"blank = {{ box = [100, 50, {20 + above:.3f}], corner = [0, 0, -20], varies = {list(varies)} }}"
    return JOB.replace("blank = { box = [100, 50, 20], corner = [0, 0, -20] }", blank).replace('face = "top"', f'face = "{z_from}"')


def faced(z: float) -> str:
    """The whole top, in passes 8 mm apart with a cutter of 10."""
    passes = "\n".join(f"G0 X-10. Y{y}.\nG1 Z{z} F300.\nX110.\nG0 Z5." for y in range(0, 57, 8))
    return f"G0 X-10. Y0.\nZ5.\n{passes}"


FACE = '[[setup.face]]\nname = "finished top"\nflat = { facing = "+Z", at = [50, 25, 0], size = [100, 50] }\n'


def test_less_cut_off_than_the_blank_varies(proving: Proving) -> None:
    """0.5 is cut off, 1.3 varies, lengths to 0.02: it may end 0.82 below."""
    finding, = said(proving(faced(0), job=job(varies=(0, 0, 1.3), above=0.5)), SLUG)
    assert finding.signal is Signal.WARNING
    assert finding.value == pytest.approx(0.8 + LENGTH, abs=1e-9)
    assert finding.text == "top of the blank may stay raw: the blank may end 0.820 mm below the cut"
    assert finding.line > 0


def test_a_stated_face_is_told_by_its_name_and_once(proving: Proving) -> None:
    finding, = said(proving(faced(0), job=job(varies=(0, 0, 1.3), above=0.5) + FACE), SLUG)
    assert finding.text == "face “finished top” may stay raw: the blank may end 0.820 mm below the cut"


def test_more_cut_off_than_it_varies(proving: Proving) -> None:
    assert said(proving(faced(0), job=job(varies=(0, 0, 0.4), above=0.5) + FACE), SLUG) == []


def test_other_directions_do_not_count(proving: Proving) -> None:
    assert said(proving(faced(0), job=job(varies=(3, 3, 0), above=0.5) + FACE), SLUG) == []


def test_a_face_that_zero_is_taken_from_lies_where_it_was_touched(proving: Proving) -> None:
    assert said(proving(faced(0), job=job(varies=(0, 0, 1.3), above=0.5, z_from="top") + FACE), SLUG) == []


def test_a_side_that_is_not_cut_on_all_of_its_area_is_not_meant(proving: Proving) -> None:
    moves = "G0 X-10. Y25.\nZ5.\nG1 Z0. F300.\nX110.\nG0 Z5."
    assert said(proving(moves, job=job(varies=(0, 0, 1.3), above=0.5)), SLUG) == []


def test_a_pocket_in_a_side_is_no_side(proving: Proving) -> None:
    moves = "G0 X50. Y25.\nZ5.\nG1 Z-0.5 F300.\nX60.\nG0 Z5."
    assert said(proving(moves, job=job(varies=(0, 0, 3))), SLUG) == []


@pytest.mark.parametrize("pitch", [0.5, 1.0])
def test_the_right_side_milled_over_its_height(proving: Proving, pitch: float) -> None:
    """0.4 is taken off at X100, the blank varies by 1 along X; zero is taken from the left."""
    moves = "G0 X104.6 Y-10.\nZ5.\nG1 Z-20.5 F300.\nY60.\nG0 Z5."
    finding, = said(proving(moves, job=job(varies=(1, 0, 0)), pitch_mm=pitch), SLUG)
    assert finding.text.startswith("right of the blank may stay raw")
    assert finding.value == pytest.approx(0.6, abs=1e-9)


def test_random_allowances_against_random_variations(proving: Proving) -> None:
    """Told exactly where the blank varies by more than is cut off."""
    chance = random.Random(14)
    for _ in range(12):
        above, varies = round(chance.uniform(0.1, 2.0), 3), round(chance.uniform(0.0, 2.0), 3)
        found = said(proving(faced(0), job=job(varies=(0, 0, varies), above=above) + FACE, pitch_mm=2.0), SLUG)
        lower = varies + LENGTH - above
        assert [one.value for one in found] == ([pytest.approx(lower, abs=1e-9)] if lower > 0 else [])
