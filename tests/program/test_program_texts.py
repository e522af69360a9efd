"""Programs run again with other registers: read once, run each time."""

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.program import library
from setwright.program.grammar import read_line
from setwright.program.interpret import interpret
from setwright.program.library import Texts
from setwright.program.profile import Profile
from setwright.program.registers import Registers, WorkOffset
from setwright.program.source import Source

PROFILE = Profile()
MAIN = """O1
G21 G90 G54
T1 M6
G0 G43 H1 Z5.
#1=0
WHILE [#1 LT 3] DO1
G1 X[10.*#1] Y#500 Z-1. F100
#1=#1+1
END1
M98 P2
G1 X[1
M30
"""
SUB = "O2\nG91 G1 X1.\nM99\n"
SOURCES = (Source("main.nc", MAIN), Source("sub.nc", SUB))


def run(number, texts, profile=PROFILE):
    registers = Registers(offsets={"G54": WorkOffset(-100.0 - number, 0.0, -300.0)}, lengths={1: 100.0 + number},
                          variables={500: float(number)})  # fmt: skip
    return interpret(SOURCES, profile=profile, registers=registers, texts=texts)


@pytest.fixture
def read(monkeypatch):
    """Every line that is read."""
    lines = []

    def noted(text, line, profile):
        lines.append((text.name, line))
        return read_line(text, line, profile)

    monkeypatch.setattr(library, "read_line", noted)
    return lines


def test_what_was_read_is_not_read_again_and_says_the_same(read):
    texts, rows = Texts(PROFILE), set()
    for number in range(3):
        again, anew = run(number, texts), run(number, None)
        assert np.array_equal(again.path.end, anew.path.end)
        for name in ("end", "problems", "remarks", "registers", "tools", "programs"):
            assert getattr(again, name) == getattr(anew, name)
        assert [problem.span.line for problem in again.problems] == [11]
        rows.add(again.path.end.tobytes())
    assert len(rows) == 3
    read.clear()
    run(7, texts)
    assert read == []


def test_under_another_profile_it_is_read_anew(read):
    texts = Texts(PROFILE)
    run(0, texts)
    read.clear()
    run(0, texts, Profile(bare_n="refuse"))
    assert read


def test_what_is_no_text_is_refused_each_time():
    texts = Texts(PROFILE)
    for _ in range(2):
        with pytest.raises(InputRefused, match="not a part program"):
            interpret([Source("x.nc", bytes(range(8)) * 40)], profile=PROFILE, registers=Registers(), texts=texts)
