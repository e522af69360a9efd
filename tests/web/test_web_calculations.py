"""Long work: queued, told step by step, ended, kept; and a real proof and its sheets."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi import FastAPI

from setwright.jobfolder.load import load_job
from setwright.record.calculations import CalculationState, ask_calculation, calculations
from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job, revise
from setwright.web.changes import Changes
from setwright.web.worker import serve_tasks
from tests.web.workbench import DEMO, Person, alone, ended, refused, running


def start(person: Person, **asked: Any) -> int:
    answer = person.ask("POST", "/api/jobs/cap/calculations", json={"station": "prove", **asked})
    assert answer.status_code == 202, answer.text
    return int(answer.json()["id"])


def events(person: Person, number: int, *, after: int = 0) -> list[tuple[int, str, dict[str, Any]]]:
    with person.client.stream("GET", f"/api/calculations/{number}/events", headers={"last-event-id": str(after)}) as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        lines = list(stream.iter_lines())
    ids = [int(line.removeprefix("id: ")) for line in lines if line.startswith("id: ")]
    kinds = [line.removeprefix("event: ") for line in lines if line.startswith("event: ")]
    bodies = [json.loads(line.removeprefix("data: ")) for line in lines if line.startswith("data: ")]
    return list(zip(ids, kinds, bodies, strict=True))


def until_waiting(person: Person, number: int) -> None:
    """Until the worker has said that it is at work."""
    while person.read(f"/api/calculations/{number}")["step"] is None:
        pass


def test_the_steps_are_told_and_can_be_taken_up_again(ada: Person) -> None:
    number = start(ada)
    told = events(ada, number)
    assert [(at, kind) for at, kind, _ in told] == [(n, "step") for n in range(1, 6)] + [(6, "ended")]
    assert told[2][2]["done"] == 3
    assert told[-1][2]["state"] == "done"
    assert events(ada, number, after=3) == told[3:]
    assert events(ada, number, after=6)[-1][1] == "ended"
    result = told[-1][2]["artefact_id"]
    assert ada.read(f"/api/jobs/cap/results/{result}")["verdict"] == "Nothing hits."
    assert [one["id"] for one in ada.read("/api/jobs/cap/results?station=prove")["results"]] == [result]
    assert ada.read("/api/jobs/cap/results?station=sheet")["results"] == []


@pytest.mark.parametrize(
    ("told", "state", "words"),
    [
        ("refuse", "refused", "no tool 7, the kit has none"),
        ("break", "broken off", "did not foresee"),
        ("die", "broken off", "the worker ended in the middle of the work"),
    ],
)
def test_what_goes_wrong_is_said_and_the_next_one_works(ada: Person, told: str, state: str, words: str) -> None:
    over = ended(ada, start(ada, until=told))
    assert (over["state"], over["artefact_id"]) == (state, None)
    assert words in over["said"][0]["text"]
    assert ended(ada, start(ada))["state"] == "done"


@pytest.mark.parametrize("told", ["wait", "deaf"])
def test_a_calculation_can_be_ended_and_the_next_one_works(ada: Person, told: str) -> None:
    first, second, third = start(ada, until=told), start(ada, until=told), start(ada)
    until_waiting(ada, first)
    assert ada.ask("DELETE", f"/api/calculations/{second}").json()["state"] == "stopped"
    ada.ask("DELETE", f"/api/calculations/{first}")
    assert [ended(ada, number)["state"] for number in (first, second, third)] == ["stopped", "stopped", "done"]
    assert ada.ask("DELETE", f"/api/calculations/{third}").json()["state"] == "done"
    assert [one["state"] for one in ada.read("/api/jobs/cap/calculations")["calculations"]] == ["done", "stopped", "stopped"]


def test_the_queue_has_an_end(tmp_path: Path) -> None:
    with running(tmp_path / "record", waiting=2) as app:
        add_job(app.state.record, gather_folder(DEMO), name="cap", by="Ada")
        ada = Person(app)
        until_waiting(ada, start(ada, until="wait"))
        start(ada)
        start(ada)
        refused(ada.ask("POST", "/api/jobs/cap/calculations", json={"station": "prove"}), 413, "2 calculations are waiting already")
        assert calculations(app.state.record, "cap")[0].state is CalculationState.REFUSED


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        ({"station": "dance"}, "takes no calculation"),
        ({"station": "prove", "setup": "third"}, "third"),
        ({"station": "prove", "pitch_mm": 0}, "pitch_mm"),
        ({"station": "prove", "pitch_mm": "fine"}, "pitch_mm"),
        ({"station": "prove", "wish": 1}, "wish"),
        ({}, "station"),
    ],
)
def test_what_cannot_be_asked_is_refused(ada: Person, asked: dict[str, Any], word: str) -> None:
    refused(ada.ask("POST", "/api/jobs/cap/calculations", json=asked), 422, word)
    assert ada.read("/api/jobs/cap/calculations")["calculations"] == []
    refused(ada.ask("GET", "/api/calculations/99"), 404)
    refused(ada.ask("GET", "/api/calculations/99/events"), 404)


def test_a_restart_says_what_it_broke_off(tmp_path: Path) -> None:
    with running(tmp_path / "record") as app:
        add_job(app.state.record, gather_folder(DEMO), name="cap", by="Ada")
        lost = ask_calculation(app.state.record, "cap", revision=1, station="prove", setup="", options={}, by="Ada")
        at_work = start(Person(app), until="deaf")
        until_waiting(Person(app), at_work)
    with running(tmp_path / "record") as app:
        ada = Person(app)
        assert events(ada, lost.id)[0][2]["said"][0]["text"] == "the server was stopped before this was done"
        assert events(ada, at_work)[-1][2]["state"] == "stopped"


def test_the_second_person_sees_the_change_of_the_first(app: FastAPI) -> None:
    record = app.state.record

    async def still() -> bool:
        return True

    async def seen() -> list[str]:
        found = []
        stream = Changes(record, each_s=0.0).of("cap", still)
        async for event in stream:
            if event.startswith("event"):
                found.append(event)
                if len(found) == 2:
                    break
                revise(record, "cap", {"note.txt": b"x"}, based_on=1, by="Ben")
        return found

    first, second = alone(seen())
    assert json.loads(first.partition("data: ")[2]) == {"revision": 1, "statements": 0, "results": 0, "by": "Ada"}
    assert json.loads(second.partition("data: ")[2]) == {"revision": 2, "statements": 0, "results": 0, "by": "Ben"}


@pytest.fixture(scope="module")
def at_work(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Person]:
    """A server whose workers really work."""
    with running(tmp_path_factory.mktemp("real") / "record", serve=serve_tasks) as app:
        add_job(app.state.record, gather_folder(DEMO), name="cap", by="Ada")
        yield Person(app)


@pytest.fixture(scope="module")
def proved(at_work: Person) -> Person:
    """The same, once its first setup is proved and the sheet printed."""
    assert events(at_work, start(at_work, station="sheet", setup="first side", pitch_mm=2.0))[-1][2]["state"] == "done"
    return at_work


def columns_in(data: bytes) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """The head and the columns of a binary document."""
    size = int.from_bytes(data[:4], "little")
    head = json.loads(data[4 : 4 + size])
    found = {
        one["name"]: np.frombuffer(data, one["type"], int(np.prod(one["shape"])), 4 + size + one["at"]).reshape(one["shape"])
        for one in head["columns"]
    }
    return head, found


def bench(person: Person, what: str, **asked: Any) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    answer = person.ask("GET", f"/api/jobs/cap/{what}", params={"setup": "first side", **asked})
    assert answer.status_code == 200, answer.text
    return columns_in(answer.content)


def volume(columns: dict[str, np.ndarray]) -> float:
    """The volume a surface encloses, by the divergence theorem, mm³."""
    a, b, c = (columns["corners"][columns["triangles"][:, k]].astype(float) for k in range(3))
    return float((a * np.cross(b, c)).sum() / 6.0)


def test_a_real_proof_and_its_sheets(at_work: Person) -> None:
    number = start(at_work, station="sheet", setup="first side", pitch_mm=2.0)
    told = events(at_work, number)
    assert {body["what"] for _, kind, body in told if kind == "step"} >= {"removing metal"}
    assert told[-1][2]["state"] == "done", told[-1]
    proof = at_work.read(f"/api/jobs/cap/results/{told[-1][2]['artefact_id']}")
    assert (proof["command"], proof["job"], proof["units"]) == ("prove", "cap", "mm")
    assert proof["setups"][0]["setup"] == "first side"
    assert proof["grid_mm"] == pytest.approx(2.0, rel=0.2)
    results = {one["name"]: one["id"] for one in at_work.read("/api/jobs/cap/results?station=sheet")["results"]}
    assert set(results) == {"proof.json", "sheet-first-side.pdf", "sheet-first-side-1.svg", "sheet-first-side-2.svg"}
    answer = at_work.ask("GET", f"/api/jobs/cap/results/{results['sheet-first-side.pdf']}")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")
    assert at_work.read("/api/jobs/cap/findings")["verdict"] == proof["verdict"]
    head, surface = bench(at_work, "moment")
    assert volume(surface) == pytest.approx(proof["blank_mm3"] - proof["removed_mm3"], rel=0.03)
    assert head["motion"] >= surface["motion"].max()  # the last motions make no surface
    assert (head["bound_mm"], head["whole_triangles"]) == (0.0, len(surface["triangles"]))


def test_the_metal_at_a_moment(proved: Person) -> None:
    """Nothing is cut before the first motion: the blank, 124 x 84 x 32 mm with bore A through it. Then it only gets less, and each
    triangle names a motion that has run."""
    (bore,) = [face.bore for face in load_job(DEMO).job.setup[0].face if face.name == "bore A" and face.bore]
    wanted = (124.0 * 84.0 - np.pi * bore.diameter**2 / 4.0) * 32.0
    head, surface = bench(proved, "moment", motion=-1)
    assert head["motion"] == -1
    assert volume(surface) == pytest.approx(wanted, rel=0.03)
    assert set(surface["motion"]) == {-1}
    volumes = []
    for motion in (-1, 20, 60, 10_000):
        head, surface = bench(proved, "moment", motion=motion)
        assert surface["motion"].max() <= motion
        volumes.append(volume(surface))
    assert volumes == sorted(volumes, reverse=True)
    assert head["motion"] == bench(proved, "moment")[0]["motion"]


def test_a_coarse_moment_says_how_coarse(proved: Person) -> None:
    whole, fine = bench(proved, "moment")
    head, surface = bench(proved, "moment", triangles=2000)
    assert 0 < len(surface["triangles"]) <= 3000 < whole["whole_triangles"] == head["whole_triangles"]
    assert 0.0 < head["bound_mm"] < 32.0  # the blank is 32 mm high
    assert {tuple(corner) for corner in surface["corners"].tolist()} <= {tuple(corner) for corner in fine["corners"].tolist()}


def test_the_strip_and_the_track_of_a_proof(proved: Person) -> None:
    """Times go on, what the strip removes adds up to the proof's, its power peaks as each tool's does, the track ends each motion
    where the next begins."""
    result = proved.read("/api/jobs/cap/results?station=sheet")["results"][0]["id"]
    proof = proved.read(f"/api/jobs/cap/results/{result}")
    head, strip = bench(proved, "strip", proof=result)
    assert head["total_s"] == pytest.approx(proof["time_s"])
    assert head["files"] == ["cap-1.nc"]
    assert (np.diff(strip["end_s"]) >= 0.0).all()
    assert (strip["begin_s"][1:] >= strip["end_s"][:-1] - 1e-9).all()
    assert strip["removed_mm3"].sum() == pytest.approx(proof["removed_mm3"], rel=1e-4)
    holding = [one["least_mm"] for one in proof["clearance"] if one["bodies"][1] != "blank"]  # the strip is of holding and table
    assert strip["clearance_mm"].min() <= min(holding) + 1e-4
    for one in proof["load"]:
        power = strip["power_kw"][strip["tool"] == one["tool"]]
        peak = np.nan if np.isnan(power).all() else np.nanmax(power)
        assert peak == pytest.approx(one["peak_kw"] or np.nan, rel=1e-6, nan_ok=True)
    head, track = bench(proved, "track", proof=result)
    assert (np.diff(track["motion"]) >= 0).all()
    assert track["motion"].max() == len(strip["kind"]) - 1
    assert set(track["joined"]) == {0, 1}
    assert ((track["share"] >= 0) & (track["share"] <= 1)).all()


def test_what_the_bench_cannot_show(proved: Person, ada: Person) -> None:
    refused(ada.ask("GET", "/api/jobs/cap/moment"), 404, "not been proved yet", "prove it first")
    refused(proved.ask("GET", "/api/jobs/cap/strip?setup=third"), 422, "third", "first side")
    refused(proved.ask("GET", "/api/jobs/cap/track?proof=999"), 404)
    refused(proved.ask("GET", "/api/jobs/cap/moment?motion=-2"), 422, "motion")
    sheet = next(one for one in proved.read("/api/jobs/cap/results")["results"] if one["name"].startswith("sheet"))
    refused(proved.ask("GET", f"/api/jobs/cap/moment?proof={sheet['id']}"), 404, "is no proof")
    number = start(ada)
    assert ended(ada, number)["state"] == "done"  # told to say it proved: nothing was kept
    refused(ada.ask("GET", "/api/jobs/cap/moment"), 404, "not kept any more", "prove the job again")


def test_a_real_refusal(at_work: Person) -> None:
    over = ended(at_work, start(at_work, until="nowhere.nc:1"))
    assert over["state"] == "refused"
    assert "nowhere.nc:1" in over["said"][0]["text"]
