"""Corners cut or rounded by one word: closed forms, refusals, the same as the corner written out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.program.corner import cut_corner
from setwright.program.infer import infer
from setwright.program.registers import Registers, WorkOffset
from setwright.program.source import Source
from tests.program.compare import ends, good, read

HEAD = "G21 G90 G17 S900 M3 F90.\n"
L, A = "LINE", "ARC"
CUT = {"corner_words": "cut the corner"}


def test_a_chamfer_takes_its_size_off_both_lines():
    path = good(f"{HEAD}G1 X10. ,C2.\nY8.\nM30", **CUT)
    assert ends(path) == [(L, (8, 0, 0)), (L, (10, 2, 0)), (L, (10, 8, 0))]
    assert path.line.tolist() == [2, 2, 3]


def test_a_rounding_touches_both_lines():
    path = good(f"{HEAD}G1 X10. ,R2.\nY8.\nX0. ,R3.\nY0.\nM30", **CUT)
    assert ends(path) == [(L, (8, 0, 0)), (A, (10, 2, 0)), (L, (10, 8, 0)), (L, (3, 8, 0)), (A, (0, 5, 0)), (L, (0, 0, 0))]
    assert np.abs(path.arc_centre - [[8, 2, 0], [3, 5, 0]]).max() < 1e-12
    assert path.arc_sweep.tolist() == pytest.approx([math.pi / 2, math.pi / 2])


def test_corners_one_after_another_and_lines_used_up_whole():
    path = good(f"{HEAD}G1 X10. ,R4.\nY8. ,R4.\nX0.\nM30", **CUT)
    assert ends(path) == [(L, (6, 0, 0)), (A, (10, 4, 0)), (A, (6, 8, 0)), (L, (0, 8, 0))]
    whole = good(f"{HEAD}G1 X4. ,R4.\nY4.\nX-9.\nM30", **CUT)
    assert ends(whole) == [(A, (4, 4, 0)), (L, (-9, 4, 0))]


def test_words_between_the_two_lines_change_nothing():
    plain = good(f"{HEAD}G1 X10. ,C2.\nM8\nF50.\n(A)\nG1 X10.\nY8.\nM30", **CUT)
    assert ends(plain) == [(L, (8, 0, 0)), (L, (10, 2, 0)), (L, (10, 8, 0))]
    assert plain.feed.tolist() == [90.0, 90.0, 50.0]


def test_variables_inches_and_other_planes():
    assert ends(good("G20 G90 G17 S9 M3 F9.\n#1=0.5\nG1 X2. ,C#1\nY1.\nM30", **CUT))[0] == (L, (38.1, 0, 0))
    path = good(f"{HEAD}G18 G1 X10. ,R[1+1]\nZ8.\nM30", **CUT)
    assert ends(path) == [(L, (8, 0, 0)), (A, (10, 0, 2)), (L, (10, 0, 8))]
    assert path.arc_axis.tolist() == [1]


def test_a_compensated_contour_with_a_rounded_corner_is_that_of_the_arc_written_out():
    text = "G21 G90 S9 M3 G1 F100. X-20. Y-10.\nG41 D1 X0.\n{0}\nX40.\nG40 Y60."
    registers = Registers(radii={1: 5.0})
    word = good(text.format("Y40. ,R8."), registers=registers, **CUT)
    out = good(text.format("Y32.\nG2 X8. Y40. R8.\nG1"), registers=registers)
    assert np.abs(word.end - out.end).max() < 1e-9
    assert np.abs(word.arc_sweep - out.arc_sweep).max() < 1e-9


@pytest.mark.parametrize(("blocks", "line", "what"), [
    ("G1 X10. ,C12.\nY50.", 3, "needs 12.000 mm of both lines"), ("G1 X10. ,R2.\nG0 Y5.", 3, "between no two G1 lines"),
    ("G1 X10. ,R2.\nG2 X20. I5. J0.", 3, "between no two G1 lines"), ("G1 X10. ,R2.\nY5. Z1.", 3, "between no two G1 lines"),
    ("G1 X10. ,R2.\nM30", 3, "no line follows ,R in line 2"), ("G0 X10. ,R2.\nY5.", 2, "G1 line only"),
    ("G1 X10. ,R-2.\nY5.", 2, "not negative"), ("G4 P5 ,C2.", 2, "G1 line only"), ("G1 X10. ,C", 2, "has no number"),
    ("G1 X10. ,D2.", 2, '"," means nothing here'), ("G51 P2.\nG1 X10. ,R2.\nY5.", 3, "while scaling or G93"),
    ("G1 X10. ,R2.\nG41 D1 Y5.", 3, "still open here"), ("G1 X10. ,R2.\nG55\nY5.", 3, "still open here"),
    ("G1 X10. ,C2.\nX5.", 3, "goes straight back"), ("G1 X10. ,R2.\nX-5.", 3, "goes straight back"),
    ("G41 D1 G1 X10. ,R2.\nG40\nG28 Z0.", 4, "still open here"), ("G1 X10. ,R2.\nG52 X5.\nY5.", 3, "still open here"),
])  # fmt: skip
def test_refusals(blocks, line, what):
    registers = Registers(radii={1: 1.0}, offsets={"G55": WorkOffset(5.0)})
    problem = read(HEAD + blocks + "\nX99.\nM30" * (not blocks.endswith("M30")), registers=registers, **CUT).problems[0]
    assert what in problem.what
    assert problem.span.line == line


def test_no_corner_is_no_corner():
    assert ends(good(f"{HEAD}G1 X10. ,R2.\nX20.\nM30", **CUT)) == [(L, (10, 0, 0)), (L, (20, 0, 0))]
    assert ends(good(f"{HEAD}G1 X10. ,C0\nY5.\nM30", **CUT)) == [(L, (10, 0, 0)), (L, (10, 5, 0))]


def test_refused_by_default_and_opened_by_what_the_text_needs():
    assert read(f"{HEAD}G1 X10. ,C2.\nY8.").problems[0].key == "corner_words"
    assert infer([Source("t.nc", f"{HEAD}G1 X10. ,C2.\nY8.\nM30")]).profile.corner_words == "cut the corner"


@settings(max_examples=200)
@given(st.floats(0.05, 3.05), st.booleans(), st.floats(0.1, 4.0), st.sampled_from("CR"), st.floats(0.0, 6.28))
def test_any_corner(turn, left, size, letter, heading):
    """Ends lie on the lines, `size` from the corner; an arc touches both lines."""
    sign = 1.0 if left else -1.0
    corner = np.array([3.0, -2.0])
    a = np.array([math.cos(heading), math.sin(heading)])
    b = np.array([math.cos(heading + sign * turn), math.sin(heading + sign * turn)])
    back = size if letter == "C" else size * math.tan(turn / 2)
    long = back + 1.0
    cut = cut_corner(tuple(corner - long * a), tuple(corner), tuple(corner + long * b), letter=letter, size=size)
    assert np.allclose(cut.first_end, corner - back * a, atol=1e-9 * long)
    assert np.allclose(cut.second_start, corner + back * b, atol=1e-9 * long)
    if letter == "R":
        centre = np.array(cut.centre)
        assert math.dist(centre, cut.first_end) == pytest.approx(size)
        assert math.dist(centre, cut.second_start) == pytest.approx(size, rel=1e-6)
        assert np.dot(np.array(cut.first_end) - centre, a) == pytest.approx(0.0, abs=1e-9 * long)
        assert cut.sweep == pytest.approx(sign * turn)
    assert cut_corner(tuple(corner - 0.5 * back * a), tuple(corner), tuple(corner + long * b), letter=letter,
                      size=size) == pytest.approx(back)  # fmt: skip
