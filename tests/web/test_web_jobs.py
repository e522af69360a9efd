"""Jobs over HTTP: from programs, from a folder and back, revisions that nobody overwrites, readings, statements, the shop."""

from __future__ import annotations

import datetime
import io
import json
import zipfile
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import event

from setwright.jobfolder.load import load_job
from setwright.record.folder import JobFiles
from setwright.record.jobs import add_job, jobs_page
from setwright.record.schema import now
from setwright.web.app import create_app
from setwright.web.settings import Settings
from tests.web.workbench import DEMO, Person, ended, programs, readers, refused

SOON = (now().date() + datetime.timedelta(days=30)).isoformat()


def files_of(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_job_from_nothing_but_programs_is_proved_without_another_question(ada: Person) -> None:
    answer = ada.ask("POST", "/api/jobs", files=programs())
    assert answer.status_code == 201, answer.text
    made = answer.json()
    assert answer.headers["location"] == "/api/jobs/cap-1"
    assert made["guesses"]
    assert ended(ada, made["calculation"]["id"])["state"] == "done"
    job = ada.read("/api/jobs/cap-1")
    assert [setup["programs"] for setup in job["document"]["setup"]] == [["cap-1.nc"], ["cap-2.nc"]]
    assert ada.read("/api/jobs/cap-1/findings")["current"] is True
    assert ada.ask("GET", "/api/jobs/cap-1/file?path=cap-1.nc").content == (DEMO / "cap-1.nc").read_bytes()
    assert ada.ask("POST", "/api/jobs", files=programs()).json()["revision"]["job"] == "cap-1-2"


@pytest.mark.parametrize(
    ("files", "status", "word"),
    [
        ([], 422, "programs"),
        ([("programs", ("a.nc", b"\x00\x01\x02\x03" * 100))], 422, "a.nc"),
        ([("programs", ("..", b"%\nM30\n%"))], 422, "leads out"),
        ([("programs", (".nc", b"%\nM30\n%"))], 422, "begins with a dot"),
        ([("wrong", ("a.nc", b"%\nM30\n%"))], 422, "programs"),
    ],
)
def test_what_is_no_program_is_refused(ada: Person, files: list[Any], status: int, word: str) -> None:
    refused(ada.ask("POST", "/api/jobs", files=files), status, word)
    assert len(ada.read("/api/jobs")["jobs"]) == 1


def test_a_folder_goes_in_and_comes_out_byte_for_byte(ada: Person) -> None:
    packed = ada.ask("GET", "/api/jobs/cap/folder")
    with zipfile.ZipFile(io.BytesIO(packed.content)) as archive:
        assert {name.removeprefix("cap/"): archive.read(name) for name in archive.namelist()} == files_of(DEMO)
    answer = ada.ask("POST", "/api/jobs/import", files={"folder": ("Cap Two.zip", packed.content)})
    assert answer.status_code == 201, answer.text
    assert answer.json()["revision"]["job"] == "cap-two"
    assert answer.json()["revision"]["digest"] == ada.read("/api/jobs/cap")["revision"]["digest"]
    assert ada.ask("GET", "/api/jobs/cap/folder").content == packed.content


def zipped(files: dict[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return held.getvalue()


@pytest.mark.parametrize(
    ("data", "status", "word"),
    [
        (b"no zip", 422, "cannot be read as a ZIP file"),
        (zipped({"a/../../x": b"", "a/job.toml": b""}), 422, "leads out"),
        (zipped({"/job.toml": b""}), 422, "leads out"),
        (zipped({"x/readme": b""}), 422, "no job.toml"),
        (zipped({"a/job.toml": b"", "b/job.toml": b""}), 422, "2 jobs"),
        (zipped({f"a/{n}": b"" for n in range(5001)}), 413, "holds more than"),
        (zipped({"a/job.toml": b"[job"}), 422, "not TOML"),
    ],
)
def test_what_is_no_folder_is_refused(ada: Person, data: bytes, status: int, word: str) -> None:
    refused(ada.ask("POST", "/api/jobs/import", files={"folder": ("x.zip", data)}), status, word)


def test_a_zip_that_announces_too_much_is_refused_before_it_is_opened(ada: Person) -> None:
    data = bytearray(zipped({"a/job.toml": b"x" * 100}))
    at = data.index(b"PK\x01\x02") + 24
    data[at : at + 4] = (2_100_000_000).to_bytes(4, "little")
    refused(ada.ask("POST", "/api/jobs/import", files={"folder": ("x.zip", bytes(data))}), 413, "holds more than")


def test_the_document_over_http_is_the_document_on_disk(ada: Person) -> None:
    answer = ada.ask("GET", "/api/jobs/cap")
    assert answer.headers["etag"] == '"1"'
    assert answer.json()["document"] == load_job(DEMO).job.model_dump(mode="json", by_alias=True)
    assert [one["station"] for one in answer.json()["route_card"]] == ["read", "kit", "prove", "touch", "hover", "piece", "run"]


def test_a_change_names_the_revision_it_was_made_from(ada: Person) -> None:
    first = ada.ask("PATCH", "/api/jobs/cap", based_on=1, json={"files": {"note.txt": "one"}, "note": "mine"})
    assert (first.status_code, first.headers["etag"]) == (200, '"2"')
    refused(ada.ask("PATCH", "/api/jobs/cap", based_on=1, json={"files": {"note.txt": "two"}}), 409, "Ada changed it on")
    refused(ada.ask("PATCH", "/api/jobs/cap", json={"files": {"note.txt": "two"}}), 428, "If-Match")
    any_revision = {"if-match": "*"}
    refused(ada.ask("PATCH", "/api/jobs/cap", headers=any_revision, json={"files": {"note.txt": "two"}}), 422, "is no revision")
    assert ada.ask("GET", "/api/jobs/cap/file?path=note.txt").content == b"one"
    assert ada.read("/api/jobs/cap/changes?before=1")["changes"] == [
        {"file": "note.txt", "what": "", "before": None, "after": "3 bytes"}
    ]  # fmt: skip


def test_two_people_on_one_file_are_put_together_or_asked(ada: Person) -> None:
    text = ada.ask("GET", "/api/jobs/cap/file?path=job.toml").content.decode()
    mine, other = text.replace('revision = "C"', 'revision = "D"'), text.replace('drawing = "HL-2041"', 'drawing = "HL-2042"')
    assert len({text, mine, other}) == 3
    assert ada.ask("PUT", "/api/jobs/cap/file?path=job.toml", based_on=1, content=other).status_code == 200
    answer = ada.ask("PUT", "/api/jobs/cap/file?path=job.toml", based_on=1, content=mine)
    assert (answer.status_code, answer.headers["etag"]) == (200, '"3"')
    assert [(one["what"], one["after"]) for one in answer.json()["others"]] == [("job › drawing", '"HL-2042"')]
    both = ada.ask("GET", "/api/jobs/cap/file?path=job.toml").content.decode()
    assert both == other.replace('revision = "C"', 'revision = "D"')

    again = {"files": {"job.toml": text.replace('revision = "C"', 'revision = "E"')}}
    clash = ada.ask("PATCH", "/api/jobs/cap", based_on=1, json=again)
    assert clash.status_code == 409
    (said,) = clash.json()["clashes"]
    assert said == {"file": "job.toml", "what": "job › revision", "before": '"C"', "yours": '"E"', "theirs": '"D"'}
    assert clash.json()["newest"] == 3
    assert ada.ask("GET", "/api/jobs/cap/file?path=job.toml").content.decode() == both  # nothing was written
    chosen = [{"file": "job.toml", "what": "job › revision", "theirs": '"D"', "take": "yours"}]
    assert ada.ask("PATCH", "/api/jobs/cap", based_on=1, json=again | {"chosen": chosen}).headers["etag"] == '"4"'
    assert ada.ask("GET", "/api/jobs/cap/file?path=job.toml").content.decode() == both.replace('revision = "D"', 'revision = "E"')


def test_files_one_by_one(ada: Person) -> None:
    data = bytes(range(256))
    assert ada.ask("PUT", "/api/jobs/cap/file?path=drawing/hl-2041.pdf", based_on=1, content=data).headers["etag"] == '"2"'
    answer = ada.ask("GET", "/api/jobs/cap/file?path=drawing/hl-2041.pdf")
    assert answer.content == data
    assert answer.headers["content-type"] == "application/octet-stream"
    assert answer.headers["content-disposition"] == "attachment"
    assert ada.ask("DELETE", "/api/jobs/cap/file?path=drawing/hl-2041.pdf", based_on=2).status_code == 200
    refused(ada.ask("GET", "/api/jobs/cap/file?path=drawing/hl-2041.pdf"), 404)
    assert ada.ask("GET", "/api/jobs/cap/file?path=drawing/hl-2041.pdf&revision=2").content == data
    refused(ada.ask("DELETE", "/api/jobs/cap/file?path=nothing", based_on=3), 404)
    refused(ada.ask("PUT", "/api/jobs/cap/file?path=../x", based_on=3, content=b"x"), 422, "leads out")


def test_a_broken_document_is_refused_with_its_line(ada: Person) -> None:
    text = (DEMO / "job.toml").read_text().replace("stickout = 42", "stikout = 42", 1)
    line = text[: text.index("stikout")].count("\n") + 1
    answer = ada.ask("PATCH", "/api/jobs/cap", based_on=1, json={"files": {"job.toml": text}})
    refused(answer, 422, "stickout")
    assert ("job.toml", line) in {(finding["file"], finding["line"]) for finding in answer.json()["findings"]}
    assert ada.read("/api/jobs/cap")["revision"]["number"] == 1


def test_the_stations_that_answer_at_once(ada: Person) -> None:
    read, kit, touch = (ada.read(f"/api/jobs/cap/{station}") for station in ("read", "kit", "touch"))
    assert [(one["command"], one["job"]) for one in (read, kit, touch)] == [("read", "cap"), ("kit", "cap"), ("touch", "cap")]
    assert {tool["number"] for tool in read["tools"]}
    assert touch["offsets"]["G54"]["x"]["value"] is not None
    scene = kit["setups"][0]["scene"]
    assert "fixed jaw" in {body["name"] for body in scene["bodies"]}
    blank = load_job(DEMO).job.setup[0].blank
    assert blank.mesh or scene["blank"]["box"]["low"] == list(blank.corner)
    pieces = scene["tools"]["1"]["pieces"]
    assert pieces[0]["part"] == "cutting"
    assert all(a["z1"] <= b["z1"] for a, b in pairwise(pieces))


def test_the_path_comes_in_columns(ada: Person) -> None:
    data = ada.ask("GET", "/api/jobs/cap/path?setup=first side").content
    size = int.from_bytes(data[:4], "little")
    assert (4 + size) % 8 == 0
    head = json.loads(data[4 : 4 + size])
    columns = {}
    for column in head["columns"]:
        count = int(np.prod(column["shape"], dtype=int))
        held = np.frombuffer(data, np.dtype(column["type"]).newbyteorder("<"), count, 4 + size + column["at"])
        columns[column["name"]] = held.reshape(column["shape"])
    motions = ada.read("/api/jobs/cap/read?setup=first side")["motions"]
    assert {len(columns[name]) for name in ("kind", "start", "end", "line", "tool", "feed_mm_per_min")} == {motions}
    assert head["files"] == ["cap-1.nc"]
    same_frame = columns["frame"][1:] == columns["frame"][:-1]
    assert np.count_nonzero(same_frame) > 100
    assert np.array_equal(columns["start"][1:][same_frame], columns["end"][:-1][same_frame])


def test_readings_one_by_one_with_the_solution_at_once(ada: Person) -> None:
    text = (DEMO / "readings.toml").read_text()
    held = ada.read("/api/jobs/cap/readings")
    assert held["text"] == text
    reading = held["contact"][0]
    answer = ada.ask("POST", "/api/jobs/cap/readings/contact", based_on=1, json={"reading": reading})
    assert answer.status_code == 201, answer.text
    assert answer.json()["touch"]["offsets"]["G54"]["x"]["value"] is not None
    assert ada.read("/api/jobs/cap/readings")["text"].startswith(text)
    count = len(held["contact"])
    again = {"reading": reading | {"note": "again"}}
    changed = ada.ask("PUT", f"/api/jobs/cap/readings/contact/{count + 1}", based_on=2, json=again)
    assert changed.status_code == 200, changed.text
    assert ada.read("/api/jobs/cap/readings")["contact"][-1]["note"] == "again"
    assert ada.ask("DELETE", f"/api/jobs/cap/readings/contact/{count + 1}", based_on=3).status_code == 200
    assert ada.read("/api/jobs/cap/readings")["contact"] == held["contact"]
    refused(ada.ask("DELETE", "/api/jobs/cap/readings/contact/99", based_on=4), 404)
    wrong = reading | {"toward": "+Q"}
    refused(ada.ask("POST", "/api/jobs/cap/readings/contact", based_on=4, json={"reading": wrong}), 422, "+Q")
    refused(ada.ask("POST", "/api/jobs/cap/readings/contact", based_on=1, json={"reading": reading}), 412)


def test_what_to_touch_next_follows_the_datum_and_what_was_read(ada: Person) -> None:
    path = "/api/jobs/cap/readings"
    left = ada.ask("DELETE", path, based_on=1, params={"setup": "first side"}).json()["plan"]
    assert left == ada.read("/api/jobs/cap/touch?setup=first side")["plan"]
    sides = [f"X and Y: touch bore A moving {way}" for way in ("+X; or sweep it", "-X", "+Y", "-Y")]
    angle = ["the angle: touch fixed jaw moving +Y, X as well", "the angle: touch fixed jaw again far away, X as well"]
    assert [one["what"] for one in left][:6] == [*sides, *angle]
    assert [one["also"] for one in left][:6] == ["", "", "", "", "X", "X"]
    reading = {"setup": "first side", "on": "bore A", "toward": "+X", "with": "finder-10", "display": {"x": "-294.850 mm"}}
    kept = ada.ask("POST", f"{path}/contact", based_on=2, json={"reading": reading})
    assert kept.json()["plan"] == left[1:]
    revision, other = int(kept.headers["etag"].strip('"')), {**reading, "toward": "-X"}
    again = ada.ask("POST", f"{path}/contact", based_on=revision, json={"reading": other})
    assert again.status_code == 201, again.text
    assert again.json()["plan"] == left[2:]


def test_readings_of_a_setup_that_was_renamed_are_refused_with_their_place(ada: Person) -> None:
    files = {f"block/{path}": data for path, data in files_of(DEMO).items()}
    for old, new in ((b"first side", b"1st side"), (b"second side", b"2nd side")):
        files["block/readings.toml"] = files["block/readings.toml"].replace(b'setup = "%b"' % old, b'setup = "%b"' % new)
    made = ada.ask("POST", "/api/jobs/import", files={"folder": ("block.zip", zipped(files))})
    assert made.status_code == 201, made.text
    name = made.json()["revision"]["job"]
    refused(ada.ask("GET", f"/api/jobs/{name}/touch"), 422, "was read for setup", "the job has no such setup")


def test_readings_tried_without_being_kept(ada: Person) -> None:
    text = (DEMO / "readings.toml").read_text()
    tried = ada.ask("POST", "/api/jobs/cap/touch", json={"setup": "first side", "readings": text})
    assert tried.json()["offsets"] == ada.read("/api/jobs/cap/touch?setup=first side")["offsets"]
    untouched = ada.ask("POST", "/api/jobs/cap/touch", json={"setup": "first side", "readings": ""}).json()
    assert untouched["answer"] == "Nothing is touched yet: touch bore A for X and Y, fixed jaw for the angle and top for Z."
    assert (untouched["offsets"], untouched["picture"]["contacts"], "refused" in untouched) == ({}, [], False)
    assert "bore A" in [face["name"] for face in untouched["picture"]["faces"]]
    assert untouched["no_slip"] is None, "nothing touched says nothing of slips"
    refused(ada.ask("POST", "/api/jobs/cap/touch", json={"setup": "third", "readings": text}), 422, "third")
    assert ada.read("/api/jobs/cap")["revision"]["number"] == 1


def test_statements_stand_and_fall(shop: FastAPI) -> None:
    lea, sam = Person(shop, "Lea"), Person(shop, "Sam")
    unseen = {"finding": "x", "reason": "r", "until": SOON}
    refused(lea.ask("POST", "/api/jobs/cap/accepted", based_on=1, json=unseen), 404, "not been proved")
    number = sam.ask("POST", "/api/jobs/cap/calculations", json={"station": "prove"}).json()["id"]
    assert ended(sam, number)["state"] == "done"
    finding = sam.read("/api/jobs/cap/findings")["findings"][0]
    accepted = {"finding": finding["name"], "reason": "measured with a feeler", "until": SOON}
    assert lea.ask("POST", "/api/jobs/cap/accepted", based_on=1, json=accepted).status_code == 201
    refused(lea.ask("POST", "/api/jobs/cap/accepted", based_on=1, json=accepted | {"finding": "x"}), 404, "has that finding")
    assert lea.ask("POST", "/api/jobs/cap/signed", based_on=1, json={"station": "prove"}).json()["body"] == {"role": "lead"}
    check = {"check": "tip over the top", "seen": "50 mm"}
    assert sam.ask("POST", "/api/jobs/cap/checks", based_on=1, json=check).status_code == 201
    assert sam.read("/api/jobs/cap/findings")["findings"][0]["accepted"]["stands"] is True
    card = {one["station"]: one for one in sam.read("/api/jobs/cap")["route_card"]}
    assert (card["prove"]["state"], card["prove"]["text"], card["kit"]["state"]) == ("signed", "Nothing hits.", "open")
    sam.ask("PATCH", "/api/jobs/cap", based_on=1, json={"files": {"note.txt": "x"}})
    held = sam.read("/api/jobs/cap/statements")
    assert [one["stands"] for name in ("checks", "accepted", "signed") for one in held[name]] == [False] * 3
    assert {one["station"]: one["state"] for one in sam.read("/api/jobs/cap")["route_card"]}["prove"] == "needs a look"
    refused(sam.ask("POST", "/api/jobs/cap/withdrawn", based_on=2, json={"entry": held["signed"][0]["id"]}), 403, "somebody else")
    assert lea.ask("POST", "/api/jobs/cap/withdrawn", based_on=2, json={"entry": held["signed"][0]["id"]}).status_code == 201


def test_what_changed_since_it_ran_and_the_history(ada: Person) -> None:
    assert ada.read("/api/jobs/cap/since-last-run")["ran"] is None
    ada.ask("POST", "/api/jobs/cap/runs", based_on=1, json={"pieces": 6, "setup": "first side"})
    ada.ask("POST", "/api/jobs/cap/remarks", based_on=1, json={"text": "deburr the seat"})
    text = (DEMO / "job.toml").read_text().replace("stickout = 42", "stickout = 40", 1)
    ada.ask("PATCH", "/api/jobs/cap", based_on=1, json={"files": {"job.toml": text}, "note": "shorter"})
    since = ada.read("/api/jobs/cap/since-last-run")
    assert (since["ran"]["body"]["pieces"], [(one["before"], one["after"]) for one in since["changes"]]) == (6, [("42", "40")])
    assert [event["text"] for event in ada.read("/api/jobs/cap/history")["events"]] == [
        "revision 1", "ran: 6 pieces, setup “first side”", "remark (deburr the seat)", "revision 2: shorter",
    ]  # fmt: skip
    assert len(ada.read("/api/jobs/cap/revisions")["revisions"]) == 2
    assert ada.read("/api/jobs/cap/statements")["remarks"][0]["body"] == {"text": "deburr the seat"}


def test_the_shop(ada: Person) -> None:
    text = (DEMO / "shop/tools/end-mill-16.toml").read_text()
    put = "/api/shop/tools/end-mill-16"
    plain = {"content-type": "text/plain"}
    assert ada.ask("PUT", put, based_on=0, content=text, headers=plain).headers["etag"] == '"1"'
    assert ada.read(put)["text"] == text
    assert ada.read(put)["document"]["diameter"] == "16.0 mm"
    assert ada.read("/api/shop")["differing"] == {}
    worn = text + "\n# worn\n"
    refused(ada.ask("PUT", put, based_on=0, content=worn, headers=plain), 412)
    assert ada.ask("PUT", put, based_on=1, content=worn, headers=plain).status_code == 200
    assert ada.read("/api/shop")["differing"] == {"cap": ["shop/tools/end-mill-16.toml"]}
    refused(ada.ask("PUT", put, based_on=2, content="diameter = -1", headers=plain), 422, "tools/end-mill-16.toml")
    refused(ada.ask("GET", "/api/shop/chairs/x"), 404)
    assert ada.ask("DELETE", put, based_on=2).status_code == 200
    refused(ada.ask("GET", put), 404)
    assert ada.ask("GET", f"{put}?revision=1").json()["text"] == text
    assert len(ada.read(f"{put}/revisions")["revisions"]) == 3
    assert ada.read("/api/shop")["things"] == []


def _zipped(members: dict[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return held.getvalue()


def test_a_zip_is_judged_by_what_comes_out_of_it(ada: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("setwright.web.archive.MOST_UNPACKED", 2_000_000)
    large = _zipped({"job.toml": b"x", "large.bin": b"\0" * 3_000_000})
    assert len(large) < 10_000
    refused(ada.ask("POST", "/api/jobs/import", files=[("folder", ("job.zip", large))]), 413, "holds more than")
    lying = large.replace((3_000_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))  # it says that ten bytes come out
    assert lying != large
    assert ada.ask("POST", "/api/jobs/import", files=[("folder", ("job.zip", lying))]).status_code in (413, 422)


@pytest.mark.parametrize("names", [("a", "a/b"), ("x\0y", "job.toml"), ("a/" * 300 + "b", "job.toml"), ("a.nc", "A.NC")])
def test_names_in_a_zip_that_no_disk_can_hold_are_refused(ada: Person, names: tuple[str, str]) -> None:
    files = dict.fromkeys(names, b"%\nM30\n%") | {"job.toml": (DEMO / "job.toml").read_bytes()}
    answer = ada.ask("POST", "/api/jobs/import", files=[("folder", ("job.zip", _zipped(files)))])
    assert answer.status_code == 422
    assert len(ada.read("/api/jobs")["jobs"]) == 1


def test_the_board_comes_in_pages_in_a_fixed_order_and_finds_by_name_or_title(ada: Person, app: FastAPI) -> None:
    def read(given: JobFiles, name: str) -> tuple[str, str]:
        return f"Cap 100% no. {name[-3:]}", "0" * 64

    for number in range(120):
        add_job(app.state.record, JobFiles({"job.toml": b""}), name=f"spacer-{number:03}", by="Ada", read=read)
    pages = [ada.read(f"/api/jobs?page={page}") for page in (1, 2, 3)]
    assert [len(page["jobs"]) for page in pages] == [50, 50, 21]
    assert [(page["page"], page["pages"], page["next"]) for page in pages] == [(1, 3, 2), (2, 3, 3), (3, 3, None)]
    assert {page["in_all"] for page in pages} == {121}
    names = [one["name"] for page in pages for one in page["jobs"]]
    assert names == [*(f"spacer-{number:03}" for number in reversed(range(120))), "cap"]
    assert ada.read("/api/jobs?page=4")["jobs"] == []
    found = ada.read("/api/jobs?find=ACER-11")
    assert ([one["name"] for one in found["jobs"]], found["next"]) == ([f"spacer-11{n}" for n in reversed(range(10))], None)
    assert ada.read("/api/jobs?find=100%25+no")["in_all"] == 120
    assert ada.read("/api/jobs?find=1%25")["in_all"] == 0, "a percent sign stands for itself"


def test_a_page_of_the_board_takes_two_questions_however_many_jobs(app: FastAPI) -> None:
    record = app.state.record
    asked: list[str] = []

    def listening(*said: Any) -> None:
        asked.append(said[2])

    event.listen(record.engine, "before_cursor_execute", listening)
    jobs_page(record, page=1, size=50)
    event.remove(record.engine, "before_cursor_execute", listening)
    assert len([one for one in asked if one.lstrip().upper().startswith("SELECT")]) == 2


def test_a_file_and_a_folder_of_one_name_are_refused(ada: Person) -> None:
    put = ada.ask("PUT", "/api/jobs/cap/file?path=cap-1.nc/x", based_on=1, content=b"x")
    refused(put, 422, "is a file", "in a folder of that name")
    refused(ada.ask("POST", "/api/jobs", files=[("programs", ("shop", programs()[0][1][1]))]), 422, "is a file")
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for path, data in files_of(DEMO).items():
            archive.writestr(path, data)
        archive.writestr("Cap-1.nc/x", b"x")
    refused(ada.ask("POST", "/api/jobs/import", files={"folder": ("cap.zip", held.getvalue())}), 422, "is a file")
    assert ada.read("/api/jobs/cap")["revision"]["number"] == 1


@pytest.mark.parametrize("number", ["99999999999999999999", "-99999999999999999999"])
def test_a_number_beyond_all_numbers_is_refused(ada: Person, number: str) -> None:
    refused(ada.ask("GET", f"/api/calculations/{number}"), 422, "cannot be kept in a database")
    refused(ada.ask("GET", f"/api/audit?before={number}"), 422)
    refused(ada.ask("GET", f"/api/jobs/cap/results/{number}"), 404)


@pytest.mark.parametrize("path", ["/%00", "/a%00b", "/" + "a" * 5000, "/jobs/%00", "/" + "a/" * 3000])
def test_an_address_that_can_be_no_file_is_the_front_pages(tmp_path: Path, path: str) -> None:
    (tmp_path / "pages").mkdir()
    (tmp_path / "pages" / "index.html").write_text("front page")
    app = create_app(Settings(place=tmp_path / "record"), pages=tmp_path / "pages", bounded=readers())
    with TestClient(app, base_url="http://127.0.0.1") as client:
        assert client.get(path).text == "front page"
