"""Registers: conversion between conventions, digits, G10, read-back."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import setwright.demo
from setwright.base.errors import InputRefused
from setwright.base.units import written
from setwright.jobfolder.load import load_job
from setwright.kit.station import kit
from setwright.touch.registers import Entry, convert_lengths, g10_block, mixed_conventions, read_back
from setwright.touch.solution import Estimate
from setwright.touch.station import touch
from tests.touch.test_touch_station import bore_contacts, top_contact
from tests.touch.workshop import kit_of, readings

CONVENTIONS = ("from gauge line", "tip on datum", "reference tool")


def entry(register, axis, value, *, now=None, step=0.001):
    return Entry(register, axis, Estimate(value, 0.002, 2.0, 0.004, math.inf, ()), step, (), now)


@given(z=st.floats(-600, -100), one=st.floats(50, 200), two=st.floats(50, 200), have=st.sampled_from(CONVENTIONS),
       want=st.sampled_from(CONVENTIONS))  # fmt: skip
def test_sums_survive_every_conversion(z, one, two, have, want):
    start = {"from gauge line": (z, {1: one, 2: two}), "tip on datum": (0.0, {1: z + one, 2: z + two}),
             "reference tool": (z + one, {1: 0.0, 2: two - one})}  # fmt: skip
    offset, lengths = convert_lengths(*start[have], have=have, want=want, known=(1, one), reference=1)
    assert offset == pytest.approx(start[want][0], abs=1e-9)
    assert lengths[1] == pytest.approx(start[want][1][1], abs=1e-9)
    assert lengths[2] == pytest.approx(start[want][1][2], abs=1e-9)


def test_conversion_without_a_true_length_is_refused():
    with pytest.raises(InputRefused, match="one true length"):
        convert_lengths(0.0, {1: -300.0}, have="tip on datum", want="from gauge line")
    with pytest.raises(InputRefused, match="reference tool"):
        convert_lengths(0.0, {1: -300.0}, have="tip on datum", want="reference tool", reference=4)


@pytest.mark.parametrize(
    ("value", "step", "units", "text"),
    [(-312.4474, 0.001, "mm", "-312.447"), (-0.0004, 0.001, "mm", "0.000"), (12.3456789, 0.0001, "mm", "12.3457"),
     (254.0, 0.001, "inch", "10.0000"), (7.0, 1.0, "mm", "7")],
)  # fmt: skip
def test_digits(value, step, units, text):
    assert written(value, step, units) == text


@pytest.mark.parametrize(
    ("now", "why"),
    [(-215.0, ""), (215.0, "the sign is wrong"), (-251.0, "1 and 5 are exchanged"),
     (-21.5, "the decimal point is in the wrong place"), (-815.0, "8 stands where 2 should be"), (-112.3, "off by +102.7")],
)  # fmt: skip
def test_read_back_says_which_digit(now, why):
    said = read_back(entry("G54", "Y", -215.0, now=now))
    assert said.endswith(why)
    assert bool(said) == bool(why)


def test_g10_names_plain_and_extended_offsets():
    numbers = [entry("G54", "X", -1.0), entry("G54", "Y", 2.0), entry("G59", "Z", 3.5), entry("G54.1 P7", "X", 4.0)]
    assert g10_block(numbers).splitlines()[1:] == ["G21", "G90 G10 L2 P1 X-1.000 Y2.000", "G90 G10 L2 P6 Z3.500",
                                                   "G90 G10 L20 P7 X4.000"]  # fmt: skip
    assert g10_block([entry("fixture 3", "X", 1.0)]) == ""


def test_length_of_another_convention_is_noticed(tmp_path):
    held = {"offset": {"G54": {"x": -300, "y": -215, "z": -477}}, "tool": {"1": {"length": -345.518}}}
    kit = kit_of(tmp_path, registers=held)
    got = touch(kit, readings(*bore_contacts(), top_contact(131.482)))
    said = mixed_conventions(kit, got.solution, kit.folder.job.registers)
    assert said == ['length 1 holds -345.518: that is a length "tip on datum", but this machine holds lengths "from gauge line"']
    assert any(finding.slug == "lengths-of-two-conventions" for finding in got.findings)


def test_a_register_the_program_compensates_with_is_typed_read_back_and_called_by_its_letter():
    """The bearing cap's end mill cuts with D2; nobody has measured it, so that its nominal 16 mm is what to type, half of it."""
    folder = load_job(Path(setwright.demo.__file__).parent / "bearing-cap")
    setup = folder.job.setup[0]
    stripped = setup.model_copy(update={"tool": [tool.model_copy(update={"preset": tool.preset.model_copy(update={"radius": None})})
                                                 for tool in setup.tool]})  # fmt: skip
    result = touch(kit(folder, stripped))
    radius = next(entry for entry in result.entries if entry.name == "radius 2")
    assert (radius.text(), radius.now) == ("8.000", None)
    assert "type it = 8.000 into radius 2" in result.keystrokes()
    assert [shown.right for shown in result.read_off(["D2 8.000", "D2 8.010", "radius 2 8.000"])] == [True, False, True]
    assert not any(entry.name == "radius 1" for entry in result.entries)  # the face mill cuts without compensation
