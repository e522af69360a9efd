"""Circular pockets in one block: rows by hand, and by the second reader."""

from __future__ import annotations

import math

import pytest

from setwright.program.infer import infer
from setwright.program.registers import Registers
from setwright.program.source import Source
from tests.oracle import naive_interpreter
from tests.program.compare import assert_same_motions, ends, good, read

FOUR = Registers(radii={1: 4.0})
HEAD = "G21 G90 G17 S900 M3 F90. G0 X20. Y5. Z2.\n"
L, A = "LINE", "ARC"


@pytest.mark.parametrize(("code", "way"), [("G12", -1.0), ("G13", 1.0)])
def test_one_circle_is_reached_and_left_by_half_circles(code, way):
    path = good(f"{HEAD}{code} Z-3. I10. D1 F120.\nM30", registers=FOUR, pocket_circle="half circle in")
    # wall 10, tool 4: the centre runs on a circle of 6 about (20, 5); the half circles have radius 3
    assert ends(path)[1:] == [(L, (20, 5, -3)), (A, (26, 5, -3)), (A, (26, 5, -3)), (A, (20, 5, -3))]
    assert path.arc_centre.tolist() == [[23, 5, -3], [20, 5, -3], [23, 5, -3]]
    assert path.arc_sweep.tolist() == pytest.approx([way * math.pi, way * 2 * math.pi, way * math.pi])
    assert set(path.feed[1:].tolist()) == {120.0}
    assert set(path.line[1:].tolist()) == {2}


def test_circles_outward_by_steps_the_last_at_the_wall():
    path = good(f"{HEAD}G13 Z-3. I6. K11. Q2. D1\nM30", registers=FOUR, pocket_circle="straight in")
    radii = [2, 4, 6, 7]
    expected = [(L, (20, 5, -3)), (L, (22, 5, -3))]
    for radius, following in zip(radii, [*radii[1:], 0], strict=True):
        expected += [(A, (20 + radius, 5, -3)), (L, (20 + following, 5, -3))]
    assert ends(path)[1:] == expected


def test_repeats_go_deeper_under_g91():
    path = good(f"{HEAD}Z0.\nG91 G13 Z-1.5 I10. D1 L3\nG90 M30", registers=FOUR, pocket_circle="half circle in")
    depths = [end[2] for kind, end in ends(path)[2:] if kind == L]
    assert depths == [-1.5, -3.0, -4.5]


@pytest.mark.parametrize(("block", "what"), [
    ("G13 Z-1. I3. D1", "the tool radius 4.000 mm does not fit a circle of radius 3.000 mm"), ("G13 Z-1. D1", "G13 has no I"),
    ("G12 Z-1. I5. K9. D1", "G12 has no step"), ("G12 Z-1. I9. K5. D1", "less than that of its first circle"),
    ("G13 X1. I9. D1", "X in G13 is not understood"), ("G18 G13 I9. D1", "G13 outside G17"), ("G13 I9.", "has no D"),
    ("G13 I5. K9000. Q0.0001 D1", "G13 has no step"),
])  # fmt: skip
def test_refusals(block, what):
    problems = read(HEAD + block, registers=FOUR, pocket_circle="half circle in").problems
    assert what in problems[0].what
    assert problems[0].span.line == 2


def test_it_is_refused_where_the_profile_does_not_have_it():
    result = read(HEAD + "G13 I9. D1", registers=FOUR)
    assert result.problems[0].key == "pocket_circle"
    found = infer([Source("t.nc", HEAD + "G13 I9. D1\nM30")])
    assert found.profile.pocket_circle == "half circle in"
    assert [doubt.readings for doubt in found.ambiguities] == [("half circle in", "straight in")]


@pytest.mark.parametrize("block", ["G13 Z-1. I9.", "G12 Z-1. I2.5 K9. Q2.", "G20 G12 Z-0.1 I0.1 K0.3 Q0.1"])
def test_as_the_second_reader_has_it(block):
    text = f"{HEAD}{block} D0\nG1 X0.\nM30"
    assert_same_motions(good(text, pocket_circle="half circle in"), naive_interpreter.read(text), mismatch=0.0001)
