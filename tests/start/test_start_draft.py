"""What a draft takes from a program, and what it guesses: sizes by hand from programs of our own."""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.program.source import Source
from setwright.start.draft import Draft, draft
from setwright.start.wording import cite, together
from tests.start import programs


def drafted(text: str, *, name: str = "part.nc") -> Draft:
    return draft([Source(name, text.encode())])


def document(made: Draft, path: str = "job.toml") -> dict[str, Any]:
    return tomllib.loads(made.files[path].decode())


def evidence(made: Draft, what: str) -> str:
    found = [guess.evidence for guess in made.guesses if what in guess.what]
    assert found, [guess.what for guess in made.guesses]
    return found[0]


def test_what_comments_say_is_taken_and_cited() -> None:
    made = drafted(programs.HINTED)
    job = document(made)
    setup = job["setup"][0]
    assert job["job"] == {"title": "PUMP COVER", "material": "ALUMINIUM"}
    assert (setup["blank"]["box"], setup["blank"]["corner"]) == ([100, 70, 25], [0, 0, -25])
    tools = [(t.station, t.tool.kind, t.tool.diameter, t.tool.flutes) for t in made.setups[0].tools]
    assert tools == [(1, "end mill", 12.0, 3), (2, "drill", 8.0, 2)]
    assert evidence(made, "T1: end mill") == 'from "(T1 END MILL D12 3 FLUTES H1 D1)" in part.nc line 6'
    assert evidence(made, "blank 100") == 'from "(ROHTEIL 100 X 70 X 25)" in part.nc line 3'
    assert '# guess: from "(G54 = FRONT LEFT TOP)" in part.nc line 4' in made.files["job.toml"].decode()
    assert setup["datum"] == {"x": "left", "y": "front", "z": {"face": "top", "is": 0}}
    assert len(job["guess"]) == len(made.guesses)


ALL_ROUND = "G1 Z-24. F300.\nX107.\nY77.\nX-7.\nY-7.\nX107.\n"
ON_A_PLATE = programs.HINTED.replace("G0 X50. Y35.\n", "G0 X-7. Y-7.\n").replace("G1 Z-6. F300.\n", ALL_ROUND)
ROUND = programs.HINTED.replace("ROHTEIL 100 X 70 X 25", "ROUND BAR 160 X 25")


def test_a_blank_on_a_plate_gets_its_angle_from_its_longer_side() -> None:
    setup = document(drafted(ON_A_PLATE))["setup"][0]
    assert "fixed_jaw" not in setup["holding"], "too deep for any vise"
    assert setup["datum"] == {"x": "left", "y": "front", "angle": "front", "z": {"face": "top", "is": 0}}
    turned = ON_A_PLATE.replace("100 X 70", "70 X 100").replace("X107", "X77").replace("Y77", "Y107").replace("X80", "X40")
    assert document(drafted(turned))["setup"][0]["datum"]["angle"] == "left"


def test_a_round_blank_is_touched_on_its_outside() -> None:
    setup = document(drafted(ROUND))["setup"][0]
    assert setup["blank"]["cylinder"] == {"diameter": 160, "height": 25}
    assert (setup["datum"]["x"], setup["datum"]["y"]) == ("outside", "outside")


@pytest.mark.parametrize("said", ["BLANK D160 X 25", "BLANK DIA 160 X 25", "BLANK 160 DIA X 25", "ROHTEIL DURCHMESSER 160 X 25"])
def test_a_diameter_before_the_height_says_that_the_blank_is_round(said: str) -> None:
    made = drafted(programs.HINTED.replace("ROHTEIL 100 X 70 X 25", said))
    assert document(made)["setup"][0]["blank"]["cylinder"] == {"diameter": 160, "height": 25}


def test_a_round_blank_stands_on_zero_where_its_underside_is_said_to() -> None:
    text = programs.HINTED.replace("ROHTEIL 100 X 70 X 25", "BLANK D160 X 25")
    text = text.replace("G54 = FRONT LEFT TOP", "X0 Y0 CENTRE OF THE BLANK, Z0 ITS UNDERSIDE")
    blank = document(drafted(text.replace("Z-6.", "Z20.").replace("Z2.", "Z30.").replace("Z-15.", "Z5.")))["setup"][0]["blank"]
    assert blank["corner"] == [-80, -80, 0]


def test_a_draft_has_instruments_so_that_touching_off_can_begin() -> None:
    made = drafted(programs.HINTED)
    assert document(made, "shop/instruments/default-edge-finder.toml")["tip_diameter"] == 10
    assert document(made, "shop/instruments/default-height-setter.toml")["height"] == 50
    assert "before you touch off" in evidence(made, "edge finder 10 mm, height setter 50 mm, test indicator")


def test_inch_programs_are_drafted_in_inches() -> None:
    text = programs.HINTED.replace("G21", "G20").replace("ROHTEIL 100 X 70 X 25", "STOCK DX 4.IN DY 3.IN DZ 1.IN")
    text = text.replace("D12", ".5").replace("D8", ".25").replace("X50. Y35.", "X2. Y1.").replace("Z20.", "Z1.")
    made = drafted(text.replace("Z-6.", "Z-.25").replace("X70.", "X3.").replace("Y45.", "Y2.").replace("Z-15.", "Z-.5"))
    job = document(made)
    assert job["units"] == "in"
    assert job["setup"][0]["blank"] == {"box": [4, 3, 1], "corner": [0, 0, -1]}
    assert made.setups[0].tools[0].tool.diameter == 12.7
    finder = document(made, "shop/instruments/default-edge-finder.toml")
    assert (finder["units"], finder["tip_diameter"], finder["repeatability"]) == ("in", 0.2, "0.005 mm")


def test_without_comments_use_tells_the_tool() -> None:
    made = drafted(programs.BARE)
    drill, tap = made.setups[0].tools
    assert (drill.tool.kind, tap.tool.kind) == ("drill", "tap")
    assert tap.tool.pitch == pytest.approx(500.0 / 400.0)
    assert tap.tool.diameter == 8.0
    assert "used with G81 in part.nc line 7" in evidence(made, "T3: drill")
    low, high = made.setups[0].blank.low, made.setups[0].blank.high
    assert low[0] <= 10 - drill.radius
    assert high[0] >= 50 + tap.radius
    assert high[2] == 0.0
    assert low[2] < -12.0


def test_flutes_and_stickout_reach_past_the_deepest_cut() -> None:
    for tool in drafted(programs.HINTED).setups[0].tools:
        deepest = {1: 6.0, 2: 15.0}[tool.station]
        assert tool.tool.flute_length > deepest
        assert tool.stickout >= deepest + 10.0


def test_a_rapid_beside_the_part_stays_outside_the_blank() -> None:
    blank = drafted(programs.OUTSIDE).setups[0].blank
    corner_of_descent = np.array([-30.0 + 8.0, -30.0 + 8.0])
    assert (blank.low[:2] >= corner_of_descent).any()
    assert blank.low[0] <= 0.0
    assert blank.high[0] >= 90.0


@pytest.mark.parametrize("turn", ["G2 Y45. I0. J15.\n", "G0 Y45.\n", "Y45.\n"])
def test_a_curve_from_one_facing_pass_to_the_next_lies_beside_the_blank(turn: str) -> None:
    """Passes of a cutter of radius 25 run from X-30 to X110: the metal ends at X0 at the latest, however the tool turns round."""
    blank = drafted(programs.FACED.replace("G0 Y45.\n", turn)).setups[0].blank
    assert blank.low[0] == pytest.approx(0.0, abs=5.0)


@pytest.mark.parametrize("after", ["G80\nM9\n", "M9\nX-200.\n"])
def test_what_a_cycle_left_on_drills_shows_nothing_of_the_blank(after: str) -> None:
    """Holes from X10 to X70; behind M9 nobody wants one."""
    text = programs.THROUGH.replace("(BLANK 80X60X12)\n(WORK ZERO FRONT LEFT TOP)\n", "").replace("G43 H6 Z20.", "G43 H6 Z20. M8")
    blank = drafted(text.replace("G80 G0 Z20.\n", after)).setups[0].blank
    assert -10.0 < blank.low[0] <= 10.0
    assert 70.0 <= blank.high[0] < 90.0


def test_a_length_in_force_though_its_tool_is_never_called_has_a_tool_in_the_kit() -> None:
    made = drafted(programs.HINTED.replace("G43 H1 Z20.", "G43 H7 Z20.\nG43 H1"))
    assert [tool.station for tool in made.setups[0].tools] == [1, 2, 7]
    assert "not called here; its register is in force in line 14" in evidence(made, "T7: end mill")


LISTED = """%
(T5 D9.5 - ZMIN=-6. - FLAT END MILL)
(T6 D8. - ZMIN={z} - DRILL)
G17 G21 G40 G49 G80 G90 G94 G98
T1 M6
G54 G0 X50. Y35. S5000 M3
G43 H1 Z20.
G1 Z-6. F300.
X70. F800.
G0 Z20.
G53 Z0.
T2 M6
G0 X20. Y20.
G43 H2 Z20.
G1 Z{deep} F100.
X30.
G0 Z20.
G53 Z0.
M30
%
"""


@pytest.mark.parametrize(("z", "deep", "sizes"), [
    ("-15.", "-15.", [9.5, 8.0]),  # each goes as deep as one of those that are listed
    ("-15.", "-12.", [9.5, 6.0]),  # T6 is said to go deeper than anything does
    ("-6.", "-6.", [6.0, 6.0]),  # which of the two is which, nothing tells
])  # fmt: skip
def test_a_tool_that_no_comment_lists_is_the_one_said_to_go_as_deep(z: str, deep: str, sizes: list[float]) -> None:
    made = drafted(LISTED.format(z=z, deep=deep))
    assert [tool.tool.diameter for tool in made.setups[0].tools] == sizes
    if sizes[0] == 9.5:
        said = evidence(made, "T1: end mill")
        assert said.startswith('from "(T5 D9.5 - ZMIN=-6. - FLAT END MILL)" in part.nc line 2; said of T5, which is never called')


def test_the_jaws_stay_below_every_cut_beside_the_blank() -> None:
    setup = drafted(programs.OUTSIDE.replace("(T5", "(STOCK 90X60X16)\n(G54 FRONT LEFT TOP)\n(T5")).setups[0]
    held = setup.holding
    assert held.vise is not None
    # the contour runs 10 deep beside the jaws of a blank 16 thick: they may stand 5 above its underside, 1 below the tool
    assert setup.blank.low[2] - held.parallels + held.vise.jaw_height == -11.0


def test_holes_through_over_the_parallels_ask_for_spacers() -> None:
    setup = drafted(programs.THROUGH).setups[0]
    assert setup.holding.vise is None
    assert setup.holding.parallels >= 16.0 - 12.0 + 1.0


def test_no_tool_length_means_touched_off_with_each_tool() -> None:
    made = drafted(programs.WITHOUT_LENGTH)
    assert document(made)["setup"][0]["lengths"] == "touched off with each tool"
    assert [tool.station for tool in made.setups[0].tools] == [0]
    assert "lengths" not in document(drafted(programs.HINTED))["setup"][0]


def test_other_offsets_lie_beside_the_first() -> None:
    made = drafted(programs.SEVERAL_OFFSETS)
    setup = document(made)["setup"][0]
    assert setup["offset"] == "G54"
    assert setup["shifts"]["G55"][0] > made.setups[0].blank.size[0]
    assert "one blank is put beside the other" in evidence(made, "places of G55")


def test_a_contour_already_offset_leaves_the_register_empty() -> None:
    made = drafted(programs.ALREADY_OFFSET)
    assert document(made, "registers.toml")["tool"] == {"7": {"radius": 0}}
    assert "line 12" in evidence(made, "D7 holds 0")
    assert "registers.toml" not in drafted(programs.OUTSIDE).files


def test_machine_functions_stay_a_remark() -> None:
    made = drafted(programs.HINTED.replace("S5000 M3", "M77\nS5000 M3"))
    assert document(made, "shop/machines/default-mill.toml")["control"]["behaviours"]["other_m_codes"] == "remark"
    assert "M77" in evidence(made, "control: machine_functions")


def test_registers_follow_the_program_unless_two_tools_share_one() -> None:
    lent = drafted(programs.HINTED.replace("G43 H2", "G43 H12")).setups[0].tools[1]
    assert lent.length_register == 12
    stolen = drafted(programs.HINTED.replace("G43 H1 ", "G43 H2 ")).setups[0].tools
    assert [tool.length_register for tool in stolen] == [None, None]
    shared = drafted(programs.HINTED.replace("G43 H2", "G43 H1")).setups[0].tools
    assert [tool.length_register for tool in shared] == [None, None]


def test_contradicting_comments_settle_nothing() -> None:
    text = programs.HINTED.replace("(MATERIAL", "(G54 = BACK RIGHT TOP)\n(STOCK 90X70X25)\n(MATERIAL")
    made = drafted(text)
    assert "contradict each other" in evidence(made, "blank ")
    assert not made.setups[0].blank.fixed[:, :2].any()


def test_a_zero_on_the_wrong_side_is_not_believed() -> None:
    made = drafted(programs.HINTED.replace("FRONT LEFT TOP", "BACK RIGHT TOP"))
    assert made.setups[0].blank.low[0] == 0.0
    assert "the cuts are followed" in evidence(made, "least corner")


def test_a_comment_that_says_two_things_is_cited_once() -> None:
    assert evidence(drafted(programs.HINTED), "least corner").count("FRONT LEFT TOP") == 1


def test_subprograms_go_with_their_caller() -> None:
    both = draft([Source("main.nc", programs.MAIN), Source("spot.nc", programs.SUB)])
    assert [setup.reading.names for setup in both.setups] == [("main.nc", "spot.nc")]
    apart = draft([Source("one.nc", programs.HINTED), Source("two.nc", programs.OUTSIDE)])
    assert [setup.name for setup in apart.setups] == ["setup 1", "setup 2"]


@pytest.mark.parametrize(
    ("text", "said"),
    [("%\nG0 X1 Y1\nM30\n%", "no move in this program cuts"), ("", "no move in this program cuts"),
     ("G1 X1 @5 F100", ""), ("\x01\x02\x03\x04\x05", "not a part program")],
)  # fmt: skip
def test_what_cannot_be_drafted_is_refused_with_its_place(text: str, said: str) -> None:
    with pytest.raises(InputRefused) as refusal:
        drafted(text)
    assert said in refusal.value.problems[0].what
    assert refusal.value.problems[0].span is not None


def test_a_program_read_in_part_says_so_first_and_names_what_is_left_out() -> None:
    made = drafted(programs.HINTED.replace("(ROHTEIL 100 X 70 X 25)\n", "").replace("T2 M6", "A90.\nT2 M6"))
    assert made.problems
    first = made.guesses[0]
    assert first.what == "read only to line 21: what follows is neither drafted nor proved"
    assert (first.file, first.line) == ("part.nc", 21)
    assert "10 blocks behind it are not in this draft; behind it stand T2 from line 22, H2" in first.evidence
    assert made.files["job.toml"].decode().startswith("# READ ONLY UP TO part.nc:21")
    assert document(made)["job"]["title"] == "PUMP COVER (read only to line 21)"
    later = made.setups[0].tools[1]
    assert (later.station, later.tool.kind, later.tool.diameter) == (2, "drill", 8.0)
    assert "called in line 22, behind where the reading stops" in evidence(made, "T2: drill")
    assert "up to line 21, where the reading stops" in evidence(made, "blank ")


def test_every_guess_names_where_it_is_answered_and_where_it_comes_from() -> None:
    made = drafted(programs.HINTED)
    job = document(made)
    by_what = {guess["what"]: guess for guess in job["guess"]}
    assert by_what["blank 100 × 70 × 25 mm"]["key"] == "job.toml: setup.blank.box"
    assert (by_what["blank 100 × 70 × 25 mm"]["file"], by_what["blank 100 × 70 × 25 mm"]["line"]) == ("part.nc", 3)
    flutes = next(guess for what, guess in by_what.items() if what.startswith("T2: flutes"))
    file, _, key = flutes["key"].partition(": ")
    written = document(made, file)[key]
    assert flutes["low"][0] <= written <= flutes["high"][0]
    assert flutes["line"] == 26, "the hole is drilled there"
    for guess in made.guesses:
        assert not guess.key or guess.key.partition(": ")[0] in made.files


def test_a_size_that_is_stated_has_no_range_and_one_that_is_not_has() -> None:
    stated = next(guess for guess in drafted(programs.HINTED).guesses if guess.what.startswith("blank 100"))
    assert stated.low == ()
    unsaid = [guess for guess in drafted(programs.BARE).guesses if guess.what.startswith("blank ")]
    assert [guess.faces for guess in unsaid] == [("left", "right", "front", "back"), ("bottom",)]
    tap = next(guess for guess in drafted(programs.BARE).guesses if guess.what.startswith("T4: tap"))
    assert tap.key == "shop/tools/tap-8.toml: diameter"
    assert tap.low[0] < 8.0 < tap.high[0]


def test_a_program_that_calls_no_tool_takes_the_one_its_comments_describe() -> None:
    text = "(T2 D=3. CR=0. - flat end mill)\n" + programs.WITHOUT_LENGTH
    tool = drafted(text).setups[0].tools[0]
    assert (tool.station, tool.tool.kind, tool.tool.diameter) == (0, "end mill", 3.0)
    two = drafted("(T2 D=3. CR=0. - flat end mill)\n(T3 D=4. CR=0. - flat end mill)\n" + programs.WITHOUT_LENGTH)
    assert "the comments speak of T2, T3, never called" in evidence(two, "T0: end mill")


DOUBTFUL_UNIT = "G90 G54\nT1 M6\nS3000 M3\nG0 X0. Y0.\nG43 H1 Z2.\nG1 Z-5. F500.\nX12.\nY10.\nG0 Z2.\nM30\n"


def test_a_doubtful_unit_is_named_and_the_kit_is_one_that_is_made() -> None:
    made = drafted(DOUBTFUL_UNIT)
    assert "would be 127 mm deep" in evidence(made, "control: units = mm")
    control = document(made, "shop/machines/default-mill.toml")["control"]
    assert "units" in control["unsure"]
    assert made.setups[0].tools[0].tool.flute_length <= 40.0


def test_a_length_applied_by_itself_is_named_and_the_kit_is_one_that_is_made() -> None:
    text = "G21 G90 G54\nT1 M6\nS1000 M3\nG0 X0. Y0. Z10.\nG43 H1\nG91\nG1 Z-12. F100.\nX50.\nG0 Z12.\nG90 Z100.\nM30\n"
    made = drafted(text)
    assert "G43 stands by itself in line 5" in evidence(made, "control: length_change_moves = yes")
    assert "length_change_moves" in document(made, "shop/machines/default-mill.toml")["control"]["unsure"]
    assert made.setups[0].tools[0].least_mm == -2.0
    assert made.setups[0].tools[0].tool.flute_length <= 40.0


def test_a_g43_without_a_register_is_not_called_none() -> None:
    made = drafted("G21 G90\nS1000 M3\nG0 G43 Z5.\nX0. Y0.\nG1 Z-2. F100.\nX50.\nG0 Z5.\nM30\n")
    guess = next(guess for guess in made.guesses if guess.what.startswith("tool lengths"))
    assert (guess.line, "applies no tool length" in guess.evidence) == (3, False)
    assert "G43 in line 3 names no length register, and no tool is called before it" in guess.evidence


def test_a_comment_too_long_to_cite_ends_with_a_whole_word() -> None:
    comment = f"(ROHTEIL 100 X 70 X 25 {'AS SAWN FROM THE LONGEST BAR ' * 3}OR SHORTER)"
    said = evidence(drafted(programs.HINTED.replace("(ROHTEIL 100 X 70 X 25)", comment)), "blank 100")
    shown, dots, place = said.removeprefix('from "').partition(" …")
    assert (dots, place) == (" …", ')" in part.nc line 3')
    assert comment.startswith(f"{shown} ")


def test_reasons_together_are_told_whole_and_the_rest_counted() -> None:
    whole = [cite(f"{number} {'is a reason ' * 9}") for number in range(9)]
    assert together(whole[:5]) == "; ".join(map(str, whole[:5]))
    told = together(whole).split("; ")
    assert told[:-1] == [str(one) for one in whole[: len(told) - 1]]
    assert told[-1] == f"and {9 - (len(told) - 1)} more"
    assert together([]) == "not stated in the program"
