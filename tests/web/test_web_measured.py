"""Piece and Run over HTTP: lines kept whole, answers at once from what was worked out, and the terminal's own numbers."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from typer.testing import CliRunner

from setwright.cli.main import app as command
from setwright.jobfolder.load import JobFolder
from setwright.jobfolder.measured import measured_in
from setwright.piece.influence import Influence
from setwright.record.artefacts import keep_artefact
from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job
from setwright.web.answers import encoded
from setwright.web.measuring import INFLUENCE, influence_in, influence_plain
from tests.piece.conftest import demo, of
from tests.web.workbench import Person, running

LINE = {"piece": "2", "setup": "first side", "feature": "depth of seat", "value": "12.516", "unit": "mm",
        "gauge": "depth-micrometer", "time": "2026-03-03T10:00:00"}  # fmt: skip
PITCH = {"bearing-cap": 0.9, "pintle": 0.9}


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[JobFolder, Influence]]:
    """A job in mm and one in inches, and how their features follow their registers."""
    folders = {name: demo(name, tmp_path_factory.mktemp("worked")) for name in PITCH}
    return {name: (folder, of(folder, PITCH[name])) for name, folder in folders.items()}


@pytest.fixture
def floor(tmp_path: Path, worked: dict[str, tuple[JobFolder, Influence]]) -> Iterator[FastAPI]:
    """A server that has both, worked out."""
    with running(tmp_path / "record") as started:
        record = started.state.record
        for name, (folder, influence) in worked.items():
            add_job(record, gather_folder(folder.root), name=name, by="Ada")
            _work_out(record, name, influence)
        yield started


def _work_out(record: Any, name: str, influence: Influence, *, revision: int = 1) -> None:
    data = encoded({"job": name, "setups": [influence_plain(influence, [])]})
    keep_artefact(record, name, data, revision=revision, station="piece", setup=influence.kit.setup.name, name=INFLUENCE,
                  media_type="application/json", inputs="all", by="Ada")  # fmt: skip


@pytest.fixture
def ada(floor: FastAPI) -> Person:
    return Person(floor)


def first(person: Person, job: str, station: str, query: str = "") -> dict[str, Any]:
    found: dict[str, Any] = person.read(f"/api/jobs/{job}/{station}{query}")["setups"][0]
    return found


def test_what_was_worked_out_comes_back_to_the_last_digit(worked: dict[str, tuple[JobFolder, Influence]]) -> None:
    _, influence = worked["bearing-cap"]
    again = influence_in(influence.kit, json.loads(encoded(influence_plain(influence, []))))
    assert (again.places, again.causes, again.left_out) == (influence.places, influence.causes, influence.left_out)
    assert again.matrix.tolist() == influence.matrix.tolist()
    assert [words for words, _ in again.others] == [words for words, _ in influence.others]


@pytest.mark.parametrize(("job", "units"), [("bearing-cap", "mm"), ("pintle", "inch"), ("pintle", "mm")])
def test_terminal_page_and_document_say_the_same_digits(
    ada: Person, worked: dict[str, tuple[JobFolder, Influence]], monkeypatch: pytest.MonkeyPatch, job: str, units: str
) -> None:
    folder, influence = worked[job]
    read = measured_in(folder, (folder.root / "measured.csv").read_bytes())
    monkeypatch.setattr("setwright.cli.piece.influences", lambda *_, **_named: (read, [influence]))
    for station in ("piece", "run"):
        told = first(ada, job, station, f"?units={units}")["told"]
        document = json.loads(CliRunner().invoke(command, [station, str(folder.root), "--json", "--units", units]).stdout)
        assert document["setups"][0] == told
        printed = " ".join(CliRunner().invoke(command, [station, str(folder.root), "--units", units]).stdout.split())
        for digits in _shown(told):
            assert digits in printed, (digits, printed)


def _shown(told: dict[str, Any]) -> Iterator[str]:
    """Every number that the page shows and the terminal has as well."""
    for register in told.get("registers", []):
        yield f"{register['name']} = {register['said']['type']}"
        yield from (register["said"][key] for key in ("holds", "change", "sure"))
    for judged in told.get("judged", []):
        yield from judged["said"].values()
    for predicted in told.get("predicted", []):
        if predicted["concerned"]:
            yield from predicted["said"].values()
    for tool in told.get("tools", []):
        yield from tool["said"].values()


def test_the_page_says_what_to_type_and_the_words_of_the_card(ada: Person) -> None:
    piece = first(ada, "bearing-cap", "piece")
    (register,) = (one for one in piece["told"]["registers"] if "depth of seat" in one["moves"])
    # the seat came out 12.529, 0.014 below the middle of 12.500 to 12.530: the length of its tool grows by that
    assert register["change"] == pytest.approx(0.013, abs=0.004)
    assert piece["answer"] == f"Type {', '.join(one['type'] for one in piece['told']['registers'])}."
    card = {one["station"]: one for one in ada.read("/api/jobs/bearing-cap")["route_card"]}
    assert card["piece"]["text"].startswith(f"first side: {piece['answer']}")
    assert "Measure the" in card["run"]["text"]


def test_a_measured_line_is_kept_and_answers_at_once(ada: Person, floor: FastAPI) -> None:
    path = "/api/jobs/bearing-cap/file?path=measured.csv"
    before = ada.ask("GET", path).content
    lines = [LINE, LINE | {"feature": "length 2", "value": "+0.011", "gauge": "typed", "time": ""}]
    made = ada.ask("POST", "/api/jobs/bearing-cap/measured", based_on=1, json={"lines": lines})
    assert made.status_code == 201, made.text
    after = ada.ask("GET", path).content.decode()
    assert after == before.decode() + ("2, first side, depth of seat, 12.516, depth-micrometer, 2026-03-03T10:00:00\n"
                                       "2, first side, length 2, +0.011, typed, \n")  # fmt: skip
    piece = first(ada, "bearing-cap", "piece")
    assert piece["worked_out"]
    assert piece["pieces"] == ["1", "2"]
    last = [(one["gauge"], one["said"]) for one in piece["lines"]][-2:]
    assert last == [("depth-micrometer", "12.516 mm"), ("typed", "+0.011 mm")]
    out = ada.ask("DELETE", f"/api/jobs/bearing-cap/measured/{len(after.splitlines())}", based_on=2)
    assert out.status_code == 200, out.text
    assert ada.ask("GET", path).content.decode() == "".join(after.splitlines(keepends=True)[:-1])


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ({"value": "twelve"}, "is not a number"),
        ({"feature": "depth of seet"}, "depth of seat"),
        ({"gauge": "depth-micrometre"}, "depth-micrometer"),
        ({"value": "0.4927"}, "looks like inches"),
        ({"feature": "length 77", "gauge": "typed"}, "length"),
        ({"piece": "#2"}, "cannot stand in a line"),
    ],
)
def test_what_would_not_be_understood_is_refused_and_nothing_written(ada: Person, line: dict[str, str], wanted: str) -> None:
    answer = ada.ask("POST", "/api/jobs/bearing-cap/measured", based_on=1, json={"lines": [LINE, LINE | line]})
    assert answer.status_code == 422, answer.text
    said = " ".join(f"{one['text']} {one['remedy']}" for one in answer.json()["findings"])
    assert wanted in said
    assert ada.read("/api/jobs/bearing-cap")["revision"]["number"] == 1


def test_a_change_from_an_old_revision_is_refused(ada: Person) -> None:
    assert ada.ask("POST", "/api/jobs/bearing-cap/measured", based_on=1, json={"lines": [LINE]}).status_code == 201
    late = ada.ask("POST", "/api/jobs/bearing-cap/measured", based_on=1, json={"lines": [LINE | {"value": "12.517"}]})
    assert late.status_code == 412


def test_measuring_leaves_proof_and_signatures_before_the_first_cut(ada: Person, floor: FastAPI) -> None:
    record = floor.state.record
    keep_artefact(record, "bearing-cap", b'{"verdict": "Nothing hits.", "findings": []}', revision=1, station="prove", setup="",
                  name="proof.json", media_type="application/json", inputs="all", by="Ada")  # fmt: skip
    for station in ("prove", "hover", "piece", "run"):
        assert ada.ask("POST", "/api/jobs/bearing-cap/signed", based_on=1, json={"station": station}).status_code == 201
    check = {"check": "numbers read back", "setup": "first side", "seen": "all"}
    assert ada.ask("POST", "/api/jobs/bearing-cap/checks", based_on=1, json=check).status_code == 201
    assert ada.ask("POST", "/api/jobs/bearing-cap/measured", based_on=1, json={"lines": [LINE]}).status_code == 201
    card = ada.read("/api/jobs/bearing-cap")["route_card"]
    states = {one["station"]: one["signed"][0]["stands"] for one in card if one["signed"]}
    assert states == {"prove": True, "hover": True, "piece": False, "run": False}
    assert [one["stands"] for one in ada.read("/api/jobs/bearing-cap/statements")["checks"]] == [True]
    assert ada.read("/api/jobs/bearing-cap/findings")["current"]
    note = ada.ask("PUT", "/api/jobs/bearing-cap/file?path=note.txt", based_on=2, content=b"cleaned")
    assert note.status_code == 200, note.text
    assert not ada.read("/api/jobs/bearing-cap/findings")["current"]
    assert not first(ada, "bearing-cap", "piece")["worked_out"]


def test_before_anything_is_measured_there_is_the_list_of_what_to_measure(ada: Person) -> None:
    gone = ada.ask("DELETE", "/api/jobs/bearing-cap/file?path=measured.csv", based_on=1)
    assert gone.status_code == 200, gone.text
    piece, run = first(ada, "bearing-cap", "piece"), first(ada, "bearing-cap", "run")
    assert (piece["answer"], piece["told"], piece["worked_out"]) == ("No piece was measured yet.", None, True)
    assert (run["answer"], run["told"], run["lines"]) == ("", None, [])
    assert len(piece["plan"]) == 18


def test_a_file_that_is_wrong_is_told_with_its_line(ada: Person) -> None:
    text = b"piece, feature, value, gauge\n1, depth of seat, twelve, depth-micrometer\n"
    put = ada.ask("PUT", "/api/jobs/bearing-cap/file?path=measured.csv", based_on=1, content=text)
    assert put.status_code == 200, put.text
    answer = ada.read("/api/jobs/bearing-cap/piece")
    assert answer["refused"] is True
    (finding,) = answer["findings"]
    assert (finding["file"], finding["line"]) == ("measured.csv", 2)
