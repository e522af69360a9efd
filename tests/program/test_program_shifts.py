"""Shifts, rotation, scaling, mirror, polar coordinates and register writes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.program.registers import Registers, WorkOffset
from tests.program.compare import ends, good, read

R, L = "RAPID", "LINE"


def points(text, **behaviours):
    return [end for _, end in ends(good(text, **behaviours))]


def test_local_shift_moves_every_offset_until_cancelled():
    assert points("G21 G0 X1. Y1.\nG52 X10. Y20.\nX1. Y1.\nG55 X2.\nG52 X0. Y0.\nX1. Y1.") == [(1, 1, 0), (11, 21, 0), (12, 21, 0),
                                                                                               (1, 1, 0)]


def test_preset_makes_the_place_read_what_it_says():
    text = "G21 G0 X5. Y6.\nG92 X0. Y100.\nX1.\nG92.2\nX0.\nG92.3 X0.\nX0.\nG92.1\nX0."
    assert points(text) == [(5, 6, 0), (6, 6, 0), (0, 6, 0), (5, 6, 0), (0, 6, 0)]
    slugs = {remark.slug for remark in read("G21 G0 X5.\nG92 X0.\nX1.\nM30").remarks}
    assert {"work shifted by G92", "G92 shift left in force"} <= slugs


def test_rotation_about_a_centre_in_each_plane():
    assert points("G21 G0 G68 X10. Y0. R90.\nX20. Y5.\nG69\nX0. Y0.") == [(5, 10, 0), (0, 0, 0)]
    assert points("G21 G0 G18 G68 X0. Z0. R90.\nZ10.\nG69 X1.") == [(10, 0, 0), (1, 0, 0)]


def test_rotation_without_a_centre_turns_about_where_the_tool_is():
    assert points("G21 G0 X10. Y10.\nG68 R180.\nX12. Y10.") == [(10, 10, 0), (8, 10, 0)]


def test_rotated_arc_stays_an_arc_and_one_in_another_plane_becomes_chords():
    path = good("G21 G17 G1 F10. G68 X0. Y0. R45.\nX10. Y0.\nG3 X0. Y10. I-10.")
    assert path.arc_centre[0].tolist() == pytest.approx([0, 0, 0], abs=1e-12)
    assert path.arc_sweep[0] == pytest.approx(math.pi / 2)
    path = good("G21 G17 G1 F10. G68 X0. Y0. R45.\nX10. Y0.\nG18 G3 X0. Z10. I-10. K0.")
    chords = path.end[1:]
    radii = np.hypot(np.hypot(chords[:, 0], chords[:, 1]), chords[:, 2])
    assert np.abs(radii - 10).max() < 1e-9
    middle = (path.start[1:] + path.end[1:]) / 2
    assert np.linalg.norm(middle, axis=1).min() > 10 - 0.0005 - 1e-9


def test_scaling_and_mirror():
    assert points("G21 G0 G51 X10. Y0. Z0. P2.\nX15. Y5.\nG50\nX1. Y1.") == [(20, 10, 0), (1, 1, 0)]
    assert points("G21 G0 G51 X0. Y0. Z0. I2. J-1.\nX15. Y5.") == [(30, -5, 0)]
    path = good("G21 G1 F10. G51.1 X0.\nX10. Y0.\nG3 X0. Y10. I-10. J0.\nG50.1 X0.\nG1 X1.")
    assert path.end[0].tolist() == [-10, 0, 0]
    assert path.arc_sweep[0] == pytest.approx(-math.pi / 2)
    assert "scaled differently" in read("G21 G1 F1. G51 X0. Y0. I2. J1. K1.\nX10.\nG3 X0. Y10. I-10.").problems[0].what


def test_polar_coordinates():
    assert points("G21 G0 G16 X10. Y90.\nY0.\nG91 Y180.\nG90 G15 X1. Y1.") == [(0, 10, 0), (10, 0, 0), (-10, 0, 0), (1, 1, 0)]


def test_bolt_circle_in_polar_coordinates():
    path = good("G21 G90 G0 Z5. S100 M3\nG16\nG99 G81 X20. Y30. Z-5. R1. F10.\nG91 Y60. K5\nG15 G90 G80")
    holes = path.end[path.kind == 1][:, :2]
    angles = np.radians(30 + 60 * np.arange(6))
    assert np.abs(holes - 20 * np.stack([np.cos(angles), np.sin(angles)], 1)).max() < 1e-9


def test_program_writes_offsets():
    path = good("G21 G0 X0. Y1.\nG10 L2 P2 X100. Y50. R90.\nG55 X10. Y0.\nG91 G10 L2 P2 X1.\nG90 X10. Y5.")
    frames = [path.frames[i] for i in path.frame.tolist()]
    assert frames[1].shift == (100, 50, 0)
    assert frames[1].rotation == pytest.approx(math.pi / 2)
    assert frames[2].shift == (101, 50, 0)
    assert "program writes a work offset" in {remark.slug for remark in read("G10 L2 P1 X1.").remarks}


def test_both_meanings_of_l20():
    registers = Registers(offsets={"G54": WorkOffset(10, 0, 0)})
    path = good("G21 G0 X5.\nG10 L20 P3 X1.\nG54.1 P3 X2.", registers=registers)
    assert path.frames[path.frame[-1]].shift[0] == 1
    path = good("G21 G0 X5.\nG10 L20 P1 X1.\nX2.", registers=registers, g10_l20="position reads")
    assert path.frames[path.frame[-1]].shift[0] == 14
    assert path.start[-1, 0] == 1


def test_tool_registers_by_program():
    path = good("G21 G10 L10 P1 R100.\nG10 L11 P1 R0.5\nG43 H1 G0 Z1.\nG10 L10 P1 R90.\nZ1.")
    assert [path.frames[i].length_applied for i in path.frame.tolist()] == [100.5, 90.5]
    path = good("G21 G90 G10 L12 P1 R10.\nG1 F1. X-20.\nG41 D1 X0.\nY10.\nG40 X-20.", radius_registers="diameter")
    assert path.end[1, 0] == -5
    path = good("G21 G0 Z-50.\nG10 L10 P1 Z10.\nG43 H1 Z10.\nX1.", tool_registers="from position")
    assert path.frames[path.frame[-1]].length_applied == -60
    assert path.end[-1, 2] == 10


def test_g44_takes_the_length_off():
    path = good("G21 G0 X1.\nG44 H1 Z5.\nG49 Z5.", registers=Registers(lengths={1: 30.0}))
    assert [path.frames[i].shift[2] for i in path.frame.tolist()] == [0.0, -30.0, 0.0]
    assert path.start[1, 2] == 30.0


def test_a_change_of_length_moves_only_where_the_profile_says_so():
    registers = Registers(lengths={1: 100.0})
    assert len(good("G21 G0 Z10.\nG43 H1", registers=registers)) == 1
    moved = good("G21 G0 Z10.\nG43 H1", registers=registers, length_change_moves="yes")
    assert moved.start[1, 2] == -90
    assert moved.end[1, 2] == 10


@pytest.mark.parametrize(("text", "behaviour", "value", "length"), [
    ("T5 M6\nG43 Z1.", "length_without_h", "current tool", 50.0), ("G43 H2\nG49\nG43 Z1.", "length_without_h", "last H", 20.0),
    ("G43 Z1.", "length_without_h", "zero", 0.0), ("T5.2 M6\nG43 Z1.", "t_word", "number.register", 20.0),
])  # fmt: skip
def test_which_length_register_acts(text, behaviour, value, length):
    behaviours = {"length_without_h": "current tool"} | {behaviour: value}
    path = good("G21 G0 " + text, registers=Registers(lengths={2: 20.0, 5: 50.0}), first_motion="G0", **behaviours)
    assert path.frames[path.frame[-1]].length_applied == length


def test_three_hundred_extended_offsets():
    registers = Registers(offsets={"G54.1 P300": WorkOffset(-1.0, -2.0, -3.0)})
    path = good("G21 G90 G54.1 P300\nG0 X5.", registers=registers)
    assert [path.frames[i].offset for i in path.frame.tolist()] == ["G54.1 P300"]
