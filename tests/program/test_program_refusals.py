"""What is not understood is refused at its place, never guessed and never skipped."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.base.errors import InputRefused
from setwright.program.infer import infer
from setwright.program.interpret import interpret
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.run import Limits
from setwright.program.source import Source
from tests.program.compare import read

CASES = [
    ("G21 G0 X1.\nG12 I5.", 2, 1, "G12 is not understood"), ("G0 X1. X2.", 1, 8, "X stands twice"),
    ("G0 G1 X1.", 1, 4, "G0 and G1 in one block"),
    ("G1 X1 Y", 1, 7, "Y has no number"), ("G1 X--1", 1, 4, "X has no number"), ("G1 X1.2.3", 1, 8, "has no letter"),
    ("G1 X1 23", 1, 7, "a second number"),
    ("GO X1", 1, 1, "the letter O"), ("HELLO", 1, 1, "no word of a program"), ("G0 X1 ? Y2", 1, 7, "means nothing"),
    ("(open", 1, 1, "not closed"),
    ("G0 X1)", 1, 6, "closes nothing"), ("(a (b) c) G0", 1, 4, "bracket inside"), ("...", 1, 1, "line of dots"),
    ("%100", 1, 2, "a number follows"),
    ("G" + "1" * 400 + " X1.", 1, 1, "no G code"), ("M" + "9" * 400, 1, 1, "no M code"),
    ("X" + "#" * 3000 + "1", 1, 43, "nested more than 40 deep"), ("G1 X#[" + "#" * 500 + "1]", 1, 47, "nested more than 40 deep"),
    ("G0 X\u0663.", 1, 4, "X has no number"), ("G0 Y\uff13.", 1, 4, "Y has no number"),
    ("G0 X1 % Y1", 1, 7, "stands alone"), ("G0 X1 /2", 1, 7, "beginning of a block"), ("X1.", 1, 0, "before any G0"),
    ("G2 X5.", 1, 0, "neither centre nor radius"),
    ("G2 X5. R2. I3.", 1, 8, "R and a centre"), ("G2 X0. Y0. R5.", 1, 12, "ends where it begins"),
    ("G2 X10. Y0. R4.", 1, 13, "off its circle"),
    ("G2 X10. Y0. I4. J0.", 1, 13, "off its circle"), ("G2 X1. I0. J0.", 1, 8, "no radius"),
    ("G2 X10. I5. K1.", 1, 13, "outside the plane"),
    ("G43 Z1.", 1, 1, "G43 has no H"), ("G0 T1.5", 1, 4, "no tool number"), ("M77", 1, 1, "M77 is not understood"),
    ("G0 A5.", 1, 4, "rotary axis A"),
    ("G0 U5.", 1, 4, "the word U"), ("G4", 1, 1, "no time"), ("G1 X5. F-3.", 1, 8, "feed is negative"),
    ("S-100", 1, 1, "speed is negative"),
    ("G54.1 X0.", 1, 1, "no P"), ("G54.1 P900", 1, 7, "no offset"), ("G54.1 P301", 1, 7, "no offset"),
    ("G54.1 P0", 1, 7, "no offset"), ("G10 L2 X1.", 1, 1, "needs L and P"),
    ("G10 L7 P1", 1, 5, "L7 is not understood"),
    ("G92", 1, 1, "names no axis"), ("G68 X0. Y0.", 1, 1, "no angle"), ("G51 X0.", 1, 1, "no factor"),
    ("G91 G53 Z0.", 1, 5, "G53 under G91"), ("G96 S100", 1, 1, "G96 is not understood"),
    ("G1.55 X1.", 1, 1, "no G code"), ("N-5 G0", 1, 0, ""), ("G41.2 D1 X1.", 1, 1, "G41.2 is not understood"),
    ("G0 X1\x01", 1, 6, "means nothing"),
    ("G0 ,R5.", 1, 4, ",R is not understood"), ("G30 P2.5 Z0.", 1, 5, "no number of a reference point"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "line", "column", "what"), CASES)
def test_refusal(text, line, column, what):
    result = read(text)
    if not what:
        assert result.complete
        return
    assert result.end == "stopped"
    problem = result.problems[0]
    assert what in problem.what
    assert (problem.span.line, problem.span.column) == (line, column)
    assert problem.span.file == "t.nc"
    assert str(problem).startswith(f"t.nc:{line}")
    if column:
        assert "^" in str(problem)


@pytest.mark.parametrize("encoding", ["utf-8", "latin-1"])
def test_the_caret_stands_under_the_word_behind_other_letters(encoding):
    problem = read("(Fräse Ø8 größer) G0 M77".encode(encoding)).problems[0]
    assert problem.span.column == 22
    assert problem.span.excerpt().splitlines()[1].index("^") == problem.span.excerpt().splitlines()[0].index("M77")


def test_everything_wrong_with_the_text_is_told_at_once():
    result = read("G21 G0 X1.\nGO Y1.\nX1.\nZ?\n(open\nM30")
    assert [problem.span.line for problem in result.problems] == [2, 4, 5]
    assert result.stopped_at.line == 2
    assert len(result.path) == 1


def test_nothing_after_the_closing_tape_mark_is_read():
    assert read("%\nG21 G0 X1.\nM30\n%\nGO HOME AND READ THE MANUAL").complete


def test_what_is_no_text_at_all_is_refused_whole():
    with pytest.raises(InputRefused, match="not a part program"):
        read(bytes(range(256)) * 4)
    with pytest.raises(InputRefused, match="no program"):
        interpret([], profile=Profile(), registers=Registers.nominal())


def test_an_empty_text_has_an_empty_path():
    for text in ("", "\n\n", "%", "(nothing)"):
        result = read(text)
        assert result.complete
        assert len(result.path) == 0
        assert result.extents == {}


def test_a_word_without_effect_is_mentioned():
    assert [remark.text[:1] for remark in read("G21 G0 X1. Q5.").remarks if remark.slug == "word without effect"] == ["Q"]


PIECES = ["G0", "G1", "G2", "G3", "G17", "G18", "G28", "G30", "G40", "G41", "G42", "G43", "G49", "G52", "G53", "G54", "G54.1",
          "G65", "G66", "G67", "G68", "G69", "G51", "G50",
          "G51.1", "G50.1", "G73", "G76", "G81", "G83", "G84", "G87", "G80", "G90", "G91", "G92", "G92.1", "G10", "G16", "G15",
          "G4", "G93", "G95", "G94", "G20", "G21",
          "X", "Y", "Z", "I", "J", "K", "R", "F", "P", "Q", "L", "H", "D", "S", "T", "M3", "M6", "M98", "M97", "M99", "M30", "N",
          "O", "#", "=", "[", "]", "GOTO", "IF", "THEN",
          "WHILE", "DO", "END", "EQ", "LT", "+", "-", "*", "/", "SIN", "1", "2", "3.", "-0.5", "100", "1000000", ".", "(", ")",
          ";", "%", "\n", "\n", "\n", " ", "\t", "é", "\x00"]  # fmt: skip
LENIENT = {"macro": "yes", "local_calls": "M97", "length_without_h": "current tool", "radius_without_d": "current tool",
           "other_m_codes": "remark",
           "first_motion": "G1", "arc_mismatch_mm": 1.0, "word_without_number": "zero", "nested_comments": "count",
           "cycle_without_r": "current level"}  # fmt: skip


@settings(max_examples=100)
@given(st.lists(st.sampled_from(PIECES), max_size=60).map("".join), st.booleans())
def test_no_text_makes_it_fall(text, lenient):
    registers = Registers(radii={0: 1.0, 1: 2.0, 2: -3.0}, lengths={1: 50.0, 2: 60.0})
    try:
        result = interpret([Source("t", text)], profile=Profile(**(LENIENT if lenient else {})), registers=registers,
                           limit=Limits(blocks=2000, rows=20_000))
    except InputRefused:
        return
    assert result.end
    for problem in result.problems:
        assert problem.span is not None
        assert problem.what
    if result.end == "stopped":
        assert result.problems


@settings(max_examples=40)
@given(st.binary(max_size=200))
def test_no_bytes_make_inference_fall(data):
    try:
        inference = infer([Source("t", data)])
    except InputRefused:
        return
    assert inference.profile.name == "inferred"


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("N10 G91 G1 X1. F100\nM99 P10", "t.nc:2"),
        ("M98 P2 L99999\nM30\nO2\nM98 P3 L99999\nM99\nO3\nG91 G1 X1. F10\nM99", "t.nc:8"),
        ("#1=0\nN1 #1=#1+1\nG4 P0.1\nGOTO 1", "t.nc:4"),
    ],
)
def test_a_program_that_goes_round_for_ever_is_stopped_and_says_where(text: str, place: str) -> None:
    """At a count of blocks executed again, whatever they are; a hundredth of that is no reason to stop."""
    result = read(text)
    assert result.end == "stopped"
    assert "does not end: it executed 20,000 blocks again" in result.problems[-1].what
    assert result.problems[-1].what.endswith(place)
    assert any("does not end" in remark.text for remark in result.remarks)


def test_two_hundred_rounds_are_not_for_ever() -> None:
    result = read("G91 G1 F100\nM98 P2 L200\nM30\nO2\nG1 X1.\nM99")
    assert result.end == "M30"
    assert result.path.end[-1][0] == pytest.approx(200.0)


@pytest.mark.parametrize("line", ["#{0}=1", "X#{0}", "G{0}", "M{0}", "O{0}", "GOTO{0}", "IF[1EQ1]GOTO{0}", "WHILE[1EQ1]DO{0}"])
def test_a_number_of_four_hundred_digits_is_answered_for(line: str) -> None:
    """Beyond all floating numbers: refused in its line; as a block number, which nothing calls here, passed over."""
    result = read("G21 G90\n" + line.format("9" * 400) + "\nM30")
    assert {problem.span.line for problem in result.problems if problem.span} == {2}
    assert read("G21 G90 S1 M3\nN" + "9" * 400 + " G0 X1.\nM30").end == "M30"
