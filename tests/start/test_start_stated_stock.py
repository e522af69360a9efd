"""The blank as a comment states it, in the ways shops write it; and comments that state something else, which are not read as one.

Sizes are in the unit the comment gives, worked out by hand."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.program.hints import read_hints
from setwright.program.source import Source
from setwright.prove.chain import prove_job
from setwright.prove.verdict import verdict
from setwright.start.draft import draft
from setwright.start.write import start

IN = 25.4

STATED = {  # comment: program in inches, sizes along X and Y (length and width, where the order does not tell), thick
    "(1/4 INCH SHEET 12 X 8, X0 Y0 FRONT LEFT, Z0 TOP)": (True, (12, 8), 0.25),
    "(1/4 IN SHEET 12 X 8 X0 Y0 FRONT LEFT Z0 TOP)": (True, (12, 8), 0.25),
    '(1/4" PLATE, 12 X 8)': (True, (12, 8), 0.25),
    "(.25 PLATE 12 X 8)": (True, (12, 8), 0.25),
    "(1/4 THICK PLATE 12 X 8)": (True, (12, 8), 0.25),
    "(1/4 INCH ALUMINUM PLATE 12 X 8)": (True, (12, 8), 0.25),
    "(1/8 6061 PLATE 10.5 X 4)": (True, (10.5, 4), 0.125),
    "(1 1/2 INCH PLATE 12 X 8, Z0 TOP)": (True, (12, 8), 1.5),
    "(3/4 MDF 24 X 12, X0 Y0 LOWER LEFT, Z0 TOP)": (True, (24, 12), 0.75),
    "(1/2 PLYWOOD 24 X 12)": (True, (24, 12), 0.5),
    "(SHEET 12 X 8, 1/4 THICK)": (True, (12, 8), 0.25),
    "(12 X 8 SHEET, .25 THICK)": (True, (12, 8), 0.25),
    "(12 X 8 X .25 SHEET)": (True, (12, 8), 0.25),
    "(SHEET 12 X 8 X 1/4, X0 Y0 CENTER)": (True, (12, 8), 0.25),
    "(STOCK 12 X 8 X 1/4, Z0 TOP)": (True, (12, 8), 0.25),
    "(STOCK SIZE 12.0 X 8.0 X 0.25)": (True, (12, 8), 0.25),
    "(STOCK: 12 X 8 X 1/4 IN)": (False, (12, 8), 0.25),
    "(SHEET STOCK 12 X 8 X 1/4)": (True, (12, 8), 0.25),
    "(MATERIAL SIZE 12 X 8 X 1/4)": (True, (12, 8), 0.25),
    '(PLATE: 12" BY 8" BY 1/4")': (True, (12, 8), 0.25),
    "(STOCK X12 Y8 Z.25)": (True, (12, 8), 0.25),
    "(BLANK 2 1/2 X 1 1/2 X 3/4)": (True, (2.5, 1.5), 0.75),
    '(BLOCK 4" X 3" X 2", X0 Y0 CENTER, Z0 TOP)': (True, (4, 3), 2),
    "(BILLET 4 X 3 X 2)": (True, (4, 3), 2),
    "(SHEET 1/4 X 12 X 8)": (True, (12, 8), 0.25),
    '(PLATE 1/2" X 6" X 4")': (True, (6, 4), 0.5),
    "(1/2 X 2 BAR, 6 LONG)": (True, (6, 2), 0.5),
    "(FLAT BAR 3/8 X 1 1/2, 8 INCHES LONG)": (True, (8, 1.5), 0.375),
    "(1/4 INCH SHEET 12 X 8)": (False, (12, 8), 0.25),
    "(1/4 INCH SHEET 300 X 200)": (False, (300 / IN, 200 / IN), 0.25),
    "(6 MM SHEET 300 X 200)": (False, (300 / IN, 200 / IN), 6 / IN),
    "(6 MM SHEET 300 X 200, X0 Y0 LEFT FRONT)": (True, (300 / IN, 200 / IN), 6 / IN),
    "(10 X 300 X 200 PLATE)": (False, (300 / IN, 200 / IN), 10 / IN),
    "(PLATE 300 X 200 X 10 MM)": (False, (300 / IN, 200 / IN), 10 / IN),
    "(BLANK 124 X 84 X 32 WITH BORE A THROUGH)": (False, (124 / IN, 84 / IN), 32 / IN),
    "(PLATE 124 X 84 X 32 WITH 4 HOLES)": (False, (124 / IN, 84 / IN), 32 / IN),
    "(BLANK WITH 10 X 20 X 30 POCKET, 124 X 84 X 32)": (False, (124 / IN, 84 / IN), 32 / IN),
    "(BLANK: 305 MM X 203 MM X 6.35 MM)": (True, (305 / IN, 203 / IN), 0.25),
}


@pytest.mark.parametrize("comment", STATED)
def test_the_blank_as_it_is_stated(comment: str) -> None:
    inch, (long, wide), thick = STATED[comment]
    one, = read_hints([comment], inch=inch).blanks
    sides = one.size[:2] or (one.long, one.wide)
    assert sides == pytest.approx((long * IN, wide * IN), abs=1e-3)
    assert (one.size[2] if len(one.size) == 3 else one.thick) == pytest.approx(thick * IN, abs=1e-3)


OTHERS = [
    "(FINISH SIZE 12 X 8 X 1/4)", "(FINISHED PLATE 12 X 8 X 1/4)", "(FINISH BLOCK TO 4 X 3 X 1)", "(PLATE NET 12 X 8 X 1/4)",
    "(LEAVE STOCK .02 X .01)", "(STOCK ALLOWANCE X 0.5 Y 0.5 Z 0.2)", "(T1 1/4 INCH END MILL 12 LONG)", "(1/4 DRILL 4 X 2 DEEP)",
    "(TOOL PLATE 12 X 8 X 1)", "(1-2-3 SETUP BLOCK 1 X 2 X 3)", "(GAGE BLOCK 4 X 1)", "(12 X 1/4 HOLES IN STEEL PLATE)",
    "(POCKET IN BLOCK 2 X 1 X .5)", "(DWG 4417 SHEET 2)", "(DRAWING 10012 SHEET 1 OF 2)", "(SETUP SHEET 12 X 8)", "(SHEET 1/4)",
    "(BLOCK WITH POCKET 2 X 1 X .5)",
    "(OP 20 PLATE)", "(REV 3 PLATE)", "(PART NO 1250 PLATE)", "(6061 PLATE)", "(11/28 SHEET)", "(DATE 12/8/25 STOCK A-114)",
    "(12/08/25 PLATE 3)", "(BORING BAR 1 X 6 LONG)", "(FIXTURE 2 PLATE)", "(FACE BLOCK 2 X 3 PASSES)",
    "(1/4 INCH SHEET 48 X 96)",  # in a metric program: 48 mm or 48 inches; only the thickness is sure
]  # fmt: skip


@pytest.mark.parametrize("comment", OTHERS)
def test_what_states_something_else_gives_no_blank(comment: str) -> None:
    found = read_hints([comment], inch="48 X 96" not in comment).blanks
    assert not [one for one in found if one.size or one.round or one.long or one.wide]
    assert [one.thick for one in found] == ([] if "48 X 96" not in comment else [6.35])


def test_a_sheet_beside_a_tool_change_is_no_tool() -> None:
    said = read_hints(["(1/4 INCH SHEET 12 X 8)", "T1 M6", "(1/2 PLATE)"], inch=True)
    assert said.tools == ()
    assert [one.thick for one in said.blanks] == [6.35, 12.7]


def test_a_draft_takes_the_sheet_and_its_zero() -> None:
    program = (
        "%\nO1\n(1/4 INCH SHEET 12 X 8, X0 Y0 FRONT LEFT, Z0 TOP)\nG20 G17 G90 G54\n(T1 1/4 END MILL)\nT1 M6\nS5000 M3\n"
        "G0 G43 H1 Z1.\nX1. Y1.\nZ.1\nG1 Z-.1 F10.\nX11. F20.\nY7.\nX1.\nY1.\nG0 Z1.\nM30\n%\n"
    )
    made = draft([Source("sheet.nc", program.encode())])
    blank = tomllib.loads(made.files["job.toml"].decode())["setup"][0]["blank"]
    assert (blank["box"], blank["corner"]) == ([12, 8, 0.25], [0, 0, -0.25])
    assert [guess.low for guess in made.guesses if guess.key.startswith("job.toml: setup.blank")] in ([], [()], [(), ()])


ABOVE_ZERO = {  # comment: program in inches, how high the blank's top stands above Z0, mm
    "(Z0 IS 2 MM BELOW BLANK TOP)": (False, 2.0),
    "(Z0 2 BELOW TOP OF STOCK)": (False, 2.0),
    "(Z0 = .05 BELOW THE STOCK TOP)": (True, 1.27),
    "(BLANK TOP AT Z+1)": (False, 1.0),
    "(TOP OF STOCK IS Z.1)": (True, 2.54),
    "(WITH 5 MM STOCK ON TOP)": (False, 5.0),
    "(1/8 EXTRA ON TOP)": (True, 3.175),
    "(1 MM TO BE FACED OFF TOP)": (False, 1.0),
    "(AUFMASS 2 MM)": (False, None),
    "(LEAVE 0.5 MM STOCK ON TOP)": (False, None),
    "(5 MM STOCK ON TOP OF THE BOSS)": (False, None),
    "(X0 Y0 CENTRE OF BORE A, Z0 FINISHED TOP FACE, BLANK TOP AT Z+1)": (False, 1.0),
}


@pytest.mark.parametrize("comment", ABOVE_ZERO)
def test_how_high_the_blank_stands_above_zero(comment: str) -> None:
    inch, above = ABOVE_ZERO[comment]
    said = [zero.above for zero in read_hints([comment], inch=inch).zeros if zero.above is not None]
    assert said == ([] if above is None else [pytest.approx(above)])


def test_sawn_pieces_round_bars_and_flat_bars() -> None:
    sawn, = read_hints(["(SAWN TO 102 X 62 X 32)"], inch=False).blanks
    assert sawn.size == (102.0, 62.0, 32.0)
    bar, = read_hints(["(ROUND BAR 80 DIA 30 LONG)"], inch=False).blanks
    assert bar.round == (80.0, 30.0)
    flat, = read_hints(["(MATERIAL: FLAT BAR 100X20 L=150)"], inch=False).blanks
    assert (flat.thick, flat.wide, flat.long) == (20.0, 100.0, 150.0)


LOW_RAPIDS = (
    "G21 G17 G90 G54\nT1 M6 (END MILL D10)\nS6000 M3\nG0 X-20. Y30.\nG43 H1 Z50.\nZ10.\nG1 Z-3. F300.\nX120. F800.\n"
    "G0 Z1.\nX-20. Y10.\nX120.\nZ50.\nM5\nM30\n%\n"
)
"""A slot along Y30 from X0 to X100, then rapids back and along Y10, both 1 mm above Z0."""


@pytest.mark.parametrize(
    ("comments", "box", "corner"),
    [
        ("(BLANK 100 X 60 X 30)\n(Z0 IS 2 MM BELOW BLANK TOP)", [100, 60, 30], [0, 0, -28]),
        ("(BLANK 100 X 60 X 30, X0 Y0 FRONT LEFT)\n(5 MM STOCK ON TOP)", [100, 60, 30], [0, 0, -25]),
        ("(PART 100 X 60 X 28, PLUS 2 PER SIDE)\n(X0 Y0 FRONT LEFT)", [104, 64, 32], [-2, -2, -30]),
        ("(STOCK 100 X 60 X 28 PLUS 2 ALL ROUND)\n(X0 Y0 BACK RIGHT OF PART)", [104, 64, 32], [-102, -62, -30]),
        ("(FINISHED PART 100 X 60 X 28)\n(X0 Y0 FRONT LEFT)", [100, 60, 28], [0, 0, -28]),
    ],
)  # fmt: skip
def test_what_stands_on_top_or_on_every_side_is_drafted(comments: str, box: list[float], corner: list[float]) -> None:
    mirrored = LOW_RAPIDS.replace("X120.", "X-120.").replace("X-20.", "X20.").replace("Y", "Y-")
    program = mirrored if "RIGHT" in comments else LOW_RAPIDS
    made = draft([Source("part.nc", f"%\nO1\n{comments}\n{program}".encode())])
    blank = tomllib.loads(made.files["job.toml"].decode())["setup"][0]["blank"]
    assert (blank["box"], blank["corner"]) == (pytest.approx(box), pytest.approx(corner))


@pytest.mark.parametrize(
    "comments", ["(NOTHING)", "(FINISHED PART 100 X 60 X 28)", "(FINISH SIZE 100 X 60 X 28, BLANK 104 X 64 X 32)"],
)  # fmt: skip
def test_a_rapid_just_above_zero_hangs_on_the_top_that_nothing_tells(comments: str, tmp_path: Path) -> None:
    (tmp_path / "part.nc").write_text(f"%\nO1\n{comments}\n{LOW_RAPIDS}")
    start([tmp_path / "part.nc"], tmp_path / "job")
    loaded = load_job(tmp_path / "job")
    proof, = prove_job(loaded, list(loaded.job.setup), guesses=True)
    told = re.search(r"with its top above Z (-?[\d.]+) mm: T1 end mill 10 mm runs into the blank at rapid", verdict(proof).text)
    assert told, verdict(proof).text
    assert 1.0 - 2 * 4.0 / 32 <= float(told[1]) <= 1.0  # 4 is the most it may be higher; a thirty-second of that, and the rounding


def test_a_blank_that_the_text_puts_above_the_rapids_is_run_into(tmp_path: Path) -> None:
    (tmp_path / "part.nc").write_text(f"%\nO1\n(BLANK 100 X 60 X 30)\n(WITH 5 MM STOCK ON TOP)\n{LOW_RAPIDS}")
    start([tmp_path / "part.nc"], tmp_path / "job")
    loaded = load_job(tmp_path / "job")
    proof, = prove_job(loaded, list(loaded.job.setup))
    hits = [(one.line, one.value) for one in proof.findings if one.slug == "rapid-into-material"]
    assert (14, pytest.approx(4.0, abs=1e-6)) in hits  # the way back at Z1 beside the slot, under a top at Z5
