"""A draft acquits of nothing: no guess is chosen to make a finding go away, and what a guess decides is told with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.finding import Finding
from setwright.program.source import Source
from setwright.prove.station import prove
from setwright.start.draft import Draft, draft
from setwright.start.write import start
from tests.start import programs

HEAD = "%\nO0300\n(T1 END MILL D10)\nG17 G21 G40 G49 G80 G90 G94 G98\nT1 M6\nG54 S4000 M3\n"
TAIL = "G0 Z20.\nG53 Z0.\nM30\n%\n"
SECOND_PASS_AT_RAPID = HEAD + "G0 X10. Y10.\nG43 H1 Z20.\nZ2.\nG1 Z-4. F300.\nX80. F600.\nY18.\nG0 X10.\n" + TAIL
WIDE = HEAD + "G0 X0. Y0.\nG43 H1 Z20.\nG1 Z-3. F300.\nX100. F600.\nY60.\nX0.\nY0.\nG0 Z-1.\nX40. Y-40.\n" + TAIL
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
    text = programs.OUTSIDE.replace("(T5", "(STOCK 90X60X16)\n(G54 FRONT LEFT TOP)\n(T5")
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
