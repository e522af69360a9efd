"""A draft acquits of nothing: no guess is chosen to make a finding go away, and what a guess decides is told with its line."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.finding import Finding, Signal
from setwright.program.source import Source
from setwright.prove.station import prove
from setwright.prove.verdict import verdict
from setwright.start.draft import Draft, draft
from setwright.start.write import start
from tests.start import programs

HEAD = "%\nO0300\n(T1 END MILL D10)\nG17 G21 G40 G49 G80 G90 G94 G98\nT1 M6\nG54 S4000 M3\n"
TAIL = "G0 Z20.\nG53 Z0.\nM30\n%\n"
SECOND_PASS_AT_RAPID = HEAD + "G0 X10. Y10.\nG43 H1 Z20.\nZ2.\nG1 Z-4. F300.\nX80. F600.\nY18.\nG0 X10.\n" + TAIL
WIDE = HEAD + "G0 X0. Y0.\nG43 H1 Z20.\nG1 Z-3. F300.\nX100. F600.\nY60.\nX0.\nY0.\nG0 Z-1.\nX40. Y-40.\n" + TAIL
NARROW = "(STOCK 90X60X16)\n(G54 FRONT LEFT TOP)\n(T5"
CUT_OUT = HEAD + "G0 X0. Y0.\nG43 H1 Z20.\nZ2.\nG1 Z-6.2 F300.\nX400. F600.\nY300.\nX0.\nY0.\n" + TAIL
IN_A_SENTENCE = """%
(the sheet is 300 long and 200 wide,)
(nominally 1/4" = 6.35 mm thick, Z0 ON TABLE)
""" + HEAD[2:] + "G0 X40. Y40.\nG43 H1 Z20.\nZ2.\nG1 Z1. F300.\nX80. F600.\nG0 X150. Y90.\n" + TAIL  # fmt: skip


def drafted(text: str) -> Draft:
    return draft([Source("part.nc", text.encode())])


def findings(tmp_path: Path, text: str) -> list[Finding]:
    (tmp_path / "part.nc").write_text(text)
    start([tmp_path / "part.nc"], tmp_path / "job")
    folder = load_job(tmp_path / "job")
    put = kit(folder, folder.job.setup[0])
    return list(prove(put, nominal_truth(put), pitch_mm=1.0).findings)


def lines_of(found: list[Finding], slug: str) -> list[int | None]:
    return [one.line for one in found if one.slug == slug]


def test_a_pass_at_rapid_through_metal_is_told(tmp_path: Path) -> None:
    assert 13 in lines_of(findings(tmp_path, SECOND_PASS_AT_RAPID), "rapid-into-material")


def test_rapids_below_the_top_of_a_sheet_stated_in_a_sentence_are_told(tmp_path: Path) -> None:
    setup = drafted(IN_A_SENTENCE).setups[0]
    assert (setup.blank.size.round(2).tolist(), setup.blank.high[2]) == ([300.0, 200.0, 6.35], 6.35)
    assert 11 in lines_of(findings(tmp_path, IN_A_SENTENCE), "rapid-into-material")


RING = HEAD + "G0 X10. Y10.\nG43 H1 Z20.\nZ2.\nG1 Z-4. F300.\nX80. F600.\nY40.\nX10.\nY10.\nG0 Z20.\n"
BESIDE, ISLAND = RING + "X-2. Y25.\nZ-3.\nZ20.\n" + TAIL, RING + "X45. Y25.\nZ-3.\nZ20.\n" + TAIL
DRAWN_AT_ZERO = HEAD + "G0 X0. Y0.\nG43 H1 Z20.\nZ10.\nG1 X5. F600.\nX0.\nZ0. F300.\nX80. F600.\nY60.\nX0.\nY0.\n" + TAIL


def put_together(tmp_path: Path, text: str, *, answered: bool) -> Kit:
    """The drafted setup; `answered`: as it stands when nobody doubts the draft any more."""
    tmp_path.mkdir(exist_ok=True)
    (tmp_path / "part.nc").write_text(text)
    start([tmp_path / "part.nc"], tmp_path / "job")
    folder = load_job(tmp_path / "job")
    if answered:
        folder = replace(folder, job=folder.job.model_copy(update={"guess": ()}))
    return kit(folder, folder.job.setup[0])


@pytest.mark.parametrize("answered", [False, True])
@pytest.mark.parametrize("text", [BESIDE, ISLAND])
def test_a_rapid_into_the_guessed_part_of_the_blank_is_a_question_with_its_number(
    tmp_path: Path, text: str, answered: bool
) -> None:
    """The tool's axis cuts from X10 on, the blank is drafted from X0 on: a cutter of radius 5 that goes down at X-2 meets it if it
    reaches beyond X3. In the middle of the ring any blank is met."""
    together = put_together(tmp_path, text, answered=answered)
    proof = prove(together, nominal_truth(together), pitch_mm=1.0)
    found, = [one for one in proof.findings if one.slug == "rapid-into-material"]
    asked = text is BESIDE and not answered
    assert (found.line, found.signal) == (17, Signal.WARNING if asked else Signal.DANGER)
    assert ("runs into the blank at rapid if it reaches beyond X3.000, " in found.text) is asked
    assert found.text in verdict(proof).text


@pytest.mark.parametrize("answered", [False, True])
def test_a_piece_loose_only_where_the_top_is_guessed_is_a_question(tmp_path: Path, answered: bool) -> None:
    """10 of 290 mm are fed at Z10, all else at Z0: the blank may stand from Z0 to Z10, or end at Z0, where nothing is cut."""
    together = put_together(tmp_path, DRAWN_AT_ZERO, answered=answered)
    found, = [one for one in prove(together, nominal_truth(together), pitch_mm=1.0).findings if one.slug == "cut-loose"]
    assert found.signal is (Signal.DANGER if answered else Signal.WARNING)
    assert ("if the blank stands from Z0.000 to Z10.000 as it is guessed" in found.text) is not answered


STATED = "(STOCK 50 X 50 X 20)\n(X0 Y0 LOWER LEFT, Z0 TOP)\n" + HEAD[2:]
OFF_THE_END = "G0 X10. Y10.\nG43 H1 Z5.\nG1 Z-3. F100.\nX{x} F500.\n" + TAIL
BELOW = "G0 X{x} Y-30.\nG43 H1 Z5.\nG1 Z{z} F100.\nY80.\n" + TAIL
DOWN = "G0 X25. Y25.\nG43 H1 Z5.\nG81 Z{z} R2. F100.\nG80\n" + TAIL


@pytest.mark.parametrize(
    ("moves", "told"),
    [(OFF_THE_END.format(x="140."), (11, Signal.CAUTION, 85.0)), (OFF_THE_END.format(x="104."), None),
     (DOWN.format(z="-45."), (10, Signal.WARNING, 25.0)), (DOWN.format(z="-29."), None),
     (BELOW.format(x="25.", z="-45."), (11, Signal.WARNING, 25.0)), (BELOW.format(x="-5.", z="-45."), None),
     (OFF_THE_END.replace("Z-3.", "Z1.").format(x="140."), None)],
)  # fmt: skip
def test_a_feed_far_outside_the_stated_stock_is_told(
    tmp_path: Path, moves: str, told: tuple[int, Signal, float] | None
) -> None:
    """A cutter of radius 5 that ends at X140 is 85 mm beside a stock of 50; Z-45 is 25 mm below one 20 thick. Run out by less than
    50, drilled through by less than 10, or fed above the top, nothing is said. A pass that comes in from beside the blank goes over
    it all the same; one along its edge does not."""
    found = [one for one in findings(tmp_path, STATED + moves) if one.slug == "cuts-outside-blank"]
    assert [(one.line, one.signal, one.value) for one in found] == ([] if told is None else [told])


def test_a_stock_that_is_guessed_is_not_what_a_path_leaves(tmp_path: Path) -> None:
    moves = (HEAD + OFF_THE_END.format(x="140.")).replace("%\n", "", 1)
    assert [one for one in findings(tmp_path, "%\n" + moves) if one.slug == "cuts-outside-blank"] == []


def test_a_close_pass_of_a_drafted_holding_is_told_with_the_guess(tmp_path: Path) -> None:
    """The draft puts the jaw tops 1 mm below a motion beside the blank. Once the holding is stated, it is a CAUTION."""
    signals = []
    for answered in (False, True):
        together = put_together(tmp_path / str(answered), programs.OUTSIDE.replace("(T5", NARROW), answered=answered)
        found = prove(together, nominal_truth(together), pitch_mm=1.0).findings
        signals.append({one.signal for one in found if one.slug == "close-pass"})
    assert signals == [{Signal.NOTICE}, {Signal.CAUTION}]


def test_the_blank_covers_what_is_cut_wherever_rapids_go() -> None:
    blank = drafted(WIDE).setups[0].blank
    assert (blank.low[:2] <= -5.0).all()
    assert blank.high[0] >= 105.0
    assert blank.high[1] >= 65.0


@pytest.mark.parametrize("depth", [0.4, 1.0, 3.0, 6.2, 20.0])
def test_a_sheet_is_never_drafted_as_thick_as_the_deepest_cut(depth: float) -> None:
    made = drafted(CUT_OUT.replace("Z-6.2", f"Z-{depth}"))
    blank = made.setups[0].blank
    assert blank.sheet
    assert blank.size[2] >= depth + 0.5
    guess = next(guess for guess in made.guesses if guess.what.endswith(" thick"))
    assert (guess.key, guess.faces, guess.line) == ("job.toml: setup.blank.box", ("bottom",), 10)
    assert guess.low[0] < blank.low[2] < guess.high[0]
    assert guess.high[0] > -depth, "as thin as to be cut through is plausible"


def test_a_tool_turned_backwards_is_not_made_left_handed(tmp_path: Path) -> None:
    text = programs.HINTED.replace("S5000 M3", "S5000 M4")
    made = drafted(text)
    assert made.setups[0].tools[0].tool.hand == "right"
    guess = next(guess for guess in made.guesses if guess.what == "T1: right-handed")
    assert (guess.key, guess.line) == ("shop/tools/end-mill-12.toml: hand", 16)
    assert "cut-without-spindle" in {one.slug for one in findings(tmp_path, text)}


def test_a_left_hand_tap_is_one() -> None:
    text = programs.BARE.replace("S400 M3", "S400 M4").replace("G84", "G74")
    assert next(tool for tool in drafted(text).setups[0].tools if tool.station == 4).tool.hand == "left"


def test_a_rapid_that_a_guessed_side_decides_on_is_told_with_its_line_and_number() -> None:
    guess = next(guess for guess in drafted(programs.OUTSIDE).guesses if "drawn around" in guess.evidence)
    assert "the rapid of line 8 runs into it if it reaches beyond X-22 and Y-22" in guess.evidence
    assert guess.line == 8
    by_face = dict(zip(guess.faces, zip(guess.low, guess.high, strict=True), strict=True))
    assert by_face["left"][0] < -22.0 <= by_face["left"][1]


def test_jaws_may_stand_higher_than_drafted() -> None:
    text = programs.OUTSIDE.replace("(T5", NARROW)
    made = drafted(text)
    guess = next(guess for guess in made.guesses if guess.what.startswith("vise"))
    assert guess.key == "job.toml: setup.holding.parallels"
    assert guess.low[0] < made.setups[0].holding.parallels <= guess.high[0]
    assert "goes down to Z-10 there" in guess.evidence


def test_drafted_flutes_are_those_of_a_tool_that_is_made() -> None:
    deep = programs.HINTED.replace("Z-6.", "Z-140.").replace("D12", "D6")
    tool = drafted(deep).setups[0].tools[0]
    assert tool.tool.flute_length <= 6 * 6
    assert "too short for its deepest cut" in tool.lengths[0].text or tool.stickout > 140.0


@pytest.mark.parametrize(("passes", "top"), [
    ("Z0.\nG1 X90.\n", 0.5), ("Z1.2\nG1 X90.\nG0 Y8. Z0.4\nG1 X-30.\nG0 Y30. Z0.\nG1 X90.\nZ100.\nY80.\n", 2.4),
])  # fmt: skip
def test_above_what_is_faced_stands_metal(tmp_path: Path, passes: str, top: float) -> None:
    text = HEAD.replace("END MILL D10", "FACE MILL D40") + "G0 X-30. Y30. F600.\nG43 H1 Z20.\n" + passes + TAIL
    setup = drafted(text).setups[0]
    assert setup.blank.high[2] == pytest.approx(top)
    assert not lines_of(findings(tmp_path, text), "tool-cuts-nothing")


def test_what_is_cut_alike_at_three_levels_is_faced() -> None:
    level = "G1 Z{} F200.\nX90. F600.\nY20.\nX-10.\nG0 Z10.\nX-10. Y10.\n"
    levels = "".join(level.format(z) for z in ("4.", "2.5", "1."))
    text = HEAD + "G0 X-10. Y10.\nG43 H1 Z20.\n" + levels + "G1 Z-3. F200.\nX20.\n" + TAIL
    assert drafted(text).setups[0].blank.high[2] == pytest.approx(5.5)
    assert drafted(text.replace(level.format("1."), "")).setups[0].blank.high[2] == pytest.approx(0.0)


def test_the_end_of_a_drafted_travel_and_a_cut_in_air_are_asked_for(tmp_path: Path) -> None:
    findings(tmp_path, programs.OUTSIDE)
    folder = load_job(tmp_path / "job")
    machine = folder.job.shop.machines["default-mill"]
    narrow = machine.model_copy(update={"travel": machine.travel.model_copy(update={"x": (-420.0, -380.0)})})
    shop = folder.job.shop.model_copy(update={"machines": {"default-mill": narrow}})
    put = kit(replace(folder, job=folder.job.model_copy(update={"shop": shop})), folder.job.setup[0])
    beyond = [one for one in prove(put, nominal_truth(put), pitch_mm=2.0).findings if one.slug == "overtravel"]
    assert {(one.signal, one.question) for one in beyond} == {(Signal.WARNING, True)}
    (tmp_path / "air").mkdir()
    air = [one for one in findings(tmp_path / "air", HEAD + "G0 X0. Y0.\nG43 H1 Z20.\nG1 Z0. F300.\nX80.\n" + TAIL)
           if one.slug == "tool-cuts-nothing"]  # fmt: skip
    assert [one.question for one in air] == [True]


def test_a_holder_that_follows_a_tap_into_a_drafted_blank_is_told(tmp_path: Path) -> None:
    (tmp_path / "part.nc").write_text(programs.BARE)
    start([tmp_path / "part.nc"], tmp_path / "job")
    (tmp_path / "job" / "registers.toml").write_text('format = 1\nunits = "mm"\n[tool.4]\nlength = 4.067\n')
    folder = load_job(tmp_path / "job")
    put = kit(folder, folder.job.setup[0])
    proof = prove(put, nominal_truth(put), pitch_mm=1.0)
    assert any((one.body, one.part) == ("blank", "holder") for one in proof.case.contacts)
