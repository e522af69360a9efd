"""Expressions and variables against arithmetic done by hand or by Python."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.program.compare import ends, good, read

VALUES = [
    ("1+2*3", 7.0), ("[1+2]*3", 9.0), ("2**3*2", 16.0), ("-2**2", 4.0), ("10/4", 2.5), ("10-4-3", 3.0), ("7 MOD 4", 3.0),
    ("SIN[30]", 0.5),
    ("COS[60]", 0.5), ("TAN[45]", 1.0), ("ASIN[1]", 90.0), ("ACOS[0]", 90.0), ("ATAN[1]/[1]", 45.0), ("ATAN[1,-1]", 135.0),
    ("ATAN[2]", None),
    ("SQRT[2]", math.sqrt(2)), ("ABS[-3.5]", 3.5), ("ROUND[2.5]", 3.0), ("ROUND[-2.5]", -3.0), ("FIX[-2.7]", -2.0),
    ("FUP[2.1]", 3.0),
    ("FUP[-2.1]", -3.0), ("LN[EXP[2]]", 2.0), ("POW[2,10]", 1024.0), ("BIN[18]", 12.0), ("BCD[12]", 18.0), ("6 AND 3", 2.0),
    ("6 OR 3", 7.0),
    ("6 XOR 3", 5.0), ("1 EQ 1", 1.0), ("1 NE 1", 0.0), ("2 GT 1", 1.0), ("2 LE 1", 0.0), ("[1 LT 2] AND [3 GE 3]", 1.0),
    ("SIN[180]", 0.0),
    ("COS[90]", 0.0), ("COS[-270]", 0.0), ("SIN[-30]", -0.5), ("SIN[390]", 0.5), ("--3", 3.0), (".5+5.", 5.5), ("#0", 0.0),
    ("#0+1", 1.0),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value"), VALUES)
def test_value(text, value):
    if value is None:
        value = math.degrees(math.atan2(2, 1))
    path = good(f"G21 #1=[{text}]\nG1 F1. X9999. Y[#1]")
    assert path.end[0, 1] == pytest.approx(value, abs=1e-12)


@pytest.mark.parametrize("degrees", [0.1, 17.0, 89.5, 91.0, 271.3, -33.3, 725.0])
def test_functions_agree_with_the_library(degrees):
    r = math.radians(degrees)
    path = good(f"G21 G1 F1. X[SIN[{degrees}]] Y[COS[{degrees}]] Z[TAN[{degrees}]]")
    assert path.end[0].tolist() == pytest.approx([math.sin(r), math.cos(r), math.tan(r)], abs=1e-12)


def test_vacant_is_not_zero_and_leaves_a_word_out():
    path = good("G21 G1 F1. X5. Y6.\nX#5 Y1.\n#5=0\nIF[#5 EQ #0] GOTO9\nX#5\nIF[#6 EQ #0]THEN #7=3\nY#7\nN9 M30")
    assert ends(path) == [("LINE", (5, 6, 0)), ("LINE", (5, 1, 0)), ("LINE", (0, 1, 0)), ("LINE", (0, 3, 0))]


def test_indirect_variables_and_assignments_by_number():
    path = good("G21 #1=100\n#[#1+1]=4.5\n#2=101\nG1 F1. X##2 Y#[#1+1] Z-#101")
    assert ends(path) == [("LINE", (4.5, 4.5, -4.5))]


def test_old_value_counts_inside_the_block():
    assert ends(good("G21 G1 F1. #3=1\n#3=6 X#3\nX#3")) == [("LINE", (1, 0, 0)), ("LINE", (6, 0, 0))]


def test_system_variables_show_position_and_modes():
    text = "G21 G55 G90 G1 F50. X3. Y4. Z5.\n#101=#5041\n#102=#5002\n#103=#4003\n#104=#4014\n"
    text += "#105=#4109\n#106=#4001\nG91 X#101 Y#102 Z#106\nG90 X#103 Y#104 Z#105"
    assert ends(good(text)) == [("LINE", (3, 4, 5)), ("LINE", (6, 8, 6)), ("LINE", (90, 55, 50))]


def test_offset_variables_can_be_read_and_written():
    path = good("G21 G54 G0 X1.\n#5221=#5221+10.\nX1.\n#7001=3.\nG54.1 P1 X0.")
    assert [frame.shift[0] for frame in (path.frames[i] for i in path.frame.tolist())] == [0.0, 10.0, 3.0]
    assert path.start[:, 0].tolist() == [0.0, -9.0, 8.0]


@pytest.mark.parametrize(("text", "what"), [
    ("#1=1/0", "division by zero"), ("#1=SQRT[-1]", "no answer"), ("#1=LN[0]", "no answer"), ("#1=EXP[1000]", "no answer"),
    ("#0=1", "#0 is always vacant"),
    ("#50=1", "no variable #50"), ("#1=#3001", "#3001 is not known"), ("#1=[[-8]**0.5]", "no answer"),
    ("#1=7 MOD 0", "division by zero"),
    ("#1=1.5\n#[#1]=2", "no variable #1.5"),
])  # fmt: skip
def test_what_has_no_value_stops_with_its_place(text, what):
    result = read(text)
    assert result.end == "stopped"
    assert what in result.problems[0].what
    assert result.problems[0].span.line == text.count("\n") + 1


@pytest.mark.parametrize(("text", "column", "what"), [
    ("#1=[2+3", 4, "not closed"), ("#1=SIM[2]", 4, "no function"), ("#1=2+", 6, "a value is missing"),
    ("#=2", 1, "not followed by the number"),
    ("#1 5", 4, '"=" is missing'), ("X[1+]", 5, "a value is missing"), ("IF[1 EQ 1] X5.", 12, "GOTO or THEN"),
    ("WHILE[1 EQ 1] GOTO5", 15, "DO is missing"),
])  # fmt: skip
def test_what_cannot_be_read_is_shown(text, column, what):
    result = read("G21\n" + text)
    problem = result.problems[0]
    assert what in problem.what
    assert (problem.span.line, problem.span.column) == (2, column)


def test_numbers_beyond_measure_are_refused():
    blocks = ("X[EXP[600]]", "G91 X[EXP[40]]", "G1 F[EXP[50]] X1.", "#5221=EXP[300]", "G51 X0. P[EXP[100]]", "X2000000000.",
              "G68 R[EXP[300]]")
    for text in blocks:
        result = read(f"G21 G1 F1.\nX1.\n{text}\nX5.")
        assert result.end == "stopped", text
        assert "beyond all measure" in result.problems[0].what
    loop = "G21 G1 F1. X1.\n#1=1\nWHILE[1 EQ 1]DO1\n#1=#1*10\nG1 X#1\nEND1"
    assert "beyond all measure" in read(loop).problems[0].what


def test_an_endless_expression_is_refused_and_a_long_one_is_not():
    assert good("G21 G1 F1. X[" + "+".join(["1"] * 150) + "]").end[0, 0] == 150
    assert "too long" in read("G21 G1 F1. X[" + "+".join(["1"] * 1500) + "]").problems[0].what


def test_deep_nesting_is_refused_not_a_crash():
    assert read("#1=" + "[" * 5000 + "1" + "]" * 5000).problems
    assert read("#1=" + "[" * 500 + "1" + "]" * 500).problems
    assert read("#1=" + "-" * 500 + "1").problems


@given(st.recursive(st.floats(-1e3, 1e3, allow_nan=False).map(lambda v: f"{v:.3f}"),
                    lambda inner: st.tuples(inner, st.sampled_from("+-*"), inner).map(lambda t: f"[{t[0]}{t[1]}{t[2]}]"),
                    max_leaves=12))  # fmt: skip
def test_arithmetic_agrees_with_python(text):
    expected = eval(text.replace("[", "(").replace("]", ")"))
    assume(abs(expected) < 1e9)  # what lies beyond is refused, see above
    path = good(f"G21 G0 X1. Y1. Z1.\nG1 F1. X[{text}]")
    if len(path) > 1:
        assert path.end[1, 0] == expected
    else:
        assert expected == 1.0
