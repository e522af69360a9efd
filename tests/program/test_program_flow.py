"""Subprograms, macro calls, loops and jumps; and the fast ways through them against the careful one."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.program import hot, plain, run
from setwright.program.infer import infer
from setwright.program.interpret import interpret
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.run import Limits
from setwright.program.source import Source
from tests.program.compare import ends, good, read

L, R = "LINE", "RAPID"


def xs(text, **behaviours):
    return [end[0] for _, end in ends(good(text, **behaviours))]


def test_subprogram_with_repeats_and_nested():
    text = "O1\nG21 G91 G0 X1.\nM98 P10 L2\nX100.\nM30\nO10\nX2.\nM98 P20\nM99\nO20\nX0.5\nM99"
    assert xs(text) == [1, 3, 3.5, 5.5, 6, 106]


def test_packed_repeats():
    assert xs("O1\nG21 G91 G0\nM98 P30010\nM30\nO10\nX2.\nM99", call_words="packed P") == [2, 4, 6]


def test_call_words_of_their_own_block_are_carried_out_first():
    assert xs("O1\nG21 G91 G0 X5. M98 P2\nM30\nO2\nX1.\nM99") == [5, 6]


def test_return_to_a_block_number():
    assert xs("O1\nG21 G91 G0\nM98 P2\nX100.\nN50 X1.\nM30\nO2\nX2.\nM99 P50") == [2, 3]


def test_local_calls():
    assert xs("G21 G91 G0\nM97 P100 L2\nM30\nN100 X3.\nM99", local_calls="M97") == [3, 6]
    assert "M97 is not understood" in read("M97 P100\nM30\nN100 M99").problems[0].what


def test_macro_call_arguments_levels_and_repeats():
    text = "O1\nG21 G90 G0 #1=7\nG65 P5 A1. B2. X3. Q4. L2\nG1 F1. X#1\nM30\nO5\n#100=#100+#1+#2+#24+#17\nG1 F1. X#100\n#1=99\nM99"
    assert xs(text) == [10, 20, 7]


def test_modal_call_after_each_move():
    text = "O1\nG21 G90 G0\nG66 P5 A-2.\nX1.\nX2.\nG67\nX3.\nM30\nO5\nG1 F10. Z#1\nG0 Z0.\nM99"
    assert [end for _, end in ends(good(text))] == [(1, 0, 0), (1, 0, -2), (1, 0, 0), (2, 0, 0), (2, 0, -2), (2, 0, 0), (3, 0, 0)]


def test_loops_nested_and_left_by_goto():
    text = "G21 G91 G0\n#1=0\nWHILE[#1 LT 3]DO1\n#2=0\nWHILE[#2 LT 2]DO2\nX1.\n"
    text += "#2=#2+1\nEND2\n#1=#1+1\nIF[#1 EQ 2]GOTO90\nEND1\nN90 X50.\nM30"
    assert xs(text) == [1, 2, 3, 4, 54]


def test_goto_searches_forward_then_from_the_beginning():
    assert xs("G21 G91 G0\nGOTO5\nN5 X1.\nIF[#1 EQ 1]GOTO9\n#1=1\nGOTO5\nN9 X10.\nM30") == [1, 2, 12]


def test_main_program_ending_in_m99_is_computed_once():
    result = read("G21 G91 G0 X1.\nM99")
    assert (result.end, len(result.path)) == ("M99", 1)
    assert "main program begins again" in {remark.slug for remark in result.remarks}


def test_m99_with_a_block_number_in_the_main_program_goes_there():
    assert xs("G21 G91 G0 X1.\nIF[#1 EQ 1]GOTO9\n#1=1\nM99 P5\nX100.\nN5 X2.\nM30\nN9 X9.") == [1, 3]


def test_alarm_and_stop_of_the_program_itself():
    result = read("G21 G0 X1.\nIF[1 EQ 1]THEN #3000=21 (NO BLANK)\nX2.")
    assert result.end == "stopped"
    assert "alarm 21 NO BLANK" in result.problems[0].what
    assert len(result.path) == 1
    path = good("#3006=1 (TURN THE PART)\nM30")
    assert [e.kind for e in path.events] == ["message", "stop", "end"]


@pytest.mark.parametrize(("text", "what"), [
    ("GOTO7", "no block N7"), ("END1", "closes no loop"), ("WHILE[1 EQ 2]DO1\nM30", "never closed"),
    ("M98 P77", "O77 is not here"), ("M98", "names no program"),
    ("O1\nM98 P2\nM30\nO2\nG4 P1", "ends without M99"), ("O1\nM98 P2\nM30\nO2\nG4 P1\nO3\nM99", "runs on into program O3"),
    ("O1\nG4 P1\nO2\nM30", "runs on into program O2"),
    ("G65 A1.", "names no program"), ("N1 M97 P9", "M97 is not understood"),
    ("M98 P" + "9" * 400, "beyond all measure"), ("M98 P2 L" + "9" * 400, "beyond all measure"),
    ("M99 P" + "9" * 400, "beyond all measure"), ("M98 P-2", "no program"), ("#1=" + "9" * 400, "beyond all measure"),
    ("O1\nM98 P2.5\nM30\nO2\nM99", "P2.5 is no program"), ("N2 G4 P1\n#1=2.5\nGOTO#1", "no block N2.5"),
])  # fmt: skip
def test_flow_that_leads_nowhere(text, what):
    result = read(text)
    assert result.end == "stopped"
    assert what in result.problems[-1].what


SPIRAL = """O1
G21 G17 G90 S900 M3
G0 X0. Y0. Z5.
G1 Z0. F300.
#1=0
WHILE[#1 LT 120]DO1
#2=#1*0.1
G1 X[#2*COS[#1*10]] Y[#2*SIN[#1*10]]
IF[#1 EQ 60]THEN #3=5
IF[#1 GE 90]GOTO20
G1 Z1.
N20 Z[-#1/100] F[300+#1]
#1=#1+1
END1
G0 Z5.
M30
"""


def test_loop_against_its_closed_form():
    path = good(SPIRAL)
    lines = path.line == 8
    k = np.arange(1, 120)
    expected = 0.1 * k[:, None] * np.stack([np.cos(np.radians(10 * k)), np.sin(np.radians(10 * k))], 1)
    assert np.abs(path.end[lines][:, :2] - expected).max() < 1e-12
    assert (path.line == 11).sum() == 90
    assert path.feed[path.line == 12].tolist() == [300.0 + i for i in range(120)]


@pytest.mark.parametrize("text", [SPIRAL, SPIRAL.replace("G21", "G20"), SPIRAL.replace("G0 X0.", "G52 X3. Y-1.\nG0 X0."),
                                  SPIRAL.replace("900 M3", "0")])  # fmt: skip
def test_fast_loops_do_what_the_careful_reader_does(text, monkeypatch):
    fast = read(text)
    monkeypatch.setattr(run, "run_hot", lambda runner, line, blocks, budget: line)
    slow = read(text)
    assert_equal_results(fast, slow)


def assert_equal_results(one, two):
    for name in ("kind", "start", "end", "arc", "feed", "line", "file", "state", "frame", "arc_centre", "arc_axis", "arc_sweep"):
        assert np.array_equal(getattr(one.path, name), getattr(two.path, name), equal_nan=name == "feed"), name
    assert one.path.states == two.path.states
    assert one.path.frames == two.path.frames
    assert one.path.events == two.path.events
    assert (one.blocks, one.remarks, one.problems, one.end, one.extents) == (two.blocks, two.remarks, two.problems, two.end,
                                                                             two.extents)


def plain_text(seed):
    rng = np.random.default_rng(seed)
    lines = ["G21 G90 G17", "S100 M3" if seed % 2 else "(no spindle)", "G0 X0. Y0. Z5." if seed % 3 else "X1.",
             "F100." if seed % 5 else ""]
    for _ in range(80):
        pick = rng.integers(0, 9)
        a, b, c = (f"{v:.3f}" for v in rng.uniform(-20, 20, 3))
        r = rng.uniform(1, 9)
        lines.append([f"G1 X{a} Y{b}", f"X{a}", f"G0 Z{c}", f"G91 X{a} Y{b}", f"G90 Z{c} F{abs(float(a)) + 1:.1f}",
                      f"G17 G2 I{a} J{b}\nG1", f"G{rng.integers(17, 20)}",
                      f"G17 G3 X{a} Y{b} R{160 + r:.3f}\nG1", f"G1 X{int(float(a))} (word) Y{b}"][pick])  # fmt: skip
    return "\n".join(lines)


@pytest.mark.parametrize("seed", range(24))
def test_the_compiled_reader_does_what_the_careful_one_does(seed, monkeypatch):
    text = plain_text(seed)
    fast = read(text, first_motion="G0")
    monkeypatch.setattr(plain.PlainRunner, "run", lambda self, line, last: line)
    slow = read(text, first_motion="G0")
    assert_equal_results(fast, slow)
    assert len(fast.path) > 5


def test_the_fast_ways_are_really_taken(monkeypatch):
    taken = []
    real = hot._move
    monkeypatch.setattr(hot, "_move", lambda runner, block: taken.append(block.line) or real(runner, block))
    good(SPIRAL)
    assert taken.count(8) > 100


@pytest.mark.parametrize("endless", [
    "G81 X1. Z-1. R1. F9.\nN1 X1. K900\nGOTO1", "N1 G13 Z-1. I1. K900. Q1. D0 F9.\nGOTO1", "F9.\nN1 G1 X1.\nX2. M8\nGOTO1",
])  # fmt: skip
def test_rows_made_one_by_one_have_a_limit_of_their_own(endless):
    result = interpret([Source("t.nc", f"G21 G90 S9 M3\n{endless}")], profile=Profile(pocket_circle="straight in"),
                       registers=Registers.nominal(), limit=Limits(single_rows=1000, rows_a_line=0))  # fmt: skip
    assert "has not ended after 1,000 moves" in result.problems[-1].what
    assert 1000 < len(result.path) < 1000 + 2 * 900 + 10  # one hole or level more at most
    assert infer([Source("t.nc", f"G21 G90 S9 M3\n{endless}")]).profile.units == "mm"


def test_runs_of_plain_motion_are_no_single_rows():
    text = "G21 G90 S9 M3 F9.\nG1 X0.5\n" + "\n".join(f"X{n}." for n in range(1, 3001)) + "\nM30"
    result = interpret([Source("t.nc", text)], profile=Profile(), registers=Registers.nominal(),
                       limit=Limits(single_rows=1000, rows_a_line=0))  # fmt: skip
    assert result.complete
    assert len(result.path) == 3001


@pytest.mark.parametrize(("words", "expected"), [
    ("I1. J2. K3. I4. J5. K6. I7.", {4: 1, 5: 2, 6: 3, 7: 4, 8: 5, 9: 6, 10: 7}),
    ("I1. I2. I3.", {4: 1, 7: 2, 10: 3}), ("A9. I1. J2. I3. B8.", {1: 9, 2: 8, 4: 1, 5: 2, 7: 3}),
    ("K3. J2. I1.", {4: 1, 5: 2, 6: 3}), (" ".join(f"I{n}." for n in range(1, 11)), {4 + 3 * k: k + 1 for k in range(10)}),
    ("I#20 J2. I[1+2]", {4: 0, 5: 2, 7: 3}),
])  # fmt: skip
def test_macro_arguments_in_groups_of_i_j_k(words, expected):
    asked = "\n".join(f"G1 X#{index}" for index in expected)
    path = good(f"G21 G90 F9. S1 M3 G0 X-5.\n#20=0\nG65 P2 {words}\nM30\nO2\n{asked}\nM99")
    assert path.end[1:, 0].tolist() == list(expected.values())


@pytest.mark.parametrize(("words", "what"), [
    ("J1. I2. I3.", "to which group I belongs is not clear"), ("I1. J2. J3. K4.", "to which group K belongs is not clear"),
    ("K#100 I1. I2.", "to which group I belongs is not clear"),
    ("D9. I1. I2.", "would set #7, which another word sets too"), (" ".join("I1." for _ in range(11)), "would set #34"),
])  # fmt: skip
def test_groups_that_controls_count_differently_are_refused(words, what):
    problem = read(f"G21 G90\nG65 P2 {words}\nM30\nO2\nM99").problems[0]
    assert what in problem.what
    assert problem.span.line == 2


def test_i_twice_in_any_other_block_is_refused():
    problem = read("G21 G90 G1 F9. X5.\nG2 I1. I2.\nM30").problems[0]
    assert "I stands twice" in problem.what
    assert (problem.span.line, problem.span.column) == (2, 8)


def test_a_long_program_may_make_more_rows_one_by_one():
    """A line drilled at each of 9,000 places: 27,000 rows, where a text of one line may make 1,000."""
    text = "G21 G90 S9 M3\nG81 X1. Z-1. R1. F9.\n" + "\n".join(f"X{n}." for n in range(2, 9001)) + "\nM30"
    result = interpret([Source("t.nc", text)], profile=Profile(), registers=Registers.nominal(),
                       limit=Limits(single_rows=1000, rows_a_line=4))  # fmt: skip
    assert result.complete
