"""Words whose digits matter, and contours that break off where the program stops."""

import pytest

from setwright.program.interpret import interpret
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.source import Source


@pytest.mark.parametrize(
    ("word", "tool", "register"), [("T10.10", 10, 10), ("T1.1", 1, 1), ("T7.03", 7, 3), ("T4", 4, 4), ("t 20.20", 20, 20)]
)
def test_the_zero_behind_the_point_counts(word: str, tool: int, register: int) -> None:
    text = f"%\n{word}\nM6\nG0 G90 G43 X0 Y0 Z10 S100 M3\nG1 Z0 F100\nM30\n"
    read = interpret(
        [Source("p.nc", text)], profile=Profile(t_word="number.register", length_without_h="current tool"), registers=Registers()
    )
    assert [(use.number, use.length_registers) for use in read.tools] == [(tool, (register,))]


def test_a_contour_that_cannot_begin_is_a_located_stop_at_the_end_of_the_text_too() -> None:
    text = "G21 G17 G90 G54\nG0 X0 Y0 Z0 F100.\nG42 G3 I100. D1\n"
    read = interpret([Source("p.nc", text)], profile=Profile(), registers=Registers(radii={1: 5.0}))
    assert read.end == "stopped"
    assert "begins on an arc" in read.problems[0].what
    assert read.stopped_at is not None
    assert read.stopped_at.line == 3
