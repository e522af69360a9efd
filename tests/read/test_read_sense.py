"""What a setter says first of a program: each check on programs that have the fault, that do not, and on the border."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from setwright.model.finding import Finding, Signal, State, fold
from setwright.model.machine import Control
from setwright.model.tool import Tool
from setwright.program.profile import Profile, parse_profile
from setwright.program.registers import Registers, WorkOffset
from setwright.read.station import ORDINARY, read, read_alone

PROFILE = Profile(rapid="dog-leg", nested_comments="count", local_calls="M97")

HEAD = "G21 G17 G90 G40 G49 G80 G54\n"
END = "G0 Z50.\nG49\nM30\n"
DEEP = "G1 Z-1. F200.\nX20.\n"


def tool(number: int, body: str, *, speed: int = 1500, turn: str = "M3", length: str = "", said: str = "") -> str:
    """One tool: its change, spindle, way in at Z2, and what it does there."""
    comment = f" ({said})" if said else ""
    return (f"T{number} M6{comment}\nS{speed} {turn}\nG0 X0. Y0.\n{length or f'G43 H{number}'} Z50.\nZ2.\n{body}G0 Z50.\nG49\n"
            "G91 G28 Z0.\nG90\n")  # fmt: skip


def of(text: str, slug: str, *, tools: dict[int, Tool] | None = None, material: str = "", guessed: set[int] | None = None,
       head: str = HEAD) -> list[Finding]:  # fmt: skip
    """What one check finds: of a bare program, or of one whose tools are stated."""
    program = {"p.nc": (head + text + "M30\n").encode()}
    if tools is None:
        reading = read_alone(program)
    else:
        numbers = range(1, 10)
        registers = Registers(offsets={"G54": WorkOffset(-300, -200, -300), "G55": WorkOffset(-200, -200, -300)},
                              lengths=dict.fromkeys(numbers, 100.0), radii=dict.fromkeys(numbers, 5.0),
                              references={1: (0.0, 0.0, 0.0)})  # fmt: skip
        reading = read(program, profile=PROFILE, registers=registers, tools=tools, material=material,
                       guessed=frozenset(guessed or ()))  # fmt: skip
    return [finding for finding in reading.findings if finding.slug == slug and finding.state is State.FOUND]


def made(kind: str, diameter: float = 8.0, **more: object) -> Tool:
    return Tool.model_validate({"name": kind, "kind": kind, "diameter": diameter, "flute_length": 20.0, **more})


# --- feed ------------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("body", "line", "words"), [
    ("G1 Z-1.\nX20.\n", 7, "there is no F before the first cutting move (2 moves in all)"),
    ("G1 Z-1. F0.\n", 7, "F0 is in force in a cutting move"),
    ("M5\nG95\nG1 Z-1. F0.1\n", 9, "the feed is per turn (G95) and the spindle stands: nothing moves"),
    ("G81 X5. Y5. Z-3. R2.\nG80\n", 7, "there is no F before the first cutting move"),
    ("G1 Z-1. F200.\nG84 X5. Y5. Z-3. R2. F0.\nG80\n", 8, "F0 is in force in a cutting move (2 moves in all)"),
])  # fmt: skip
def test_a_move_without_feed_is_said_once_with_its_reason(body: str, line: int, words: str) -> None:
    assert [(one.line, one.text, one.signal) for one in of(tool(1, body), "no-feed")] == [(line, words, Signal.WARNING)]


@pytest.mark.parametrize("body", [DEEP, "G95\nG1 Z-1. F0.1\nG94\n", "G93\nG1 Z-1. F2.\nG94\n", "F200.\nG1 Z-1.\n"])
def test_a_feed_of_any_mode_is_enough(body: str) -> None:
    assert of(tool(1, body), "no-feed") == []


# --- spindle ---------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "line", "words"), [
    (tool(1, DEEP, turn="M8"), 7, "T1 is fed with the spindle stopped, in 2 motions from here on"),
    (tool(1, DEEP, speed=0), 7, "T1 is fed with the spindle started at S0, in 2 motions from here on"),
    (tool(1, "G81 X5. Y5. Z-3. R2. F90.\nG80\n", turn="M8"), 7, "T1 is fed with the spindle stopped"),
    (tool(1, DEEP, turn="M4", said="END MILL D10"), 7,
     "T1 is fed turning the wrong way, unless it is a left-hand tool, in 2 motions from here on"),
])  # fmt: skip
def test_a_spindle_that_stands_or_turns_wrong_is_named(text: str, line: int, words: str) -> None:
    found = of(text, "fed-without-spindle")
    assert [(one.line, one.text) for one in found] == [(line, words)]
    # a cycle drills for certain; whether a feed meets metal the proof says
    assert found[0].signal is (Signal.DANGER if "G81" in text else Signal.WARNING)


@pytest.mark.parametrize("text", [
    tool(1, DEEP), tool(1, DEEP, turn="M4"), tool(1, DEEP, turn="M4", said="LEFT HAND END MILL D10"),
    tool(1, "G86 X5. Y5. Z-3. R2. F90.\nM3\nG80\n"), tool(1, "G84 X5. Y5. Z-3. R2. F1500.\nG80\n"),
    tool(1, "G74 X5. Y5. Z-3. R2. F1500.\nG80\n", turn="M4"),
])  # fmt: skip
def test_a_spindle_that_turns_as_it_should_is_not_spoken_of(text: str) -> None:
    assert of(text, "fed-without-spindle") == []


@pytest.mark.parametrize(("code", "turn", "wrong"), [
    ("G84", "M3", False), ("G84", "M4", True), ("G74", "M3", True), ("G74", "M4", False),
])  # fmt: skip
def test_a_tapping_cycle_begins_in_its_own_direction(code: str, turn: str, *, wrong: bool) -> None:
    text = tool(1, f"{code} X5. Y5. Z-3. R2. F1500.\nG80\n", turn=turn)
    assert bool(of(text, "fed-without-spindle", tools={1: made("tap", pitch=1.0)})) is wrong


# --- length ----------------------------------------------------------------------------------------------------------------------


def test_a_tool_without_its_length_is_told_by_this_cause() -> None:
    text = tool(1, DEEP) + tool(2, DEEP, length="G0") + tool(3, DEEP)
    found = of(text, "missing-length")
    assert [(one.tool, one.signal, one.line) for one in found] == [(2, Signal.DANGER, 16)]
    assert found[0].text == "T2 works without its length (no G43 after its tool change), while T1, T3 have theirs"
    assert "G43 H2" in found[0].remedy


def test_the_length_of_the_tool_before_is_not_its_own() -> None:
    kept = tool(1, DEEP).replace("G49\n", "") + tool(2, DEEP, length="G0")
    found = of(kept, "missing-length")
    assert [(one.tool, one.signal) for one in found] == [(2, Signal.DANGER)]
    assert "T2 works with H1, which the tool before it left in force" in found[0].text


def test_z_before_the_length_is_told_with_the_line_of_both() -> None:
    late = "T1 M6\nS1500 M3\nG0 X0. Y0. Z2.\nZ0.\nG43 H1\nG1 X20. F200.\nG0 Z50.\nG49\n"
    found = of(late, "missing-length")
    assert [(one.line, one.signal) for one in found] == [(4, Signal.DANGER)]
    assert found[0].text == "T1 goes to Z2.000 mm before its length is applied; G43 acts only from line 7 on"


@pytest.mark.parametrize("text", [
    tool(1, DEEP) + tool(2, DEEP), DEEP,
    tool(1, DEEP).replace("G0 X0. Y0.\nG43 H1 Z50.\n", "G43 H1\nG0 X0. Y0. Z50.\n"),
    # the same tool called anew keeps its length
    tool(1, DEEP).replace("G49\n", "") + "T1 M6\nS1500 M3\nG0 X0. Y0.\nZ2.\n" + DEEP,
    # before it has its length it is taken home and across, not down
    tool(1, DEEP) + "T2 M6\nS1500 M3\nG1 X10. Y10. F5000.\nG43 H2 Z50.\nZ2.\n" + DEEP,
])  # fmt: skip
def test_a_length_that_is_applied_in_time_is_not_spoken_of(text: str) -> None:
    assert of(text, "missing-length") == []


@pytest.mark.parametrize(("count", "words"), [(1, "Z zero must be set with T1 itself"), (3, "for any of 3 tools")])
def test_a_program_without_any_length_is_a_caution(count: int, words: str) -> None:
    found = of("M0\n".join(tool(number, DEEP, length="G0") for number in range(1, count + 1)), "missing-length")
    assert [one.signal for one in found] == [Signal.CAUTION]
    assert words in found[0].text


@pytest.mark.parametrize(("text", "signal"), [
    (tool(4, DEEP) + tool(1, DEEP, length="G43 H4"), Signal.DANGER),
    (tool(4, DEEP) + tool(2, DEEP, length="G43 H3"), Signal.WARNING),
    (tool(2, DEEP, length="G43 H3"), Signal.CAUTION),
    (tool(1, DEEP, length="G43 H11") + tool(2, DEEP, length="G43 H12"), Signal.CAUTION),
])  # fmt: skip
def test_a_length_of_another_tool_is_as_bad_as_what_the_others_do(text: str, signal: Signal) -> None:
    found = of(text, "length-register-of-another-tool")
    assert found
    assert {one.signal for one in found} == {signal}


# --- kinds of tools --------------------------------------------------------------------------------------------------------------

TAPPED = "G84 X5. Y5. Z-10. R3. F1875.\nG80\n"
DRILLED = "G81 X5. Y5. Z-10. R3. F150.\nG80\n"


@pytest.mark.parametrize(("said", "body", "words"), [
    ("SPOT DRILL D6", TAPPED, "T1, a spot drill (by its comment in line 2), runs the tapping cycle G84"),
    ("DRILL D6.8", TAPPED, "T1, a drill (by its comment in line 2), runs the tapping cycle G84"),
    ("TAP M8X1.25", DRILLED, "T1, a tap (by its comment in line 2), runs G81, which pulls it out without turning back"),
])  # fmt: skip
def test_a_cycle_that_does_not_go_with_its_tool_says_who_says_so(said: str, body: str, words: str) -> None:
    found = of(tool(1, body, said=said), "tap-and-cycle-apart")
    assert [(one.line, one.text, one.signal) for one in found] == [(7, words, Signal.WARNING)]


@pytest.mark.parametrize(("said", "body"), [
    ("TAP M8X1.25", TAPPED), ("DRILL D6.8", DRILLED), ("", TAPPED), ("TAP M8X1.25", "G85 X5. Y5. Z-10. R3. F1875.\nG80\n"),
])  # fmt: skip
def test_a_cycle_that_goes_with_its_tool_is_not_spoken_of(said: str, body: str) -> None:
    assert of(tool(1, body, said=said), "tap-and-cycle-apart") == []


def test_a_tool_of_a_draft_is_judged_by_its_comment_alone() -> None:
    drafted = {1: made("drill")}
    assert of(tool(1, TAPPED), "tap-and-cycle-apart", tools=drafted)
    assert of(tool(1, TAPPED), "tap-and-cycle-apart", tools=drafted, guessed={1}) == []
    assert "by its comment" in of(tool(1, TAPPED, said="DRILL D8"), "tap-and-cycle-apart", tools=drafted, guessed={1})[0].text


@pytest.mark.parametrize(("said", "feed", "speed", "wrong"), [
    ("TAP M8X1.25", 1875.0, 1500, False), ("TAP M8X1.25", 1500.0, 1500, True), ("TAP M8", 1875.0, 1500, False),
    ("TAP M8X1.25", 1875.0 * 1.009, 1500, False), ("TAP M8X1.25", 1875.0 * 1.011, 1500, True),
    ("TAP 1/4-20", 1500 * 25.4 / 20, 1500, False), ("TAP 1/4-20", 1500 * 25.4 / 28, 1500, True),
    ("TAP D6", 10.0, 1000, True), ("TAP D6", 1000.0, 1000, False), ("TAP D6", 2500.0, 1000, True), ("", 9000.0, 1000, True),
])  # fmt: skip
def test_a_tap_is_fed_one_pitch_a_turn(said: str, feed: float, speed: int, *, wrong: bool) -> None:
    text = tool(1, f"G84 X5. Y5. Z-10. R3. F{feed:.4f}\nG80\n", said=said, speed=speed)
    assert bool(of(text, "tap-feed-against-pitch")) is wrong


def test_a_tap_of_unknown_pitch_is_undecided() -> None:
    program = {"p.nc": (HEAD + tool(1, TAPPED) + "M30\n").encode()}
    mine = [one for one in read_alone(program).findings if one.slug == "tap-feed-against-pitch"]
    assert [(one.state, one.line, one.value) for one in mine] == [(State.UNDECIDED, 7, pytest.approx(1.25))]


@pytest.mark.parametrize(("kind", "body", "count"), [
    ("drill", DEEP, 1), ("reamer", DEEP, 1), ("tap", DEEP, 1), ("centre drill", DEEP, 1), ("end mill", DEEP, 0),
    ("spot drill", DEEP, 0),
    ("drill", "G1 Z-1. F200.\nG3 X10. Y0. I5. J0.\n", 1), ("drill", "G1 Z-9. F200.\nG0 Z2.\n", 0), ("drill", DRILLED + "X30.\n", 0),
    # at the level at which it is taken across at rapid anyway
    ("drill", "G0 X5.\nG1 X20. F200.\n", 0), ("drill", "G0 X5.\nG1 Z1.9 F200.\nX20.\n", 1),
    # a feed that links two holes in the air
    ("drill", "G1 Z-9. F200.\nG0 Z2.\nG1 X20. F5000.\nG1 Z-9. F200.\n", 0),
])  # fmt: skip
def test_a_drill_is_not_fed_sideways(kind: str, body: str, count: int) -> None:
    more = {"pitch": 1.25} if kind == "tap" else {}
    found = of(tool(1, body), "fed-sideways", tools={1: made(kind, **more)})
    assert [one.signal for one in found] == [Signal.DANGER] * count


def test_a_kind_that_only_a_comment_tells_is_no_danger() -> None:
    assert [one.signal for one in of(tool(1, DEEP, said="DRILL D8"), "fed-sideways")] == [Signal.WARNING]


# --- reamers ---------------------------------------------------------------------------------------------------------------------


def reamed(*, drill: float = 7.8, drill_speed: int = 1200, speed: int = 400, x: float = 5.0) -> list[Finding]:
    text = (tool(1, DRILLED, speed=drill_speed) + tool(2, f"G85 X{x:.3f} Y5. Z-10. R3. F100.\nG80\n", speed=speed))
    return of(text, "reamer-and-hole", tools={1: made("drill", drill), 2: made("reamer")})


def test_a_reamer_in_its_hole_is_not_spoken_of() -> None:
    assert reamed() == []


@pytest.mark.parametrize(("change", "words", "signal"), [
    ({"x": 15.0}, "T2, a reamer, reams at X15.000 mm Y5.000 mm, where this program has made no hole", Signal.CAUTION),
    ({"drill": 8.0}, "T2, a reamer, is 8.000 mm, and the hole was drilled 8.000 mm by T1 in line 7", Signal.WARNING),
    ({"speed": 1300}, "T2, a reamer, turns at S1300, faster than its drill T1 at S1200 (33 m/min against 29 m/min)",
     Signal.WARNING),
])  # fmt: skip
def test_a_reamer_without_its_hole_or_too_fast(change: dict[str, float], words: str, signal: Signal) -> None:
    found = reamed(**change)  # type: ignore[arg-type]
    assert [(one.text, one.signal) for one in found] == [(words, signal)]


def test_the_speeds_of_reamer_and_drill_are_compared_at_their_edges() -> None:
    # 8 mm at 1169 turns is below 7.8 mm at 1200, at 1171 above it
    assert reamed(speed=math.floor(1200 * 7.8 / 8.0) - 1) == []
    assert reamed(speed=math.ceil(1200 * 7.8 / 8.0) + 1)


def test_a_spot_is_no_hole_and_a_bored_hole_is_one() -> None:
    ream = tool(2, "G85 X5. Y5. Z-10. R3. F100.\nG80\n", speed=400)
    for kind, none in (("spot drill", True), ("end mill", False)):
        found = of(tool(1, DRILLED) + ream, "reamer-and-hole", tools={1: made(kind), 2: made("reamer")})
        assert any("no hole" in one.text for one in found) is none


# --- speed and feed --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "diameter", "flutes", "most"), [
    # 0.0375 D a tooth, 0.06 D a turn of a drill, 0.15 D of a reamer
    ("end mill", 10.0, 4, 4 * 0.375), ("end mill", 10.0, 2, 2 * 0.375), ("face mill", 80.0, 3, 3 * 2.0), ("drill", 10.0, 2, 0.6),
    ("reamer", 10.0, 6, 1.5),
])  # fmt: skip
@pytest.mark.parametrize(("share", "wrong"), [(0.99, False), (1.01, True)])
def test_the_feed_a_turn_has_a_limit(kind: str, diameter: float, flutes: int, most: float, share: float, *, wrong: bool) -> None:
    text = tool(1, f"G1 Z-1. F{1000 * most * share:.3f}\n", speed=1000)
    found = of(text, "speed-or-feed-far-off", tools={1: made(kind, diameter, flutes=flutes)})
    assert [(one.signal, one.line) for one in found] == ([(Signal.WARNING, 7)] if wrong else [])
    assert all(one.value == pytest.approx(most * share) for one in found)


@pytest.mark.parametrize(("material", "kind", "own", "most"), [
    ("S275JR", "end mill", "", 500.0), ("EN AW-6082", "end mill", "", 2000.0), ("316L", "end mill", "", 300.0),
    ("", "end mill", "", 2000.0),
    ("titanium", "end mill", "", 200.0), ("S275JR", "drill", "", 250.0), ("S275JR", "end mill", "HSS", 200.0),
    ("something else", "end mill", "", 2000.0), ("S275JR", "reamer", "", 100.0), ("cast iron", "drill", "", 275.0),
])  # fmt: skip
@pytest.mark.parametrize(("share", "wrong"), [(0.99, False), (1.01, True)])
def test_the_cutting_speed_has_a_limit(material: str, kind: str, own: str, most: float, share: float, *, wrong: bool) -> None:
    turns = round(most * share * 1000.0 / (math.pi * 20.0))
    text = tool(1, "G1 Z-1. F100.\n", speed=turns)
    found = of(text, "speed-or-feed-far-off", tools={1: made(kind, 20.0, material=own)}, material=material)
    assert len(found) == wrong
    assert all(one.value == pytest.approx(math.pi * 20.0 * turns / 1000.0) for one in found)


def test_what_only_a_comment_tells_is_a_caution_and_what_no_cutter_takes_is_not() -> None:
    def signals(feed: float, said: str) -> list[Signal]:
        return [one.signal for one in of(tool(1, f"G1 Z-1. F{feed:.1f}\n", speed=1000, said=said), "speed-or-feed-far-off")]

    assert signals(3000.0, "END MILL D10") == [Signal.CAUTION]
    assert signals(8100.0, "END MILL D10") == [Signal.WARNING]
    assert signals(3000.0, "") == signals(7900.0, "") == []
    assert signals(8100.0, "") == [Signal.WARNING]


def test_a_rapid_that_is_written_as_a_feed_is_no_cut() -> None:
    fast = "G1 Z-1. F200.\nX20.\nG0 Z2.\nG1 X0. F9000.\n"
    tools = {1: made("end mill", 10.0)}
    assert of(tool(1, fast + "Z-1. F200.\n", speed=1000), "speed-or-feed-far-off", tools=tools) == []
    assert of(tool(1, fast + "X20.\n", speed=1000), "speed-or-feed-far-off", tools=tools)
    before_its_length = tool(1, DEEP, speed=1000).replace("G43 H1 Z50.", "G1 X0. F9000.\nG43 H1 G0 Z50.")
    assert of(before_its_length, "speed-or-feed-far-off", tools=tools) == []


# --- the list of tools, arcs, what goes on ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("listed", "count"), [
    ("(T4 = FACE MILL D50)\n", 1), ("(T1 = END MILL D10)\n", 0), ("(T1 = END MILL D10)\n(T4 = FACE MILL D50)\n", 0), ("", 0),
    ("(FACE MILL D50)\n", 0),
])  # fmt: skip
def test_a_list_that_names_another_tool_is_told(listed: str, count: int) -> None:
    found = of(listed + tool(1, DEEP), "tool-unlike-text")
    assert len(found) == count
    assert all("calls T1" in one.text and "T4 (face mill)" in one.text for one in found)


def test_arcs_are_told_once_with_the_worst_and_only_beyond_rounding() -> None:
    def arcs(*ends: str) -> list[Finding]:
        body = "G1 Z-1. F200.\n" + "".join(f"G1 X0. Y0.\nG2 X{end} Y0. I10. J0.\n" for end in ends)
        program = {"p.nc": (HEAD + tool(1, body) + "M30\n").encode()}
        wide = parse_profile({"name": "wide", "arc_mismatch_mm": 0.1})
        return [one for one in read(program, profile=wide).findings if one.slug == "arc-end-off-its-circle"]

    # with hundredths written, rounding parts the radii by up to 0.0283 mm
    assert arcs("20.02", "20.01") == []
    worst = arcs("20.02", "20.03", "20.07", "20.04")
    assert [(one.line, one.signal, one.value) for one in worst] == [(13, Signal.CAUTION, pytest.approx(0.07))]
    assert "2 others are off less, lines 11 and" not in worst[0].text
    assert "2 others are off less, lines 11, 15" in worst[0].text
    assert [one.signal for one in arcs("20.015", "20.001")] == [Signal.CAUTION]


def test_functions_of_the_machine_are_one_caution_with_their_lines() -> None:
    text = "M31\n" + tool(1, "M25\n" + DEEP + "M25\n")
    found = of(text, "two-readings")
    assert [(one.signal, one.line) for one in found] == [(Signal.CAUTION, 2)]
    assert found[0].text.startswith("M31 (line 2) and M25 (line 8) are functions of this machine")


def test_functions_not_known_to_a_stated_control_are_one_question() -> None:
    profile = parse_profile({"name": "open", "other_m_codes": "remark"})
    text = HEAD + tool(1, "M25\n" + DEEP + "M25\nM31\nM25\nM25\n") + "M30\n"
    found = [one for one in read({"p.nc": text.encode()}, profile=profile).findings if one.slug == "machine-function-not-known"]
    assert [(one.line, one.signal, one.question) for one in found] == [(7, Signal.CAUTION, True)]
    assert found[0].text.startswith("M25 (lines 7, 10, 12 and 1 more) and M31 (line 11) are functions of this machine")


def test_a_cycle_that_goes_on_after_its_coolant_is_told() -> None:
    holes = "M8\nG81 X5. Y5. Z-10. R3. F150.\nX15.\n"
    assert [one.line for one in of(tool(1, holes + "M9\nX-80.\n"), "modal-state-left-over")] == [11]
    assert of(tool(1, holes + "G80\nM9\nG0 X-80.\n"), "modal-state-left-over") == []
    assert of(tool(1, holes + "M9\nG80\n"), "modal-state-left-over") == []


def test_a_cycle_left_on_beside_everything_that_is_meant_is_a_danger_at_that_hole() -> None:
    """The holes lie from X5 to X15 and nothing else is cut as low: after M9 one more at X5 is between them, one at X-80 is not, nor
    is it because the tool was fed to X-200 high above."""
    holes = "G1 X-200. F900.\nG0 X0.\nM8\nG81 X5. Y5. Z-10. R1. F150.\nX15.\nM9\n"
    slug = "modal-state-left-over"
    assert [(one.line, one.signal) for one in of(tool(1, holes + "X5.\n"), slug)] == [(13, Signal.WARNING)]
    found, = of(tool(1, holes + "X5.\nX-80.\n"), slug)
    assert (found.line, found.signal) == (14, Signal.DANGER)
    assert "drills once more at X-80.000 mm Y5.000 mm, beside all that is cut otherwise" in found.text


def test_compensation_left_on_is_told_though_the_last_move_is_a_rapid() -> None:
    left = "T1 M6\nS1500 M3\nG0 X0. Y0.\nG43 H1 Z2.\nG1 Z-1. F200.\nG41 D1 X10.\nX30.\nX60.\nG0 Z50.\n"
    found = of(left, "modal-state-left-over", tools={1: made("end mill", 10.0)})
    assert [one.signal for one in found] == [Signal.WARNING]


def test_a_way_in_with_compensation_and_a_feed_on_top_are_no_crossing() -> None:
    slug = "sideways-before-in-place"
    low = "T1 M6\nS1500 M3\nG0 X-20. Y0.\nG43 H1 Z50.\nZ-5.\n"
    contour = "G1 Y30. F200.\nG0 G40 X-20.\nZ50.\n"
    assert of(low + "G41 D1 X-6.\n" + contour, slug, tools={1: made("end mill", 10.0)}) == []
    assert [one.line for one in of(low + "X-6.\nG41 D1 X-5.\n" + contour, slug, tools={1: made("end mill", 10.0)})] == [7]
    # a feed at the height of the way home makes nothing below it a crossing
    assert of(tool(1, DEEP + "G1 Z50.\nY80.\n"), slug, tools={1: made("end mill", 10.0)}) == []


def test_tools_that_come_down_alike_are_one_crossing_and_at_other_heights_another() -> None:
    def low(number: int, z: str) -> str:
        return f"T{number} M6\nS1500 M3\nG0 G43 H{number} Z{z}\nX30. Y10.\nG1 Z-1. F200.\nX40.\nG0 Z50.\nG91 G28 Z0.\nG90\n"

    found = of(low(1, "-0.5") + low(2, "-0.5") + low(3, "0.5"), "sideways-before-in-place")
    told = [one for one in fold(found) if one.slug == "sideways-before-in-place"]
    assert sorted((one.line, one.tool) for one in told) == [(5, 1), (23, 3)]
    assert told[0].text.endswith("; also in line 14")
def test_a_crossing_belongs_to_the_tool_in_the_spindle_alone() -> None:
    """One that was changed away again before it cut anything made none of the moves behind."""
    twice = "T1 M6\nT2 M6\nS1500 M3\nG43 H2 Z-0.5\nG0 X30. Y10.\nG1 Z-1. F300.\nX40.\n"
    found = of(twice + "G0 Z50.\n", "sideways-before-in-place")
    assert [(one.tool, one.line) for one in found] == [(2, 6)]


def test_several_tools_without_any_length_and_no_stop_between_them_are_a_warning() -> None:
    bare = [tool(number, DEEP, length="G0") for number in (1, 2, 3)]
    assert [one.signal for one in of("".join(bare), "missing-length")] == [Signal.WARNING]
    assert [one.signal for one in of("M0\n".join(bare), "missing-length")] == [Signal.CAUTION]
    assert [one.signal for one in of(f"{bare[0]}M0\n{bare[1]}{bare[2]}", "missing-length")] == [Signal.WARNING]


# --- words that are lost or too many ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("body", "line", "words"), [
    ("G1 Z F200.\nX20.\n", 7, "Z has no number"), ("G1 Z-1. F200.\nX20. Y\n", 8, "Y has no number"),
    ("G1 Z-1. F200.\nX Y (Y-5.)\n", 8, "X and Y have no number"),
])  # fmt: skip
def test_an_axis_letter_without_a_number_is_told_with_its_line(body: str, line: int, words: str) -> None:
    found = of(tool(1, body), "word-without-number")
    assert [(one.line, one.signal) for one in found] == [(line, Signal.WARNING)]
    assert found[0].text.startswith(words)
    assert read_alone({"p.nc": (HEAD + tool(1, body) + "M30\n").encode()}).findings[0].slug == "word-without-number"


@pytest.mark.parametrize("body", [DEEP, "#1=20.\nG1 Z-1. F200.\nX#1 Y[5.*2.]\n", "G1 Z-1. F200. (X Y)\nX 20.\nX-.5\n"])
def test_words_with_numbers_and_expressions_are_whole(body: str) -> None:
    assert of(tool(1, body), "word-without-number") == []


def test_a_rotary_word_of_a_machine_without_the_axis_is_told() -> None:
    found = of(tool(1, DEEP + "A0.\n"), "axis-not-on-machine")
    assert [(one.line, one.signal) for one in found] == [(9, Signal.CAUTION)]
    assert found[0].text.startswith("this machine has no A axis")
    assert of(tool(1, DEEP), "axis-not-on-machine") == []


def test_a_cycle_without_its_near_level_is_told() -> None:
    found = of(tool(1, "G81 X5. Y5. Z-3. F90.\nG80\nG81 X15. Y5. Z-3.\nG80\n"), "cycle-without-near-level")
    assert [(one.line, one.signal) for one in found] == [(7, Signal.WARNING)]
    assert "here and 1 more time" in found[0].text
    assert of(tool(1, "G81 X5. Y5. Z-3. R2. F90.\nX9.\nG80\n"), "cycle-without-near-level") == []


def test_what_the_machines_file_says_of_such_words_is_not_asked() -> None:
    program = {"p.nc": (HEAD + tool(1, "G81 X5. Y5. Z-3. F90.\nG80\nA0.\n") + "M30\n").encode()}
    told = {"cycle_without_r": "current level", "rotary_words": "at zero"}
    profile = parse_profile({"name": "p", **told})
    machine = ORDINARY.model_copy(update={"control": Control(behaviours=told)})
    registers = Registers(offsets={"G54": WorkOffset(-300, -200, -300)}, lengths={1: 100.0}, radii={1: 5.0},
                          references={1: (0.0, 0.0, 0.0)})  # fmt: skip

    def slugs(drafted: frozenset[str]) -> set[str]:
        reading = read(program, profile=profile, registers=registers, machine=machine, tools={}, drafted=drafted)
        assert not reading.problems
        return {one.slug for one in reading.findings} & {"cycle-without-near-level", "axis-not-on-machine"}

    assert slugs(frozenset()) == set()
    assert slugs(frozenset(told)) == {"cycle-without-near-level", "axis-not-on-machine"}


@pytest.mark.parametrize(("back", "lines"), [("X10.\n", [11]), ("Y20.\nX10.\n", []), ("G40 X10.\n", [])])
def test_a_contour_that_runs_straight_back_is_told(back: str, lines: list[int]) -> None:
    text = f"T1 M6\nS1500 M3\nG0 X-20. Y0.\nG43 H1 Z2.\nG1 Z-1. F200.\nG41 D1 X0.\nY5.\nX40.\nX60.\n{back}G0 G40 Z50.\n"
    text = text.replace("X60.\n", "") if back == "G40 X10.\n" else text
    found = of(text, "compensation-reversed", tools={1: made("end mill", 10.0)})
    assert [one.line for one in found] == lines
    assert all("the other side, 10.000 mm" in one.text and one.signal is Signal.WARNING for one in found)


def test_every_finding_has_a_place_and_something_to_do(tmp_path: Path) -> None:
    text = tool(1, DEEP, said="DRILL D8", turn="M8") + tool(2, TAPPED, length="G0", said="SPOT DRILL D6") + tool(3, DRILLED)
    reading = read_alone({"p.nc": (HEAD + text + "M30\n").encode()})
    mine = [one for one in reading.findings if one.state is State.FOUND and one.signal is not Signal.NOTICE]
    assert {one.slug for one in mine} >= {"fed-sideways", "fed-without-spindle", "missing-length", "tap-and-cycle-apart"}
    assert all(one.file == "p.nc" and one.line and one.remedy and one.excerpt for one in mine)


# --- several clampings -----------------------------------------------------------------------------------------------------------


def stopped(stop: str, *, then: str = "G0 X0. Y0.\nZ2.\nG1 Z-1.\nX20.\nG0 Z50.\n", before: str = "") -> str:
    """A program that cuts, stops, and cuts again; the stop stands in line 11."""
    return f"T1 M6\nS1500 M3\nG0 X0. Y0.\nG43 H1 Z50.\nZ2.\n{before or '(FACE)'}\n{DEEP}G0 Z50.\n{stop}\n{then}"


@pytest.mark.parametrize("stop", [
    "M0 (FLIP PART)", "M00\n(TURN PART OVER)", "M0\n\n(turn over and clamp)", "M1 (RE-CLAMP)", "M0 (move clamps)",
    "M0 (SECOND SIDE)", "M0\n(OP 2)\n(G54 BACK LEFT TOP)", "M0 (2ND OP)", "M0 (ROTATE PART 180)",
    "M0 (UMSPANNEN)", "M01 ; Teil wenden",
    "M0 (RÜCKSEITE)", "M0 (RETOURNER LA PIECE)", "M0 (2ÈME FACE)", "M0 (VOLTEAR LA PIEZA)", "M0 (MOVER BRIDAS)",
    "M0 (CAPOVOLGERE IL PEZZO)", "M0 (ПЕРЕВЕРНУТЬ ДЕТАЛЬ)", "M0\n(RESET OFFSETS)", "M0\nG55 (SIDE 2)", "M0 (TURN 90 DEG)",
    "#3006=1 (TURN THE PART)",
])  # fmt: skip
def test_words_beside_a_stop_say_that_the_part_is_clamped_anew(stop: str) -> None:
    found = of(stopped(stop), "several-clampings")
    assert [(one.line, one.signal) for one in found] == [(11, Signal.WARNING)]
    assert "clamped anew at the stop in line 11" in found[0].text


@pytest.mark.parametrize("stop", [
    "M0", "M0 (CHECK SIZE)", "M0 (MEASURE BORE)", "M0 (CLEAR CHIPS)", "M0 (TURN COOLANT ON)", "M1 (DO NOT FLIP THE PART)",
    "M0 (CHECK OTHER SIDE FOR BURRS)", "M1\n(OP 2)", "M0 (TURN INSERTS)", "M0 (FLIP INSERT)", "M0 (NICHT UMSPANNEN)",
    "M0 (TIGHTEN CLAMPS)", "M0 (SIDE MILL)", "M0 (OP 1)", "M0\n(OPERATION TWO - TAP)",
    "(FLIP PART)",  # no stop
])  # fmt: skip
def test_a_stop_to_look_at_the_part_is_no_clamping(stop: str) -> None:
    assert of(stopped(stop), "several-clampings") == []


def test_operations_that_are_numbered_tool_by_tool_are_no_clampings() -> None:
    numbered = stopped("M0\n(OP 2)", before="(OP 1)") + "T2 M6 (OP 3)\nG43 H2 Z50.\nG0 X30.\nZ2.\nG1 Z-1.\nG0 Z50.\n"
    assert of(numbered, "several-clampings") == []
    assert [one.line for one in of(numbered.replace("(OP 3)", ""), "several-clampings")] == [11]


@pytest.mark.parametrize(("text", "why"), [
    (stopped("M0 (FLIP PART)", then=""), "nothing is cut behind it"),
    ("M0 (FLIP PART)\n" + tool(1, DEEP), "nothing is cut before it"),
    (stopped("M0 (FLIP PART)", then="G0 X50.\n"), "nothing but rapids behind it"),
])  # fmt: skip
def test_something_is_cut_before_and_behind(text: str, why: str) -> None:
    assert of(text, "several-clampings") == [], why


def test_all_stops_are_one_finding_at_the_first() -> None:
    again = "G0 X0. Y0.\nZ2.\nG1 Z-1.\nX20.\nG0 Z50.\n"
    text = stopped("M0 (FLIP PART)", then=f"{again}M0\n(MOVE CLAMPS)\n{again}M0 (CHECK SIZE)\n{again}")
    [one] = of(text, "several-clampings")
    assert one.line == 11
    assert one.text.startswith("the text says that the part is clamped anew at 2 stops: line 11 (“FLIP PART”), line 17 "
                               "(“MOVE CLAMPS”)")


@pytest.mark.parametrize(("feed", "said"), [(502.0, False), (498.0, False), (508.0, True), (492.0, True)])
def test_a_tap_is_fed_its_pitch_to_a_hundredth(feed: float, *, said: bool) -> None:
    """At S500 and a pitch of 1 mm it is F500; 0.4 % is rounding of F, 1.6 % is another number."""
    body = f"T1 M6\nG54 S500 M3\nG0 X0. Y0.\nG43 H1 Z50.\nG84 X0. Y0. Z-10. R3. F{feed}\nG80\n"
    assert bool(of(body, "tap-feed-against-pitch", tools={1: made("tap", pitch=1.0)})) is said
