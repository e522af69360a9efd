"""What a tool change does to the axes: as the profile says, as the second reader has it, as texts need it."""

from __future__ import annotations

import pytest

from setwright.program.changes import changes_left
from setwright.program.infer import infer
from setwright.program.interpret import interpret
from setwright.program.profile import Profile
from setwright.program.registers import Registers, WorkOffset
from setwright.program.source import Source
from tests.oracle import naive_interpreter
from tests.program.compare import assert_same_motions, ends, good

R, L = "RAPID", "LINE"
PLACED = Registers(offsets={"G54": WorkOffset(-300.0, -200.0, -400.0)}, references={1: (0.0, -10.0, 0.0)},
                   lengths={1: 90.0, 2: 140.0})  # fmt: skip
LOW = "G21 G90 G17 S900 M3 T1 M6\nG0 G43 H1 Z5.\nX10. Y20.\nG1 Z-2. F90.\nX30.\nG0 Z{0}\nT2 M6\nG43 H2 X50.\nG1 Z-3.\nM30\n"


def moves_after_change(motion: str) -> list:
    path = good(LOW.format("5."), registers=PLACED, change_motion=motion)
    change = [event.before for event in path.events if event.kind == "tool change"][1]
    return ends(path)[5 if motion == "stays" else change - (1 if motion == "Z home" else 2) :]


def test_the_axes_stay_or_go_home_as_the_profile_says():
    # home is machine (0, -10, 0); the tip of H1 (90 mm) is then at work Z 310, X 300, Y 190, that of H2 at work Z 260
    assert moves_after_change("stays") == [(R, (50, 20, -45)), (L, (50, 20, -3))]
    assert moves_after_change("Z home") == [(R, (30, 20, 310)), (R, (50, 20, 260)), (L, (50, 20, -3))]
    assert moves_after_change("all home") == [(R, (30, 20, 310)), (R, (300, 190, 310)), (R, (50, 190, 260)), (L, (50, 190, -3))]


def test_the_way_home_belongs_to_the_line_of_the_change_and_to_the_old_tool():
    path = good(LOW.format("5."), registers=PLACED, change_motion="Z home")
    row = [event.before for event in path.events if event.kind == "tool change"][1] - 1
    assert path.line[row] == 7
    assert path.states[path.state[row]].tool == 1


def test_a_contour_under_compensation_is_closed_first():
    text = "G21 G90 S1 M3 T1 M6\nG1 F9. X-20.\nG41 D1 X0.\nY40.\nT2 M6\nG40 X-20.\nM30"
    path = good(text, registers=Registers(radii={1: 5.0}), change_motion="Z home")
    assert ends(path)[1:3] == [(L, (-5, 0, 0)), (L, (-5, 40, 0))]


@pytest.mark.parametrize("motion", ["stays", "Z home"])
@pytest.mark.parametrize("text", [LOW.format("5."), LOW.format("80."), LOW.replace("T2 M6", "T2\nM6 G0 X1. Y1.").format("5.")])
def test_as_the_second_reader_has_it(motion, text):
    expected = naive_interpreter.read(text, z_home_at=("M6",) if motion == "Z home" else ())
    assert_same_motions(good(text, change_motion=motion), expected, mismatch=0.0001)


@pytest.mark.parametrize(("text", "heights"), [
    (LOW.format("5."), [7.0]),  # the highest cut is X30 at Z-2
    (LOW.format("80."), [82.0]),
    (LOW.format("5.\nG91 G28 Z0.\nG90"), []),
    (LOW.format("5.\nG53 Z0."), []),
    (LOW.format("5.\nG91 G28 Z0.\nG90\nZ5."), [7.0]),
    (LOW.format("5.\nG91 G28 Z0.\nG28 X0. Y0.\nG90"), []),
    ("G21 T1 M6\nG0 Z5.\nT2 M6\nX5.\nM30", []),  # nothing is cut
])  # fmt: skip
def test_changes_left_to_the_control(text, heights):
    found = changes_left(good(text, registers=PLACED))
    assert [change.above_mm for change in found] == pytest.approx(heights)


@pytest.mark.parametrize(("text", "reading", "how"), [
    (LOW.format("5."), "Z home", "evidence"), (LOW.format("80."), "stays", "doubt"),
    (LOW.format("5.\nG91 G28 Z0.\nG90"), "stays", "silence"), (LOW.format("-2."), "Z home", "evidence"),
])  # fmt: skip
def test_what_a_text_needs_is_inferred(text, reading, how):
    found = infer([Source("t.nc", text)])
    assert found.profile.change_motion == reading
    assert ("change_motion" in [e.behaviour for e in found.evidence]) == (how == "evidence")
    assert ("change_motion" in [d.behaviour for d in found.ambiguities]) == (how == "doubt")


BEFORE = "G21 M6\nT1 (MILL)\nG0 Z5. S1 M3\nG1 Z-1. F9.\nM6\nT2 (DRILL)\nG0 Z5. X9.\nG1 Z-1.\nM30"


def test_a_change_word_that_comes_before_its_tool():
    found = infer([Source("t.nc", BEFORE)])
    assert (found.profile.tool_change, found.profile.change_motion) == ("T", "Z home")
    path = good(BEFORE, tool_change="T", change_motion="Z home")
    assert [event.value for event in path.events if event.kind == "tool change"] == [1.0, 2.0]
    assert path.line.tolist() == [3, 4, 5, 7, 8]
    expected = naive_interpreter.read(BEFORE, z_home_at=("M6", "T"))
    assert_same_motions(path, expected, mismatch=0.0001)
    for other in ("G21 T1 M6\nG0 Z5.\nM6\nT2\nG1 X1. F1.", "G21 M6\nG0 X1.\nT1\nM6\nT2", "G21 M6\nT1\nX1.\nM6\nM30"):
        assert infer([Source("t.nc", other)]).profile.tool_change == "M6"


def test_the_register_of_the_tool_in_the_spindle_stays_for_the_next_program():
    behaviours = {"t_word": "number.register", "length_without_h": "current tool"}
    texts = [Source("a.nc", "G21 G90 G17\nT3.7 M6\nG0 X1.\nM30\n"), Source("b.nc", "G21 G90 G17\nG0 G43 Z5.\nX2.\nM30\n")]
    result = interpret(texts, profile=Profile(**behaviours), registers=Registers.nominal())
    assert result.complete
    assert {state.length_register for state in result.path.states} == {0, 7}
