"""Several clampings in one program: drafted line by line, each blank from the one before, and read as the control runs them."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import JobFolder, load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.finding import State
from setwright.program.source import Source
from setwright.prove.chain import prove_job
from setwright.prove.reading import held_for, interpret_setup, read_setup
from setwright.prove.station import Proof
from setwright.start.draft import Draft, draft
from setwright.start.write import write_draft
from tests.start import programs

FLIP = """%
O0111 (LID)
(BLANK 80 X 60 X 30)
(G54 = FRONT LEFT TOP)
(T1 FACE MILL D50)
(T2 END MILL D12)
(T3 DRILL D8)
G17 G21 G40 G49 G80 G90 G94
T1 M6
G54 G0 X-30. Y15. S2000 M3
G43 H1 Z20.
Z-2.
G1 X110. F600.
G0 Y45.
G1 X-30.
G0 Z50.
G53 Z0.
T2 M6
G0 X20. Y20. S4000 M3
G43 H2 Z20.
Z2.
G1 Z-6. F300.
X60. F800.
G0 Z50.
G53 Z0.
M0
(FLIP PART ABOUT X)
(G55 = FRONT LEFT TOP)
G55 G0 X20. Y20.
G43 H2 Z20.
Z2.
G1 Z-3. F300.
X60.
G0 Z50.
G53 Z0.
T3 M6
G0 X40. Y30. S2500 M3
G43 H3 Z20.
G81 Z-10. R2. F250.
G80 G53 Z0.
M30
%
"""
STOP = FLIP.splitlines().index("M0") + 1
LAST = len(FLIP.splitlines())

PLATE = """%
O0112
(PLATE 400 X 200 X 10)
(G54 = FRONT LEFT TOP)
(T1 END MILL D10)
G17 G21 G40 G49 G80 G90 G94
T1 M6
G54 G0 X50. Y100. S4000 M3
G43 H1 Z30.
Z2.
M98 P113
M0 (MOVE CLAMPS)
G0 X200. Y100.
Z2.
M98 P113
M1 (CHECK SIZE)
G0 X350. Y100.
Z2.
M98 P113
G53 G0 Z0.
M30
O0113
G91
G1 Z-5. F300.
X20. F600.
G90
G0 Z30.
M99
%
"""
CLAMPS = PLATE.splitlines().index("M0 (MOVE CLAMPS)") + 1

CHECKED = FLIP.replace("(FLIP PART ABOUT X)\n(G55 = FRONT LEFT TOP)\nG55 G0", "(CHECK DEPTH)\nG0")


def drafted(text: str) -> Draft:
    return draft([Source("part.nc", text.encode())])


def setups(made: Draft) -> list[dict[str, Any]]:
    return list(tomllib.loads(made.files["job.toml"].decode())["setup"])


def folder(tmp_path: Path, text: str) -> JobFolder:
    write_draft(drafted(text), tmp_path / "job")
    return load_job(tmp_path / "job")


def guess(made: Draft, setup: str, what: str) -> tuple[str, str, int | None]:
    """What is guessed, its evidence, and its line."""
    [found] = [one for one in made.guesses if one.setup == setup and what in one.what]
    return found.what, found.evidence, found.line


def test_a_part_that_is_flipped_is_two_setups_from_line_to_line() -> None:
    made = drafted(FLIP)
    first, second = setups(made)
    assert [(s["name"], s["programs"], s["lines"], s["offset"]) for s in (first, second)] == [
        ("first clamping", ["part.nc"], [1, STOP], "G54"), ("second clamping", ["part.nc"], [STOP + 1, LAST], "G55"),
    ]  # fmt: skip
    assert [[tool["station"] for tool in s["tool"]] for s in (first, second)] == [[1, 2], [2, 3]]
    assert first["blank"]["box"] == [80, 60, 30]
    assert second["blank"] == {"from": "first clamping", "turned": [{"about": "x", "by": 180}], "corner": [0, 0, -28]}
    assert "shifts" not in first
    assert "shifts" not in second
    assert guess(made, "second clamping", "this clamping is") == (
        f"this clamping is lines {STOP + 1} to {LAST}", f'from "(FLIP PART ABOUT X)" in part.nc line {STOP + 1}', STOP + 1,
    )  # fmt: skip
    what, evidence, line = guess(made, "second clamping", "the part of")
    assert what == "the part of “first clamping”, turned about X by 180°"
    assert (evidence, line) == (f'from "(FLIP PART ABOUT X)" in part.nc line {STOP + 1}', STOP + 1)
    assert not [one for one in made.guesses if "one clamping" in one.what]


def test_one_tool_of_both_clampings_is_one_tool() -> None:
    first, second = setups(drafted(FLIP))
    assert first["tool"][1] == second["tool"][0]


@pytest.mark.parametrize(("words", "turned", "open_"), [
    ("FLIP PART", [{"about": "x", "by": 180}], "nothing says about which axis, about Y is possible too"),
    ("TURN OVER ABOUT THE Y AXIS", [{"about": "y", "by": 180}], ""),
    ("WENDEN UM Y", [{"about": "y", "by": 180}], ""),
    ("ROTATE PART 90", [{"about": "z", "by": 90}], "nothing says about which axis, about X or Y is possible too"),
    ("ROTATE PART 270 DEG ABOUT Z", [{"about": "z", "by": 270}], ""),
    ("ROTATE PART", [{"about": "z", "by": 180}], "nothing says how far"),
    ("UMSPANNEN", None, "clamped anew, and nothing is said of turning it"),
    ("OP 2", None, "nothing says whether the part is turned there"),
])  # fmt: skip
def test_how_the_part_is_turned_is_what_the_text_says_and_the_rest_is_named(words: str, turned: object, open_: str) -> None:
    made = drafted(FLIP.replace("FLIP PART ABOUT X", words))
    assert setups(made)[1]["blank"].get("turned") == turned
    _, evidence, _ = guess(made, "second clamping", "the part of")
    assert evidence.startswith(f'from "({words})" in part.nc line {STOP + 1}')
    assert open_ in evidence
    assert ("nothing" in evidence) == bool(open_)


def test_a_turned_blank_lies_with_its_sizes_exchanged() -> None:
    made = drafted(FLIP.replace("FLIP PART ABOUT X", "ROTATE PART 90 ABOUT Z").replace("G55 = FRONT LEFT", "G55 = BACK RIGHT"))
    blank = made.setups[1].blank
    assert blank.size.tolist() == [60.0, 80.0, 28.0]
    assert blank.why_size[0].text == "what “first clamping” leaves, about 60 × 80 × 28 mm: measure it"


def test_a_stop_that_says_nothing_of_the_part_is_one_clamping() -> None:
    made = drafted(CHECKED)
    [only] = setups(made)
    assert only["name"] == "first side"
    assert "lines" not in only
    assert not [one for one in made.guesses if "clamping" in one.what]


def test_a_silent_stop_before_another_offset_is_asked_about() -> None:
    made = drafted(FLIP.replace("(FLIP PART ABOUT X)\n", ""))
    assert len(setups(made)) == 1
    assert guess(made, "first side", "one clamping")[2] == STOP
    both = FLIP.replace("(FLIP PART ABOUT X)\n", "").replace("G55", "G54")
    assert not [one for one in drafted(both).guesses if "clamping" in one.what]


def said_of_clampings(proof: Proof) -> list[tuple[int, bool]]:
    """Lines of what is told of several clampings, and whether the stop's own words and the draft's setups are named."""
    found = [one for one in proof.findings if one.slug == "several-clampings" and one.state is State.FOUND]
    return [(one.line, "FLIP PART ABOUT X" in one.text and "a setup of its own" in one.text) for one in found]


def test_what_one_clamping_leaves_is_the_blank_of_the_next(tmp_path: Path) -> None:
    job = folder(tmp_path, FLIP)
    first, second = prove_job(job, list(job.job.setup), pitch_mm=0.5)
    faced, slot = 80.0 * 60.0 * 2.0, 4.0 * (40.0 * 12.0 + np.pi * 36.0)
    assert first.blank.value == pytest.approx(80.0 * 60.0 * 30.0, abs=first.blank.bound + 1.0)
    assert first.rest.value == pytest.approx(80.0 * 60.0 * 30.0 - faced - slot, abs=first.rest.bound + 1.0)
    assert second.blank.value == pytest.approx(first.rest.value, abs=first.rest.bound + second.blank.bound + 1.0)
    assert set(first.removed) == {1, 2}
    assert set(second.removed) == {2, 3}
    assert {int(line) for line in first.reading.interpreted.path.line} <= set(range(1, STOP + 1))
    assert {int(line) for line in second.reading.interpreted.path.line} <= set(range(STOP + 1, LAST + 1))
    assert said_of_clampings(first) == [(STOP, True)]
    assert said_of_clampings(second) == [], "told once, with the setup that begins the program"
    answered = job.job.model_copy(update={"guess": tuple(one for one in job.job.guess if one.key != "job.toml: setup.lines")})
    [confirmed] = prove_job(replace(job, job=answered), [answered.setup[0]], pitch_mm=1.0)
    assert said_of_clampings(confirmed) == [], "somebody has said that it is so"
    assert first.timing.total_s is not None
    assert second.timing.total_s is not None


def test_the_control_does_not_forget_what_stands_before(tmp_path: Path) -> None:
    job = folder(tmp_path, FLIP.replace("Z-3. F300.", "Z-3."))
    second = kit(job, job.job.setup[1])
    reading = read_setup(second, nominal_truth(second))
    path = reading.interpreted.path
    feeds = np.flatnonzero(path.kind != 0)
    assert path.feed[feeds[0]] == 800.0, "the F of line 23"
    assert path.states[int(path.state[0])].tool == 2, "no tool change stands in its lines before that"
    assert path.states[int(path.state[0])].spindle_rpm == 4000.0
    assert (reading.interpreted.registers, reading.interpreted.missing) == ({"G55": True, "H2": True, "H3": True}, ())
    assert [one.number for one in reading.interpreted.tools] == [2, 3]
    again = interpret_setup(second, held_for(second, nominal_truth(second))).path
    assert np.array_equal(again.end, path.end)
    assert np.array_equal(again.line, path.line)
    assert [one for one in reading.findings if one.slug == "missing-length"] == []


def test_a_length_still_in_force_from_an_earlier_clamping_has_its_tool(tmp_path: Path) -> None:
    """The second clamping changes to T3 at once and moves it sideways high up before its own G43: H2 is in force until then."""
    before, _, behind = FLIP.partition("G55 G0 X20. Y20.\n")
    text = before + "G55\n" + behind.partition("G53 Z0.\n")[2]
    job = folder(tmp_path, text)
    assert [[tool.station for tool in setup.tool] for setup in job.job.setup] == [[1, 2], [2, 3]]
    first, second = prove_job(job, list(job.job.setup), pitch_mm=1.0)
    assert set(second.removed) == {3}
    assert second.kit.tools[2] == first.kit.tools[2], "one and the same tool in both clampings"


def test_a_feed_through_the_air_does_not_put_zero_at_the_underside() -> None:
    """The slot of the second clamping is 3 deep; the way between its ends is fed at Z5, far below the 28 that the blank is high."""
    fed = FLIP.replace("G55 = FRONT LEFT TOP", "G55 = FRONT LEFT").replace("Z-10. R2.", "Z-5. R2.")
    fed = fed.replace("Z-3. F300.\nX60.\n", "Z5. F300.\nX60.\nX20.\nZ-3.\nX60.\n")
    assert drafted(fed).setups[1].blank.low.tolist() == [0.0, 0.0, -28.0]


def test_clamps_that_are_moved_are_two_setups_and_a_look_at_the_size_is_none(tmp_path: Path) -> None:
    job = folder(tmp_path, PLATE)
    first, second = job.job.setup
    assert [setup.lines for setup in (first, second)] == [(1, CLAMPS), (CLAMPS + 1, len(PLATE.splitlines()))]
    assert (first.offset, second.offset) == ("G54", "G54")
    assert (second.blank.from_, second.blank.turned) == ("first clamping", ())
    one, two = prove_job(job, [first, second], pitch_mm=1.0)
    slot = 5.0 * (20.0 * 10.0 + np.pi * 25.0) - 2.0 * (20.0 * 10.0 + np.pi * 25.0)
    gone = [proof.blank.value - proof.rest.value for proof in (one, two)]
    assert gone[0] == pytest.approx(slot, rel=0.05)
    assert gone[1] == pytest.approx(2.0 * slot, rel=0.05), "the subprogram belongs to the lines it is called in"
    low = [float(proof.reading.interpreted.path.end[proof.reading.interpreted.path.kind != 0, 0].min()) for proof in (one, two)]
    assert low == [50.0, 200.0]


def test_lines_may_be_proved_up_to_one_of_them(tmp_path: Path) -> None:
    job = folder(tmp_path, FLIP)
    both = list(job.job.setup)
    first, second = prove_job(job, both, pitch_mm=1.0, until=("part.nc", STOP + 6))
    assert set(first.removed) == {1, 2}, "the first clamping is whole"
    assert set(second.removed) == {2}


@pytest.mark.parametrize(("old", "new", "said"), [
    (f"lines = [1, {STOP}]", f"lines = [1, {LAST + 1}]", f"part.nc ends with line {LAST}"),
    (f"lines = [1, {STOP}]", f"lines = [{STOP}, 1]", "ends before it begins"),
    (f"lines = [1, {STOP}]", "lines = [0, 3]", "lines"),
])  # fmt: skip
def test_lines_that_are_not_there_are_refused_with_their_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    write_draft(drafted(FLIP), tmp_path / "job")
    text = (tmp_path / "job" / "job.toml").read_text()
    assert old in text
    (tmp_path / "job" / "job.toml").write_text(text.replace(old, new))
    with pytest.raises(InputRefused) as refusal:
        load_job(tmp_path / "job")
    assert said in str(refusal.value)
    assert refusal.value.problems[0].span is not None


def test_lines_without_a_move_are_refused(tmp_path: Path) -> None:
    write_draft(drafted(FLIP), tmp_path / "job")
    text = (tmp_path / "job" / "job.toml").read_text()
    (tmp_path / "job" / "job.toml").write_text(text.replace(f"lines = [1, {STOP}]", "lines = [1, 9]"))
    job = load_job(tmp_path / "job")
    together = kit(job, job.job.setup[0])
    with pytest.raises(InputRefused, match="lines 1 to 9 of part\\.nc make no move"):
        read_setup(together, nominal_truth(together))


def test_programs_beside_each_other_keep_their_numbers() -> None:
    made = draft([Source("one.nc", FLIP.encode()), Source("two.nc", programs.HINTED.encode())])
    assert [(setup["name"], setup["programs"]) for setup in setups(made)] == [
        ("setup 1", ["one.nc"]), ("setup 2", ["one.nc"]), ("setup 3", ["two.nc"]),
    ]  # fmt: skip
