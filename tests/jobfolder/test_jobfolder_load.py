"""Job folders: what is read, and how everything wrong with them is named by file, line and key."""

from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_job
from setwright.model.job import Job
from tests.jobfolder import fuzz
from tests.jobfolder.fuzz import JOB, MACHINE, TOOL, VISE


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "em10", TOOL)):
        (tmp_path / "shop" / kind).mkdir(parents=True, exist_ok=True)
        (tmp_path / "shop" / kind / f"{name}.toml").write_text(text)
    (tmp_path / "job.toml").write_text(JOB)
    (tmp_path / "plate.nc").write_text("%\nO1\nM30\n%\n")
    return tmp_path


def said(folder: Path) -> str:
    with pytest.raises(InputRefused) as refusal:
        load_job(folder)
    return str(refusal.value)


def test_a_whole_folder_is_read(folder: Path) -> None:
    read = load_job(folder)
    assert read.job.setup[0].blank.box == (100.0, 50.8, 20.0)
    assert read.sources["plate.nc"].startswith(b"%\nO1")
    shop = {"shop/machines/mill.toml", "shop/holding/vise.toml", "shop/tools/em10.toml"}
    assert set(read.digests) == {"job.toml", "plate.nc"} | shop


def test_the_document_survives_a_round_trip(folder: Path) -> None:
    job = load_job(folder).job
    assert Job.model_validate(job.model_dump(mode="json", by_alias=True)) == job


def test_a_document_in_inches_reads_bare_numbers_as_inches(folder: Path) -> None:
    (folder / "shop/tools/em10.toml").write_text('units = "in"\n' + TOOL.replace("10\n", "0.5\n", 1))
    assert load_job(folder).job.shop.tools["em10"].diameter == 12.7


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ('box = [100, "2 in", 20]', 'box = [100, "2 inhc", 20]', ["job.toml:13:", 'unknown unit "inhc"', 'did you mean "in"']),
        ("parallels = 20", "paralells = 20", ["job.toml:18:1", 'unknown key "paralells"', 'did you mean "parallels"?']),
        ("stickout = 40", "stickout = nan", ["job.toml:28:", "not a finite number"]),
        ("stickout = 40", "stickout = -3", ["job.toml:28:", "must be more than zero"]),
        ("parallels = 20", "parallels = 20\nvaries = [0, 0, -2]", ["job.toml:19:", "must not be less than zero"]),
        ("stickout = 40", "stickout = 1e300", ["job.toml:28:", "too large"]),
        ('machine = "mill"', 'machine = "mil"', ["job.toml:9:", 'did you mean "mill"?']),
        ('use = "em10"', 'use = "em12"', ["job.toml:27:", 'no tool is called "em12"', '"em10"?']),
        ('programs = ["plate.nc"]', 'programs = ["plat.nc"]', ["plat.nc", "no such file", 'did you mean "plate.nc"?']),
        ('units = "mm"', 'units = "cm"', ["job.toml:2:1", "units = 'cm' is not known"]),
        ("format = 1", "format = 2", ["job.toml:1:", "format"]),
        ("[setup.datum]", "[setup.datum", ["job.toml:20:", "not TOML"]),
        ('title = "Test plate"', "", ["job.toml:4:", '"title" is missing']),
    ],
)
def test_what_is_wrong_is_named_with_place_and_remedy(folder: Path, old: str, new: str, wanted: list[str]) -> None:
    assert old in JOB
    (folder / "job.toml").write_text(JOB.replace(old, new))
    message = said(folder)
    for part in wanted:
        assert part in message


def test_all_problems_come_at_once(folder: Path) -> None:
    (folder / "job.toml").write_text(JOB.replace("parallels", "paralells").replace("stickout", "stikout"))
    (folder / "shop/tools/em10.toml").write_text(TOOL.replace('kind = "end mill"', 'kind = "endmill"'))
    message = said(folder)
    for part in ("paralells", "stikout", "shop/tools/em10.toml:2:1", 'did you mean "end mill"?'):
        assert part in message


@pytest.mark.parametrize(
    ("data", "wanted"),
    [(b"\x00\x01\x02", "binary"), (b"\xff\xfe\xfa", "UTF-8"), (b"", '"job" is missing'), (JOB[:60].encode(), "not TOML")],
)
def test_no_text_no_job(folder: Path, data: bytes, wanted: str) -> None:
    (folder / "job.toml").write_bytes(data)
    assert wanted in said(folder)


def test_missing_folder_and_file_instead_of_folder(folder: Path) -> None:
    assert "there is no such folder" in said(folder / "nowhere")
    assert "setwright start" in said(folder / "plate.nc")
    (folder / "job.toml").unlink()
    assert "there is no such file" in said(folder)


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("x = " + "9" * 5000, "more digits than any length"),
        ("[a" + ".a" * 2000 + "]", "job.toml:29: tables and lists stand more than 60 deep"),
        ("x = " + "[" * 300 + "]" * 300, "more than 60 deep"),
        ("x = " + "[" * 20_000 + "]" * 20_000, "more than 60 deep"),
        ("x = {" + " . ".join(['"a"', "'b'", "c"] * 50) + " = 1}", "job.toml:29: tables and lists stand more than 60 deep"),
    ],
)
def test_a_text_that_only_a_parser_could_love_is_refused(folder: Path, line: str, wanted: str) -> None:
    (folder / "job.toml").write_text(JOB + line + "\n")
    assert wanted in said(folder)


@pytest.mark.parametrize("block", range(4))
def test_a_folder_that_nobody_wrote_ends_in_a_job_or_a_refusal(block: int) -> None:
    held = fuzz.bases()
    numbers = range(1_000_000 + 20 * block, 1_000_020 + 20 * block)
    assert {fuzz.read_it(number, fuzz.made(number, held)) for number in numbers} == {True, False}
