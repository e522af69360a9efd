"""Canned cycles: every move of every cycle, written out by hand from the words."""

from __future__ import annotations

import pytest

from tests.program.compare import ends, good, read

R, L = "RAPID", "LINE"
HEAD = "G21 G90 S1000 M3\nG0 X0. Y0. Z20.\n"


def depths(text, **behaviours):
    """(kind letter, x, y, z) of the rows after the approach."""
    return [(kind[0], *end) for kind, end in ends(good(HEAD + text, **behaviours))[1:]]


def test_simple_drilling_with_both_returns():
    text = "G99 G81 X10. Y5. Z-8. R2. F100.\nX20.\nG98 X30.\nG80\nG0 Z50."
    assert depths(text) == [
        ("R", 10, 5, 20), ("R", 10, 5, 2), ("L", 10, 5, -8), ("R", 10, 5, 2),
        ("R", 20, 5, 2), ("L", 20, 5, -8), ("R", 20, 5, 2),
        ("R", 30, 5, 2), ("L", 30, 5, -8), ("R", 30, 5, 20),
        ("R", 30, 5, 50),
    ]  # fmt: skip


def test_pecks_with_full_retract_and_with_chip_breaking():
    assert depths("G98 G83 X0. Y0. Z-10. R0. Q4. F50.", peck_clearance_mm=1.0)[1:] == [
        ("L", 0, 0, -4), ("R", 0, 0, 0), ("R", 0, 0, -3), ("L", 0, 0, -8), ("R", 0, 0, 0), ("R", 0, 0, -7), ("L", 0, 0, -10),
        ("R", 0, 0, 20),
    ]  # fmt: skip
    assert depths("G98 G73 X0. Y0. Z-10. R0. Q4. F50.", chip_break_mm=0.5)[1:] == [
        ("L", 0, 0, -4), ("R", 0, 0, -3.5), ("L", 0, 0, -8), ("R", 0, 0, -7.5), ("L", 0, 0, -10), ("R", 0, 0, 20),
    ]  # fmt: skip


def test_a_last_peck_of_nothing_is_not_made():
    assert [row[3] for row in depths("G98 G83 Z-10. R0. Q5. F50.", peck_clearance_mm=1.0) if row[0] == "L"] == [-5, -10]


@pytest.mark.parametrize(("code", "out"), [(85, "L"), (89, "L"), (84, "L"), (81, "R"), (82, "R"), (86, "R"), (88, "R")])
def test_how_each_cycle_leaves_the_hole(code, out):
    rows = depths(f"G99 G{code} X1. Y0. Z-5. R1. P100 F10.")
    assert rows[-2:] == [("L", 1, 0, -5), (out, 1, 0, 1)]


def test_tapping_reverses_the_spindle_at_the_bottom():
    path = good(HEAD + "G99 G84 X1. Y0. Z-5. R1. F1000.")
    speeds = [path.states[i].spindle_rpm for i in path.state.tolist()]
    assert speeds[-2:] == [1000.0, -1000.0]
    assert [e.value for e in path.events if e.kind == "spindle"] == [0.0, 1000.0, -1000.0, 1000.0]


def test_boring_stops_and_shifts():
    assert depths("G98 G76 X5. Y0. Z-5. R1. Q0.3 F10.", bore_shift="-X")[-3:] == [("R", 4.7, 0, -5), ("R", 4.7, 0, 20),
                                                                                  ("R", 5, 0, 20)]
    assert depths("G98 G87 X5. Y0. Z-5. R-9. Q2. F10.", bore_shift="+Y") == [
        ("R", 5, 0, 20), ("R", 5, 2, 20), ("R", 5, 2, -9), ("R", 5, 0, -9), ("L", 5, 0, -5), ("R", 5, 2, -5), ("R", 5, 2, 20),
        ("R", 5, 0, 20),
    ]  # fmt: skip


def test_only_an_oriented_stop_keeps_its_angle_and_only_while_the_spindle_stands():
    def oriented(text):
        path = good(HEAD + text)
        return "".join("o" if path.states[i].oriented else "-" for i in path.state.tolist()[1:])

    assert oriented("G98 G76 X5. Y0. Z-5. R1. Q0.3 F10.") == "---oo-"
    assert oriented("G98 G87 X5. Y0. Z-5. R-9. Q2. F10.") == "-ooo-ooo"
    assert oriented("G98 G86 X5. Y0. Z-5. R1. F10.") == "----"
    assert oriented("G1 X1. F10.\nM19\nG0 X2.\nM3\nX3.\nM19\nM5\nX4.\nM19\nX5.\nT2 M6\nX6.") == "-o--o-"


def test_dwell_at_the_bottom():
    path = good(HEAD + "G82 X1. Z-5. R1. P250 F10.")
    dwell = next(e for e in path.events if e.kind == "dwell")
    assert dwell.value == 0.25
    assert path.end[dwell.before - 1, 2] == -5


def test_incremental_levels_and_repeats():
    rows = depths("G91 G99 G81 X10. Y0. R-18. Z-5. F10. L3\nG80")
    assert [row[1:] for row in rows if row[0] == "L"] == [(10, 0, -3), (20, 0, -3), (30, 0, -3)]
    assert {row[3] for row in rows if row[0] == "R"} == {20, 2}


def test_a_repeat_of_nothing_only_remembers():
    rows = depths("G99 G81 Z-5. R1. F10. K0\nX3.\nG80")
    assert [row[1] for row in rows if row[0] == "L"] == [3]


def test_below_the_near_level_the_tool_goes_up_first():
    rows = [(k[0], *e) for k, e in ends(good("G21 G90 S1 M3\nG0 Z-3.\nG98 G81 X10. Z-8. R2. F9."))]
    assert rows[1:] == [("R", 0, 0, 2), ("R", 10, 0, 2), ("L", 10, 0, -8), ("R", 10, 0, 2)]


def test_cycle_in_another_plane_drills_along_its_normal():
    assert depths("G18 G99 G81 X3. Z4. Y-6. R2. F10.")[-2:] == [("L", 3, -6, 4), ("R", 3, 2, 4)]


def test_near_level_in_z_and_depth_in_i():
    assert depths("G99 G81 X1. Y0. Z2. I-7. F10.\nX4.", cycle_words="Z and I")[-3:] == [("R", 4, 0, 2), ("L", 4, 0, -7),
                                                                                        ("R", 4, 0, 2)]


def test_g80_with_a_motion_code_is_no_contradiction():
    assert depths("G81 Z-1. R1. F9.\nG0 G80 X9.")[-1] == ("R", 9, 0, 20)


@pytest.mark.parametrize(("text", "slug"), [
    ("G81 X1. Z5. R1. F10.", "cycle depth above its near level"), ("M4 G84 X1. Z-5. R1. F10.", "spindle wrong for the cycle"),
    ("G81 X1. Z-5. R1.", "no feed"),
])  # fmt: skip
def test_remarks(text, slug):
    assert slug in {remark.slug for remark in read(HEAD + text).remarks}


@pytest.mark.parametrize(("text", "what"), [
    ("G83 X1. Z-5. R1. F10.", "G83 has no Q"), ("G81 X1. Z-5. F10.", "G81 has no near level"),
    ("G81 X1. R1. F10.", "G81 has no depth"),
    ("G83 X1. Z-5. R1. Q0.0001 F10.", "would peck"), ("G83 X1. Z-5. R1. I1. J.2 K.3 F10.", "I in G83 is not understood"),
])  # fmt: skip
def test_refusals(text, what):
    result = read(HEAD + text)
    assert result.end == "stopped"
    assert what in result.problems[0].what


def test_boring_with_a_stop_for_the_person_stops_at_the_bottom_of_every_hole():
    path = good(HEAD + "G99 G88 X1. Y0. Z-5. R1. F10.\nX2.\nG80\nG0 Z50.")
    stops = [event.before for event in path.events if event.kind == "stop"]
    assert [tuple(path.end[before - 1].tolist()) for before in stops] == [(1, 0, -5), (2, 0, -5)]
    assert [event.value for event in path.events if event.kind == "spindle"] == [0.0, 1000.0]
