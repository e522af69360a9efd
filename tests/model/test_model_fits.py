"""Limits by name, against the printed entries of ISO 286-2 and ISO 2768-1, and how a job states them."""

from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.base.units import UnitError
from setwright.jobfolder.load import load_job
from setwright.model.fits import named_limits
from setwright.model.job import Job
from tests.jobfolder.fuzz import JOB, MACHINE, TOOL, VISE

# size, name, upper, lower in micrometres: entries as textbooks of machine drawing print them
PRINTED = [
    (25, "H7", 21, 0), (52, "H7", 30, 0), (18, "H7", 18, 0), (8, "H8", 22, 0), (100, "H6", 22, 0), (40, "G7", 34, 9),
    (30, "F8", 53, 20), (12, "JS9", 21.5, -21.5), (20, "K7", 6, -15), (35, "M7", 0, -25), (50, "N7", -8, -33), (80, "P7", -21, -51),
    (10, "h6", 0, -9), (120, "h7", 0, -35), (25, "g6", -7, -20), (60, "f7", -30, -60), (16, "k6", 12, 1), (45, "m6", 25, 9),
    (6, "n6", 16, 8), (150, "p6", 68, 43), (24, "P7", -14, -35), (300, "M6", -9, -41),
    # exactly on the border between two ranges: the smaller one
    (6, "g6", -4, -12), (10, "f7", -13, -28), (120, "k6", 25, 3), (180, "N7", -12, -52),
]  # fmt: skip
RANGES = (5, 8, 15, 25, 45, 70, 100, 150)
ROWS = {
    "G7": "16/4 20/5 24/6 28/7 34/9 40/10 47/12 54/14",
    "F8": "28/10 35/13 43/16 53/20 64/25 76/30 90/36 106/43",
    "K7": "3/-9 5/-10 6/-12 6/-15 7/-18 9/-21 10/-25 12/-28",
    "M7": "0/-12 0/-15 0/-18 0/-21 0/-25 0/-30 0/-35 0/-40",
    "N7": "-4/-16 -4/-19 -5/-23 -7/-28 -8/-33 -9/-39 -10/-45 -12/-52",
    "P7": "-8/-20 -9/-24 -11/-29 -14/-35 -17/-42 -21/-51 -24/-59 -28/-68",
    "g6": "-4/-12 -5/-14 -6/-17 -7/-20 -9/-25 -10/-29 -12/-34 -14/-39",
    "f7": "-10/-22 -13/-28 -16/-34 -20/-41 -25/-50 -30/-60 -36/-71 -43/-83",
    "k6": "9/1 10/1 12/1 15/2 18/2 21/2 25/3 28/3",
    "m6": "12/4 15/6 18/7 21/8 25/9 30/11 35/13 40/15",
    "n6": "16/8 19/10 23/12 28/15 33/17 39/20 45/23 52/27",
    "p6": "20/12 24/15 29/18 35/22 42/26 51/32 59/37 68/43",
}


@pytest.mark.parametrize(("size", "name", "upper", "lower"), PRINTED)
def test_a_fit_has_its_printed_limits(size: float, name: str, upper: float, lower: float) -> None:
    found = named_limits(name, size)
    assert (found.upper * 1000, found.lower * 1000) == pytest.approx((upper, lower), abs=1e-9)


@pytest.mark.parametrize("name", ROWS)
def test_a_row_of_the_printed_table(name: str) -> None:
    printed = [tuple(map(float, cell.split("/"))) for cell in ROWS[name].split()]
    found = [named_limits(name, size) for size in RANGES]
    assert [(round(one.upper * 1000, 9), round(one.lower * 1000, 9)) for one in found] == printed


def test_a_clearance_and_an_interference_fit_meet_as_printed() -> None:
    hole, shaft = named_limits("H7", 25.0), named_limits("g6", 25.0)
    assert (hole.lower - shaft.upper, hole.upper - shaft.lower) == pytest.approx((0.007, 0.041))
    hole, shaft = named_limits("H7", 50.0), named_limits("p6", 50.0)
    assert (shaft.lower - hole.upper, shaft.upper - hole.lower) == pytest.approx((0.001, 0.042))


@pytest.mark.parametrize(
    ("name", "size", "within"),
    [("f", 3, 0.05), ("f", 6.01, 0.1), ("m", 3, 0.1), ("m", 30, 0.2), ("m", 30.01, 0.3), ("m", 124, 0.5), ("m", 400, 0.5),
     ("c", 100, 0.8), ("c", 5, 0.3), ("v", 5, 0.5), ("v", 1500, 6.0), ("m", 4000, 2.0)],
)  # fmt: skip
def test_general_tolerances_are_those_of_the_standard(name: str, size: float, within: float) -> None:
    found = named_limits(name, size)
    assert (found.lower, found.upper) == (-within, within)


def test_where_printed_tables_differ_it_is_said() -> None:
    assert "older tables" in named_limits("c", 5.0).note
    assert "older tables" in named_limits("JS9", 12.0).note
    assert named_limits("JS9", 25.0).note == named_limits("H7", 25.0).note == named_limits("c", 25.0).note == ""


@pytest.mark.parametrize(
    ("name", "size"),
    [("H4", 25), ("H7", 501), ("g6", 2), ("hH7", 25), ("Js7", 25), ("d9", 25), ("K9", 25), ("K5", 25), ("H77", 25), ("q", 25),
     ("m", 0.4), ("v", 2), ("f", 2500), ("m", 4001), ("", 25)],
)  # fmt: skip
def test_what_no_table_has_is_refused_with_what_to_write(name: str, size: float) -> None:
    with pytest.raises(UnitError, match="write"):
        named_limits(name, size)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "em10", TOOL)):
        (tmp_path / "shop" / kind).mkdir(parents=True, exist_ok=True)
        (tmp_path / "shop" / kind / f"{name}.toml").write_text(text)
    (tmp_path / "plate.nc").write_text("%\nO1\nM30\n%\n")
    return tmp_path


def job(folder: Path, requirement: str, *, general: str = "", units: str = "mm") -> Job:
    title = f'general_tolerance = "{general}"\n' if general else ""
    text = JOB.replace("[job]\n", f"[job]\n{title}", 1).replace('units = "mm"', f'units = "{units}"')
    (folder / "job.toml").write_text(f'{text}\n[[setup.requirement]]\nname = "width"\ndiameter = "bore"\n{requirement}\n')
    return load_job(folder).job


def test_a_requirement_takes_its_limits_from_the_fit(folder: Path) -> None:
    read = job(folder, 'size = "52"\ntolerance = "H7"')
    limits = read.setup[0].requirement[0].limits
    assert (limits.nominal, limits.lower, limits.upper) == (52.0, 0.0, 0.030)
    assert Job.model_validate(read.model_dump(mode="json", by_alias=True)) == read


def test_an_inch_size_has_the_limits_of_its_millimetres(folder: Path) -> None:
    limits = job(folder, 'size = "1.0"\ntolerance = "h6"', units="in").setup[0].requirement[0].limits
    assert (limits.nominal, limits.lower, limits.upper) == (25.4, -0.013, 0.0)


def test_the_jobs_general_tolerance_goes_where_a_size_has_no_limits(folder: Path) -> None:
    def limits(requirement: str, general: str = "m") -> tuple[float, float]:
        found = job(folder, requirement, general=general).setup[0].requirement[0].limits
        return found.lower, found.upper

    assert limits('size = "124"') == (-0.5, 0.5)
    assert limits('size = "124"', "") == (0.0, 0.0)
    assert limits('size = "124 ±0.02"') == (-0.02, 0.02)
    assert limits('size = "124"\ntolerance = "f"') == (-0.2, 0.2)
    assert limits('size = "124"\ntolerance = "none"') == (0.0, 0.0)


@pytest.mark.parametrize(
    ("requirement", "general", "wanted"),
    [('size = "52 +0.1/-0.1"\ntolerance = "H7"', "", "leave one of them away"),
     ('size = "52 H7"', "", 'write size = "52" and tolerance = "H7"'),
     ('size = "0.3"', "m", "no limits for a size of 0.3 mm"),
     ('size = "52"\ntolerance = "Z7"', "", "shafts"),
     ('size = "52"', "x", "is not known here")],
)  # fmt: skip
def test_limits_that_contradict_or_are_not_there_are_refused(folder: Path, requirement: str, general: str, wanted: str) -> None:
    with pytest.raises(InputRefused) as refusal:
        job(folder, requirement, general=general)
    assert wanted in str(refusal.value)
    assert "job.toml:" in str(refusal.value)
