"""What one station knows, the next one says: the same headline on terminal, document, sheet and page."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

import setwright.demo
from setwright.jobfolder.load import load_job
from setwright.kit.station import kit
from setwright.model.finding import Signal
from setwright.prove.load import with_load
from setwright.prove.station import prove
from setwright.prove.verdict import verdict
from setwright.record.folder import gather_folder
from setwright.sheet.fill import content_of
from setwright.sheet.layout import laid_out
from setwright.touch.measured import truth_of
from setwright.touch.station import touch
from setwright.web.work import Task, do
from tests.cli.conftest import ask

SETUP = "first side"
READ = "display = { z = -358.480 }"
"""Where tool 3 of the bearing cap's first side came down on the tool setter."""
WRONG = "display = { z = -308.480 }"
CONTACT = "length reading 3 (tool 3 on tool setter)"
ARGUMENTS = ("--setup", SETUP, "--pitch", "2")


@pytest.fixture
def misread(tmp_path: Path) -> Path:
    """The bearing cap with one reading of a tool's length 50 mm off."""
    folder = tmp_path / "cap"
    shutil.copytree(Path(setwright.demo.__file__).parent / "bearing-cap", folder)
    readings = folder / "readings.toml"
    text = readings.read_text(encoding="utf-8")
    assert text.count(READ) == 1
    readings.write_text(text.replace(READ, WRONG), encoding="utf-8")
    return folder


def headline(folder: Path) -> str:
    """The verdict itself, and that it says the mistake first."""
    loaded = load_job(folder)
    together = kit(loaded, loaded.job.setup[0])
    said = verdict(with_load(prove(together, truth_of(together).truth, pitch_mm=2.0))).text
    assert said.startswith(f"DANGER: {CONTACT} is off by 50.00")
    return said


def doubted(folder: Path) -> set[str]:
    """The checks by which Touch doubts the readings."""
    loaded = load_job(folder)
    found = touch(kit(loaded, loaded.job.setup[0])).findings
    assert any(finding.signal is Signal.DANGER for finding in found)
    return {finding.slug for finding in found}


def one_line(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def proved_on_the_server(folder: Path) -> dict[str, Any]:
    """The document of a proof as the pages of the browser are given it."""
    files = gather_folder(folder)
    task = Task("prove", files.files, files.home, "cap", SETUP, {"pitch_mm": 2.0})
    (proof,) = (made for made in do(task, lambda *_: None) if made.name == "proof.json")
    document: dict[str, Any] = json.loads(proof.data)
    return document


def test_a_reading_that_touch_doubts_is_doubted_by_prove(misread: Path) -> None:
    said = headline(misread)
    shown = ask("prove", misread, *ARGUMENTS)
    assert said in one_line(shown.output)
    document = json.loads(ask("prove", misread, *ARGUMENTS, "--json").stdout)
    assert document["verdict"] == said
    assert doubted(misread) <= {finding["slug"] for finding in document["findings"]}


def test_the_sheet_begins_with_the_same_doubt(misread: Path) -> None:
    loaded = load_job(misread)
    together = kit(loaded, loaded.job.setup[0])
    measured = truth_of(together)
    proof = with_load(prove(together, measured.truth, pitch_mm=2.0))
    sheet = laid_out(content_of(proof, measured.result, units="mm"))
    assert (sheet["verdict"], sheet["worst"]) == (headline(misread), "DANGER")
    assert [finding["text"] for finding in sheet["findings"] if CONTACT in finding["text"]]
    assert len({finding["text"] for finding in sheet["findings"]}) == len(sheet["findings"])


def test_the_page_is_given_the_same_headline(misread: Path) -> None:
    document = proved_on_the_server(misread)
    assert document["verdict"] == document["setups"][0]["verdict"] == headline(misread)
    assert doubted(misread) <= {finding["slug"] for finding in document["findings"]}


def test_readings_that_do_not_fix_the_place_are_told_once(misread: Path) -> None:
    readings = misread / "readings.toml"
    text = readings.read_text(encoding="utf-8")
    only_z = re.sub(r'\[\[contact\]\]\nsetup = "first side"\non = "(bore A|fixed jaw)"\n(.+\n)+', "", text)
    assert only_z != text
    readings.write_text(only_z.replace(WRONG, READ), encoding="utf-8")
    document = json.loads(ask("prove", misread, *ARGUMENTS, "--json").stdout)
    assert "not looked at: G54 (expected, not measured)" in document["verdict"]
    slugs = [finding["slug"] for finding in document["findings"]]
    assert slugs.count("readings-incomplete") == 1
    assert "axis-not-found" not in slugs


def test_what_was_not_looked_at_is_listed_with_its_line(job: Path) -> None:
    document = json.loads(ask("prove", job, "--pitch", "1", "--json").stdout)
    assert document["rests_on"] == []
    lines = (job / "job.toml").read_text().splitlines()
    assert {one["text"]: lines[one["line"] - 1] for one in document["open"] if one["file"] == "job.toml"} == {
        "G54 and the tool lengths (expected, not measured)": "[[setup]]",
        "how much the blank varies (not stated)": "[setup.blank]",
        "the cutting load (the job's material is not stated)": "[job]",
    }
    for one in document["open"]:
        assert one["text"] in document["verdict"]
    shown = one_line(ask("prove", job, "--pitch", "1").output)
    assert document["verdict"] in shown
    assert "how much the blank varies (not stated) (job.toml:" in shown


def test_the_questions_of_a_draft_are_listed_once_with_the_line_that_answers_them(job: Path, tmp_path: Path) -> None:
    drafted = tmp_path / "drafted"
    assert ask("start", job / "plate.nc", "-o", drafted).exit_code == 0
    document = json.loads(ask("prove", drafted, "--json").stdout)
    assert "guesses" not in document
    texts = {path.relative_to(drafted).as_posix(): path.read_text().splitlines() for path in drafted.rglob("*.toml")}
    lines = {rest["guess"]: texts[rest["file"]][rest["line"] - 1] for rest in document["rests_on"]}
    stickout = next(line for guess, line in lines.items() if guess.startswith("T1: stick-out"))
    assert stickout.startswith("stickout = ")
    assert next(line for guess, line in lines.items() if guess.startswith("T1: flutes")).startswith("flute_length = ")
    assert next(line for guess, line in lines.items() if guess.startswith("blank's least corner")).startswith("corner = ")
    shown = one_line(ask("prove", drafted).output)
    for guess in lines:
        assert shown.count(guess) <= 2  # in the headline, if it decides, and as a question


def test_a_word_that_moves_nothing_is_named_as_open(tmp_path: Path) -> None:
    """A draft takes an E word to move nothing: the proof says that of the word, by its name."""
    program = tmp_path / "cover.nc"
    program.write_text("%\nO20 (COVER)\n(BLANK 100 X 60 X 20 MM, X0 Y0 MIDDLE, Z0 TOP)\n(T1 END MILL D10)\n"
                       "G21 G17 G40 G49 G80 G90\nT1 M6\nG54 S3000 M3\nG0 X-60. Y0.\n"
                       "G43 H1 Z50.\nZ2.\nG1 Z-3. E5. F300.\nG1 X60. F600.\nG0 Z50.\nM30\n%\n")
    assert ask("start", program, "-o", tmp_path / "cover").exit_code < 2
    document = json.loads(ask("prove", tmp_path / "cover", "--pitch", "2", "--json").stdout)
    assert "what E does" in [one["text"] for one in document["open"]]
    (said,) = [one["text"] for one in document["findings"] if one["slug"] == "machine-function-not-known"]
    assert said.startswith("E (line 11) is a word of this machine")
