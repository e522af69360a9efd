"""The plain language: what each word does, with positions known from the text itself."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.program.interpret import interpret
from setwright.program.path import MoveKind
from setwright.program.profile import Profile
from setwright.program.registers import Registers, WorkOffset
from setwright.program.run import Limits
from setwright.program.source import Source
from tests.program.compare import ends, good, read

R, L, A = "RAPID", "LINE", "ARC"


def test_rapid_and_line_absolute_and_incremental():
    path = good("G21 G90 G0 X10. Y5.\nG1 Z-2. F100.\nG91 X1.5 Y-1.\nG90 X0.\nM30")
    assert ends(path) == [(R, (10, 5, 0)), (L, (10, 5, -2)), (L, (11.5, 4, -2)), (L, (0, 4, -2))]
    assert np.isnan(path.feed[0])
    assert path.feed[1:].tolist() == [100.0, 100.0, 100.0]
    assert path.line.tolist() == [1, 2, 3, 4]


def test_inches_are_exact_and_feed_follows_the_unit():
    path = good("G20 G1 X1. F10.\nG21 Y10.\nF20. X0.")
    assert ends(path) == [(L, (25.4, 0, 0)), (L, (25.4, 10, 0)), (L, (0, 10, 0))]
    assert path.feed.tolist() == [254.0, 254.0, 20.0]


@pytest.mark.parametrize("text", [
    "G21G90G1X10.Y5.F100", "g21 g90 g1 x10. y5. f100", "G21\tG90 G1\tX 10. Y\t5.F100", "N5G21G90G1F100Y5.X10.",
    "G21 G90 G1 X+10.0 Y005. F100.",
    "\ufeffG21 G90 G1 X10. Y5. F100\r\n", "%\nO7\nG21 G90 G1 X10. Y5. F100\n%\nand notes after the tape mark",
    "G21 G90 (a ; b) G1 X10. Y5. F100 ; end",
    "G01 G21 G90 X10 Y5 F100", "\r\rG21 G90 G1 X10. Y5. F100\r", "G21 G90 G1 X10.(in between)Y5. F100",
])  # fmt: skip
def test_odd_formatting_means_the_same(text):
    assert ends(good(text)) == [(L, (10, 5, 0))]


def test_arcs_by_centre_in_three_planes():
    path = good("G21 G17 G1 X10. F100.\nG3 X0. Y10. I-10. J0.\nG18 G2 X10. Z10. I0. K10.\nG19 G3 Y20. Z20. J0. K10.")
    assert path.arc_axis.tolist() == [2, 1, 0]
    assert path.arc_centre.tolist() == [[0, 0, 0], [0, 10, 10], [10, 10, 20]]
    # seen from +Z: from +X to +Y is a quarter to the left; the others follow from the same rule about their own axis
    assert path.arc_sweep[0] == pytest.approx(math.pi / 2)
    # G18: from -Z of the centre to +X of it, clockwise seen from +Y (Z to X is counter-clockwise): a quarter
    assert path.arc_sweep[1] == pytest.approx(-math.pi / 2)
    # G19: from -Z to +Y about X, counter-clockwise (Y to Z): a quarter
    assert path.arc_sweep[2] == pytest.approx(math.pi / 2)


@pytest.mark.parametrize(("word", "sweep"), [("R10.", -math.pi / 2), ("R-10.", -3 * math.pi / 2)])
def test_arc_by_radius_short_and_long(word, sweep):
    path = good(f"G21 G1 X0. Y10. F100.\nG2 X10. Y0. {word}")
    assert path.arc_sweep.tolist() == [pytest.approx(sweep)]
    assert path.arc_centre[0, :2].tolist() == pytest.approx([0, 0] if word == "R10." else [10, 10])


def test_full_circle_helix_and_turns():
    path = good("G21 G1 X5. F100.\nG2 I-5.\nG3 I-5. Z-4.\nG3 X5. Y0. Z-8. I-5. P3", arc_turns="P")
    assert path.arc_sweep.tolist() == pytest.approx([-2 * math.pi, 2 * math.pi, 6 * math.pi])
    assert path.end[:, 2].tolist() == [0, 0, -4, -8]


def test_absolute_arc_centres():
    path = good("G21 G90.1 G1 X10. Y0. F100.\nG3 X0. Y10. I0. J0.\nG91.1 G3 X-10. Y0. I0. J-10.")
    assert path.arc_centre[:, :2].tolist() == [[0, 0], [0, 0]]


def test_a_small_mismatch_is_shared_so_that_both_ends_lie_on_the_arc():
    path = good("G21 G1 X10. F100.\nG3 X0. Y10.004 I-10. J0.")
    centre = path.arc_centre[0]
    assert math.dist(path.start[1], centre) == pytest.approx(math.dist(path.end[1], centre), abs=1e-12)
    assert math.hypot(centre[0], centre[1]) <= 0.004


def test_a_mismatch_near_a_full_turn_leaves_the_centre_alone():
    path = good("G21 G1 X10. F100.\nG3 X10.005 Y-0.001 I-10. J0.")
    assert path.arc_centre[0].tolist() == [0, 0, 0]
    assert [MoveKind(k).name for k in path.kind.tolist()] == [L, A, L]
    assert math.dist(path.end[1], path.end[2]) <= 0.0051
    assert path.end[2].tolist() == [10.005, -0.001, 0]


def test_length_offset_work_offset_and_external_make_the_machine_position():
    registers = Registers(offsets={"G54": WorkOffset(-300.0, -200.0, -400.0),
                                   "G55": WorkOffset(-100.0, -200.0, -400.0, math.pi / 2)},
                          external=(0.0, 0.0, 0.5), lengths={3: 120.0})  # fmt: skip
    path = good("G21 G54 G0 X10. Y20.\nG43 H3 Z50.\nG55 X10. Y20.\nG49 Z0.\nM30", registers=registers)
    frames = [path.frames[i] for i in path.frame.tolist()]
    assert frames[0].shift == (-300.0, -200.0, -399.5)
    assert frames[1].shift == (-300.0, -200.0, -279.5)
    assert frames[1].length_applied == 120.0
    assert path.start[0].tolist() == [300.0, 200.0, 399.5]

    def machine(point, frame):
        c, s = math.cos(frame.rotation), math.sin(frame.rotation)
        return (c * point[0] - s * point[1] + frame.shift[0], s * point[0] + c * point[1] + frame.shift[1],
                point[2] + frame.shift[2])

    for row in range(1, len(path)):  # the machine stands still while frames change
        assert machine(path.start[row], frames[row]) == pytest.approx(machine(path.end[row - 1], frames[row - 1]), abs=1e-9)
    assert machine(path.end[2], frames[2]) == pytest.approx((-120.0, -190.0, -229.5))


def test_registers_used_and_missing_are_named():
    result = read("G21 G54.1 P3 G0 X1.\nG43 H7 Z1.\nG30 G91 Z0.",
                  registers=Registers(offsets={"G54.1 P3": WorkOffset()}, references={1: (0, 0, 0)}))
    assert result.registers == {"G54.1 P3": True, "H7": False, "reference 2": False}
    assert result.missing == ("H7", "reference 2")


def test_machine_moves_and_reference_returns():
    registers = Registers(offsets={"G54": WorkOffset(-300.0, -200.0, -400.0)}, lengths={1: 100.0},
                          references={1: (0, 0, 0), 2: (-10.0, -20.0, -5.0)})
    path = good("G21 G0 X0. Y0.\nG43 H1 Z10.\nG53 Z-50.\nG91 G28 Z0.\nG90 G0 X5.\nG30 X7. Y0.", registers=registers)
    at = path.end.tolist()
    assert at[2] == [0, 0, -50 + 400 - 100]
    assert at[3] == [0, 0, 300]
    assert at[4] == [5, 0, 300]
    assert at[5] == [7, 0, 300]
    assert at[6] == [290, 180, 300]
    assert (path.kind == MoveKind.RAPID).all()


def test_feed_modes():
    path = good("G21 M3 S1000\nG95 G1 X10. F0.2\nG93 X20. F2.\nG94 F50. X30.")
    assert path.feed.tolist() == pytest.approx([200.0, 20.0, 50.0])
    assert [path.states[i].feed_mode for i in path.state.tolist()] == ["per revolution", "inverse time", "per minute"]


def test_state_of_rows_and_events_in_their_places():
    path = good("T5\nG21 M6\nS800 M4 M8\nG1 X1. F10. M9\nX2. M5\nG4 P250\nM0\nM1\nM30")
    states = [path.states[i] for i in path.state.tolist()]
    assert [s.tool for s in states] == [5, 5]
    assert [s.spindle_rpm for s in states] == [-800.0, -800.0]
    assert [s.coolant for s in states] == ["flood", ""]
    assert [(e.kind, e.before, e.value) for e in path.events] == [
        ("preselect", 0, 5.0), ("tool change", 0, 5.0), ("spindle", 0, 0.0), ("spindle", 0, -800.0), ("coolant", 0, "flood"),
        ("coolant", 1, ""), ("spindle", 2, 0.0), ("dwell", 2, 0.25), ("stop", 2, 0.0), ("optional stop", 2, 0.0), ("end", 2, 0.0),
    ]  # fmt: skip


@pytest.mark.parametrize(("block", "profile", "seconds"), [
    ("G4 P500", "milliseconds", 0.5), ("G4 P2.", "seconds", 2.0), ("G4 X1.5", "milliseconds", 1.5),
    ("G4 P0.5", "seconds with point", 0.5),
    ("G4 P500", "seconds with point", 0.5),
])  # fmt: skip
def test_dwell_units(block, profile, seconds):
    events = good(f"{block}\nM30", dwell_p=profile).events
    assert [e.value for e in events if e.kind == "dwell"] == [pytest.approx(seconds)]


def test_numbers_without_a_point_by_profile():
    text = "G21 G1 X1500 Y2.5 F100\nG20 X1000"
    assert ends(good(text)) == [(L, (1500, 2.5, 0)), (L, (25400, 2.5, 0))]
    assert ends(good(text, decimal="least increment")) == [(L, (1.5, 2.5, 0)), (L, (2.54, 2.5, 0))]


def test_the_fast_reader_scales_bare_numbers_too():
    lines = "\n".join(f"X{k}000 Y0." for k in range(1, 30))
    path = good(f"G21 G1 F100. X0. Y1.\n{lines}", decimal="least increment")
    assert path.end[1:, 0].tolist() == [float(k) for k in range(1, 30)]


def test_block_delete_levels():
    text = "G21 G0 X1.\n/X2.\n/3 X3.\nX4."
    assert [e[1][0] for e in ends(good(text))] == [1, 2, 3, 4]
    assert [remark.span.line for remark in read(text).remarks if remark.slug == "block delete taken as off"] == [2]
    result = interpret([Source("t", text)], profile=Profile(), registers=Registers.nominal(), skip_levels=(3,))
    assert [e[1][0] for e in ends(result.path)] == [1, 2, 4]


def test_until_stops_after_the_line():
    text = "G21 G0 X1.\n" + "\n".join(f"X{k}." for k in range(2, 40))
    result = interpret([Source("t", text)], profile=Profile(), registers=Registers.nominal(), until=("t", 20))
    assert result.end == "until"
    assert result.path.end[-1, 0] == 20.0


def test_extents_are_exact_for_arcs_and_leave_rapids_out():
    result = read("G21 G0 X100. Y100. Z50.\nX10. Y0. Z0.\nG1 F100. X10. Y0. Z-1.\nG3 X-10. Y0. I-10. J0.\nG55 G0 X99.\nG1 X1. F1.")
    box = result.extents["G54"]
    assert box.least == pytest.approx((-10, 0, -1))
    assert box.greatest == pytest.approx((10, 10, 0))
    assert result.extents["G55"].greatest[0] == 99.0


def test_tools_used():
    text = "T1 M6\nS1000 M3\nG21 G43 H1 Z5.\nG1 F100. X5.\nF200. X6.\n"
    text += "T12 M6\nS500 M3\nG0 G43 H12 Z4.\nG41 D12 G1 X9. F50.\nY5.\nG40 X0."
    result = read(text, first_motion="G0")
    one, two = result.tools
    assert (one.number, one.length_registers, one.feed_range, one.speed_range) == (1, (1,), (100.0, 200.0), (1000.0, 1000.0))
    assert (two.number, two.length_registers, two.radius_registers, two.feed_range, two.line) == (12, (12,), (12,), (50.0, 50.0), 6)


def test_modes_left_to_the_control_are_named():
    result = read("G1 X1. F5.\nG90 G54 X2.")
    assert [remark.text for remark in result.remarks if remark.slug == "modes not stated"] == [
        "Before its first move the program does not state "
        "plane (G17 is taken), distance (G90 is taken), work offset (G54 is taken)."
    ]  # fmt: skip
    assert [item.behaviour for item in result.assumptions] == ["units"]
    result = read("G21 G17 G90 G54 G1 X1. F5.")
    assert not [remark for remark in result.remarks if remark.slug == "modes not stated"]
    assert result.assumptions == ()


def test_an_endless_program_stops_at_the_limit():
    for text in ("N10 G4 P1\nGOTO10", "O1\nM98 P1\nM30", "WHILE[1 EQ 1]DO1\n#1=#1+1\nEND1", "O1\nG65 P1\nM99"):
        result = interpret([Source("t", text)], profile=Profile(), registers=Registers.nominal(), limit=Limits(blocks=20_000))
        assert result.end == "stopped"
        assert "not ended" in result.problems[-1].what or "nested" in result.problems[-1].what


def test_an_absurd_repeat_stops_at_the_limit_too():
    text = "G21 G91 S1 M3\nG0 Z1.\nG83 X1. R0. Z-10. Q0.01 K9999 F9."
    result = interpret([Source("t", text)], profile=Profile(), registers=Registers.nominal(), limit=Limits(rows=50_000))
    assert "not ended after 50,000 moves" in result.problems[0].what
    assert len(result.path) < 60_000


def test_compensation_that_is_never_turned_off_stops_at_the_limit():
    text = "G21 G91 G1 F1.\nG41 D1 X1.\nWHILE[1 EQ 1]DO1\nX1.\nY1.\nEND1"
    result = interpret([Source("t", text)], profile=Profile(), registers=Registers(radii={1: 0.1}), limit=Limits(rows=20_000))
    assert "not ended after 20,000 moves" in result.problems[0].what


def test_the_next_program_begins_with_fresh_modes():
    sources = [Source("a", "G20 G91 G1 X1. F1.\nG68 X0. Y0. R90.\nM30"), Source("b", "G0 X5.\nM30")]
    result = interpret(sources, profile=Profile(), registers=Registers.nominal())
    assert ends(result.path) == [(L, (25.4, 0, 0)), (R, (5, 0, 0))]


def test_several_programs_run_in_turn_and_called_files_do_not_run_again():
    sources = [Source("a", "O1\nG21 G0 X1.\nM98 P2\nM30"), Source("b", "O2\nG0 X2.\nM99"), Source("c", "O3\nG0 X3.\nM30")]
    result = interpret(sources, profile=Profile(), registers=Registers.nominal())
    assert [(e[1][0]) for e in ends(result.path)] == [1, 2, 3]
    assert [name.number for name in result.programs] == [1, 2, 3]
    assert result.path.file.tolist() == [0, 1, 2]


def test_a_missing_subprogram_is_fetched():
    asked = []

    def find(name):
        asked.append(name)
        return Source("library", "O0042\nG0 X7.\nM99") if name == "O0042" else None

    result = interpret([Source("a", "G21 M98 P42\nM30")], profile=Profile(), registers=Registers.nominal(), find=find)
    assert asked == ["O0042"]
    assert ends(result.path) == [(R, (7, 0, 0))]
