"""The route card: what each station says in one sentence, what is still to do, and what has fallen."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

from setwright.record.artefacts import keep_artefact
from setwright.record.entries import finding_name
from setwright.record.jobs import revise
from setwright.web.answers import JSON_TYPE, encoded
from tests.web.workbench import FINDING, Person, refused

STUDY = {"checks": [{"name": "tip over datum", "minutes": 2.0}, {"name": "block under tip", "minutes": 3.4}]}


def card(person: Person) -> dict[str, dict[str, Any]]:
    return {one["station"]: one for one in person.read("/api/jobs/cap")["route_card"]}


def kept(app: FastAPI, name: str, station: str, document: dict[str, Any], *, setup: str = "") -> None:
    data = encoded(document)
    keep_artefact(app.state.record, "cap", data, revision=1, station=station, setup=setup, name=name, media_type=JSON_TYPE,
                  inputs="0" * 64, by="Ada")  # fmt: skip


def test_each_station_says_what_is_still_to_do(app: FastAPI, ada: Person) -> None:
    said = card(ada)
    assert said["kit"]["text"] == "It goes together on Mill 2."
    assert said["prove"]["text"] == "Not proved yet."
    assert said["touch"]["text"].startswith("first side: The readings agree.")
    assert "second side: The readings agree." in said["touch"]["text"]
    assert said["hover"]["text"] == "No slip was followed yet: prove the job first."
    assert {one["state"] for one in said.values()} == {"open"}
    revise(app.state.record, "cap", {"readings.toml": None}, based_on=1, by="Ben")
    assert "second side: Nothing is touched yet: touch" in card(ada)["touch"]["text"]


def test_hover_counts_the_checks_of_every_setup_that_was_studied(app: FastAPI, ada: Person) -> None:
    kept(app, "proof.json", "prove", {"verdict": "Nothing hits.", "findings": []})
    for setup in ("first side", "second side"):
        kept(app, "hover.json", "hover", {"setups": [{"setup": setup, **STUDY}], "findings": [{"setup": setup}]}, setup=setup)
    assert card(ada)["hover"]["text"] == "0 of 4 checks of the plan are done; the rest takes about 11 min."
    body = {"check": "tip over datum", "setup": "second side", "seen": "0.4 mm off"}
    assert ada.ask("POST", "/api/jobs/cap/checks", based_on=1, json=body).status_code == 201
    assert card(ada)["hover"]["text"] == "1 of 4 checks of the plan are done; the rest takes about 9 min."
    revise(app.state.record, "cap", {"note.txt": b"x"}, based_on=1, by="Ben")
    told = card(ada)
    assert told["hover"]["text"] == "The slips were followed for revision 1; the job has changed since."
    assert (told["hover"]["state"], told["prove"]["state"]) == ("needs a look", "needs a look")


def test_a_check_made_for_several_tools_is_ticked_for_each(app: FastAPI, ada: Person) -> None:
    checks = [{"name": "read back", "on": on, "minutes": 1.0} for on in ("T1", "T2")]
    kept(app, "hover.json", "hover", {"setups": [{"setup": "first side", "checks": checks}], "findings": []})
    body = {"check": "read back, T2", "setup": "first side", "seen": ""}
    assert ada.ask("POST", "/api/jobs/cap/checks", based_on=1, json=body).status_code == 201
    said = "1 of 2 checks of the plan are done; the rest takes about 1 min."
    assert card(ada)["hover"]["text"] == f"{said} The slips of “second side” were not followed yet."


def test_a_signature_that_fell_says_so_before_the_sentence(app: FastAPI, ada: Person) -> None:
    assert ada.ask("POST", "/api/jobs/cap/signed", based_on=1, json={"station": "kit"}).status_code == 201
    assert card(ada)["kit"]["state"] == "signed"
    revise(app.state.record, "cap", {"readings.toml": b""}, based_on=1, by="Ben")
    assert card(ada)["kit"]["state"] == "signed", "Kit does not rest on readings"
    revise(app.state.record, "cap", {"note.txt": b"x"}, based_on=2, by="Ben")
    kit = card(ada)["kit"]
    assert kit["state"] == "needs a look"
    assert kit["text"].startswith("The signature fell: it was made about revision 1; the job has changed since. It goes together")


def test_readings_that_cannot_be_solved_need_a_look(app: FastAPI, ada: Person) -> None:
    text = ada.read("/api/jobs/cap/readings")["text"]
    days = text.replace("when = 2026-03-03", "when = 2026-03-04", 1)
    revise(app.state.record, "cap", {"readings.toml": days.encode()}, based_on=1, by="Ben")
    touch = card(ada)["touch"]
    assert touch["state"] == "needs a look"
    assert "first side: These readings cannot be solved together." in touch["text"]
    answer = ada.read("/api/jobs/cap/touch?setup=first side")
    assert answer["refused"] is True
    assert "contacts of 2026-03-03 and of 2026-03-04 are mixed" in answer["findings"][0]["text"]


def test_a_finding_shows_the_picture_of_its_place(app: FastAPI, ada: Person) -> None:
    name = finding_name(FINDING)
    kept(app, "pictures.json", "prove", {name: "<svg/>"})
    kept(app, "proof.json", "prove", {"verdict": "It passes close.", "findings": [FINDING, FINDING | {"line": 41}]})
    there, bare = ada.read("/api/jobs/cap/findings")["findings"]
    assert (there["pictured"], bare["pictured"]) == (True, False)
    answer = ada.ask("GET", f"/api/jobs/cap/pictures/{name}")
    assert (answer.status_code, answer.headers["content-type"], answer.text) == (200, "image/svg+xml", "<svg/>")
    refused(ada.ask("GET", f"/api/jobs/cap/pictures/{finding_name(FINDING | {'line': 41})}"), 404, "no picture")
