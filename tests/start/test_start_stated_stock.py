"""The blank as a comment states it, in the ways shops write it; and comments that state something else, which are not read as one.

Sizes are in the unit the comment gives, worked out by hand."""

from __future__ import annotations

import tomllib

import pytest

from setwright.program.hints import read_hints
from setwright.program.source import Source
from setwright.start.draft import draft

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
