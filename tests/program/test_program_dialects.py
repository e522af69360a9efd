"""Codes that only some controls have: numbered offsets, rows of holes, words for the unit, how closely the path is followed."""

import math

import numpy as np
import pytest

from setwright.program.infer import infer
from setwright.program.registers import Registers, WorkOffset
from setwright.program.source import Source
from tests.program.compare import good, read


def holes(result):
    """X, Y of every place where the tool goes down at feed, in order, mm."""
    path = result.path
    down = (path.kind == 1) & (path.end[:, 2] < path.start[:, 2])
    return path.end[down, :2]


@pytest.mark.parametrize(("words", "angles"), [
    ("G70 I20. J30. L6", [30, 90, 150, 210, 270, 330]),
    ("G71 I20. J30. K15. L4", [30, 45, 60, 75]),
    ("G71 I20. K-15. L3", [0, -15, -30]),
])  # fmt: skip
def test_holes_round_a_circle_and_along_an_arc(words, angles):
    """Places from the circle's equation; the tool stands over its middle before."""
    found = holes(read(f"G21 G90 S500 M3 G0 X100. Y50. Z10.\nG99 G81 R2. Z-5. F100. L0\n{words}\nG80",
                       hole_patterns="circle, arc, line"))  # fmt: skip
    wanted = [(100 + 20 * math.cos(math.radians(a)), 50 + 20 * math.sin(math.radians(a))) for a in angles]
    assert found == pytest.approx(np.array(wanted), abs=1e-9)


def test_holes_along_a_line_begin_where_the_tool_stands_and_the_cycle_may_stand_in_the_block():
    found = holes(read("G20 G90 S500 M3 G0 X1. Y0. Z1.\nG72 I.5 J60. L3 G83 G98 R.1 Z-.5 Q.2 F10.\nG80",
                       hole_patterns="circle, arc, line"))  # fmt: skip
    places = [25.4 * np.array([1 + 0.5 * k * math.cos(math.pi / 3), 0.5 * k * math.sin(math.pi / 3)]) for k in range(3)]
    assert np.unique(found.round(6), axis=0) == pytest.approx(np.unique(np.array(places).round(6), axis=0), abs=1e-6)


@pytest.mark.parametrize(("block", "said"), [
    ("G70 I20. L6", "without a canned cycle"), ("G81 R2. Z-5. F100. G71 I20. L6", "has no K"),
    ("G81 R2. Z-5. F100. G70 L6", "has no I"), ("G81 R2. Z-5. F100. G70 I20. L0", "0 holes"),
    ("G81 Z-5. G70 I2. L6", "no near level"),
])  # fmt: skip
def test_rows_of_holes_that_are_not_whole_are_refused(block, said):
    result = read(f"G21 G90 S500 M3 G0 X0. Y0. Z10.\n{block}", hole_patterns="circle, arc, line")
    assert said in result.problems[0].what


def test_the_unit_by_other_words():
    inch = good("G70 G90 G0 X1. Y2. Z3.", unit_words="G70 G71 too").end[-1]
    assert inch == pytest.approx([25.4, 50.8, 76.2], abs=1e-9)
    assert good("G71 G90 G0 X1. Y2. Z3.", units="inch", unit_words="G70 G71 too").end[-1] == pytest.approx([1, 2, 3])


@pytest.mark.parametrize(("words", "name", "behaviours"), [
    ("G154 P3", "G54.1 P3", {}), ("G112", "G54.1 P3", {"offsets_g110": "numbered offsets"}), ("G59.2", "G59.2", {}),
])  # fmt: skip
def test_offsets_under_other_names(words, name, behaviours):
    """The offset's place is where X0 Y0 Z0 lies in the machine."""
    registers = Registers(offsets={name: WorkOffset(-300.0, -200.0, -400.0)})
    result = read(f"G21 G90 {words} G0 X0. Y0. Z0.", registers=registers, **behaviours)
    assert not result.problems
    frame = result.path.frames[int(result.path.frame[-1])]
    assert frame.offset == name
    assert frame.shift == pytest.approx((-300.0, -200.0, -400.0))


def test_rigid_tapping_by_its_own_codes_taps_as_the_plain_cycle_does():
    start, cycle = "G21 G90 G0 X0. Y0. Z10.\nS500 M3\n", "X5. Y5. Z-10. R2. F500.\nG80"
    plain = good(f"{start}G84 {cycle}")
    for words in ("G84.2 ", "M29 S500\nG84 "):
        other = good(f"{start}{words}{cycle}")
        assert np.array_equal(plain.end, other.end)
        assert np.array_equal(plain.feed, other.feed, equal_nan=True)


@pytest.mark.parametrize("words", ["G5.1 Q1", "G5 P10000", "G8 P1", "G187 P2 E.01"])
def test_how_closely_the_path_is_followed_moves_nothing_and_is_remarked(words):
    text = "G21 G90 G1 F100. X0. Y0. Z5.\n{}X10.\nY10."
    with_it = read(text.format(words + "\n"), path_smoothing="remark")
    assert np.array_equal(with_it.path.end, good(text.format("")).end)
    assert "corners may be rounded" in {remark.slug for remark in with_it.remarks}
    assert "not understood" in read(text.format(words + "\n")).problems[0].what


def test_a_spline_is_not_taken_for_a_word_about_corners():
    result = read("G21 G90 G1 F100. X0. Y0. Z5.\nG5 X10. Y10. I2. J3. P1. Q1.", path_smoothing="remark")
    assert "G5 is not understood" in result.problems[0].what


@pytest.mark.parametrize(("text", "behaviour", "value"), [
    ("G70 G90 G54 G0 X1. Y1.\nM30", "unit_words", "G70 G71 too"),
    ("G20 G90 G0 X0 Y0 Z1.\nS500 M3\nG81 R.1 Z-.5 F8. L0\nG70 I1.5 L6\nG80\nM30", "hole_patterns", "circle, arc, line"),
    ("G21 G5.1 Q1\nG0 X1. Y1.\nM30", "path_smoothing", "remark"), ("G21 G111 G0 X1. Y1.\nM30", "offsets_g110", "numbered offsets"),
])  # fmt: skip
def test_a_text_that_has_them_shows_what_its_control_does(text, behaviour, value):
    found = infer([Source("a.nc", text.encode())])
    assert getattr(found.profile, behaviour) == value
    assert behaviour in {evidence.behaviour for evidence in found.evidence}


def test_a_local_call_finds_its_block_behind_the_end_of_a_numbered_program():
    result = good("O0007\nG21 G90 G0 X0. Y0. Z5.\nM97 P100 L2\nM30\nN100 G91 X10.\nG90\nM99", local_calls="M97")
    assert result.end[-1] == pytest.approx([20.0, 0.0, 5.0])
