"""Statements: they stand for exactly what was looked at, fall with any change, and stay in the history when withdrawn."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from setwright.base.errors import InputRefused
from setwright.record.artefacts import artefact_bytes, artefacts, find_artefact, keep_artefact
from setwright.record.entries import (
    Kind,
    accept_finding,
    entries,
    finding_name,
    remark,
    sign_off,
    standing,
    state_run,
    tick_check,
    withdraw,
)
from setwright.record.folder import JobFiles
from setwright.record.guesses import settle_guess
from setwright.record.history import changes_between, history, since_last_run
from setwright.record.jobs import add_job, find_revision, revise
from setwright.record.refusals import NotThere, Stale
from setwright.record.schema import now
from setwright.record.store import Record

FINDING: dict[str, Any] = {
    "slug": "close-pass", "signal": "CAUTION", "text": "holder passes the jaw at 1.2 mm", "setup": "first side", "file": "cap-1.nc",
    "line": 40, "tool": 1, "body": "fixed jaw", "value": 1.2, "unit": "mm",
}  # fmt: skip
TODAY = now().date()
SOON = TODAY + datetime.timedelta(days=30)


@pytest.fixture
def job(record: Record, cap: JobFiles) -> Record:
    add_job(record, cap, name="cap", by="Ada")
    return record


def test_an_acceptance_stands_until_anything_changes(job: Record) -> None:
    accept_finding(job, "cap", FINDING, reason="checked with a feeler", until=SOON, based_on=1, by="Ben")
    (held,) = standing(job, "cap", Kind.ACCEPTED)
    assert held.stands
    assert (held.entry.by, held.entry.body["reason"], held.entry.setup) == ("Ben", "checked with a feeler", "first side")
    revise(job, "cap", {"note.txt": b"anything"}, based_on=1, by="Ada")
    (fallen,) = standing(job, "cap", Kind.ACCEPTED)
    assert not fallen.stands
    assert "the job has changed since" in fallen.why
    revise(job, "cap", {"note.txt": None}, based_on=2, by="Ada")
    assert [one.stands for one in standing(job, "cap", Kind.ACCEPTED)] == [True]


def test_a_signature_on_read_and_kit_stands_while_readings_are_typed(job: Record) -> None:
    for station in ("read", "kit", "prove", "touch"):
        sign_off(job, "cap", station, based_on=1, by="Ben")
    revise(job, "cap", {"readings.toml": b"# touched again\n"}, based_on=1, by="Ada")
    stands = {one.entry.subject: one.stands for one in standing(job, "cap", Kind.SIGNED)}
    assert stands == {"read": True, "kit": True, "prove": False, "touch": False}
    revise(job, "cap", {"note.txt": b"anything else"}, based_on=2, by="Ada")
    assert not any(one.stands for one in standing(job, "cap", Kind.SIGNED))


def test_a_signature_stands_when_a_guess_is_found_to_be_true(job: Record) -> None:
    told = job.blobs.get(find_revision(job, "cap").files["job.toml"]).decode()
    guess = '\n[[guess]]\nsetup = "first side"\nwhat = "blank"\nevidence = "default"\n'
    revise(job, "cap", {"job.toml": (told + guess).encode()}, based_on=1, by="Ada")
    for station in ("read", "kit", "prove", "touch"):
        sign_off(job, "cap", station, based_on=2, by="Ben")
    settled = settle_guess(told + guess, setup="first side", what="blank")
    revise(job, "cap", {"job.toml": settled.encode()}, based_on=2, by="Ada")
    assert all(one.stands for one in standing(job, "cap", Kind.SIGNED))
    revise(job, "cap", {"job.toml": settled.replace("parallels = 22", "parallels = 21").encode()}, based_on=3, by="Ada")
    assert not any(one.stands for one in standing(job, "cap", Kind.SIGNED))


def test_an_acceptance_ends_on_its_last_day(job: Record) -> None:
    accept_finding(job, "cap", FINDING, reason="checked", until=SOON, based_on=1, by="Ben")
    assert standing(job, "cap", Kind.ACCEPTED, day=SOON)[0].stands
    after = standing(job, "cap", Kind.ACCEPTED, day=SOON + datetime.timedelta(days=1))[0]
    assert not after.stands
    assert SOON.isoformat() in after.why


@pytest.mark.parametrize(
    ("finding", "reason", "until", "wanted"),
    [
        (FINDING, "  ", SOON, "the reason is missing"),
        (FINDING, "x" * 2001, SOON, "2,000 characters"),
        (FINDING, "fine", TODAY - datetime.timedelta(days=1), "is past"),
        ({"signal": "CAUTION", "text": "x"}, "fine", SOON, 'has no "slug"'),
        ({**FINDING, "setup": "third side"}, "fine", SOON, 'has no setup "third side"'),
    ],
)
def test_an_acceptance_needs_reason_and_a_day_to_come(
    job: Record, finding: dict[str, Any], reason: str, until: datetime.date, wanted: str
) -> None:
    with pytest.raises(InputRefused, match=wanted):
        accept_finding(job, "cap", finding, reason=reason, until=until, based_on=1, by="Ben")
    assert entries(job, "cap") == []


def test_a_finding_is_recognised_by_its_place_not_its_numbers() -> None:
    assert finding_name(FINDING) == finding_name({**FINDING, "value": 1.3, "text": "holder passes the jaw at 1.3 mm"})
    for key, other in (("slug", "other"), ("setup", "x"), ("file", "y"), ("line", 41), ("tool", 2), ("body", "moving jaw")):
        assert finding_name(FINDING) != finding_name({**FINDING, key: other})


def test_ticks_and_sign_offs_can_be_withdrawn_and_stated_again(job: Record) -> None:
    first = tick_check(job, "cap", "tip 50 mm over the top", setup="first side", based_on=1, by="Ada", seen="50.02 mm")
    tick_check(job, "cap", "tip 50 mm over the top", setup="second side", based_on=1, by="Ada")
    sign_off(job, "cap", "touch", setup="first side", based_on=1, by="Lea", role="lead")
    withdraw(job, "cap", first.id, reason="wrong tool", based_on=1, by="Lea")
    assert [one.entry.setup for one in standing(job, "cap", Kind.CHECK)] == ["second side"]
    tick_check(job, "cap", "tip 50 mm over the top", setup="first side", based_on=1, by="Ben")
    ticked = {(one.entry.setup, one.entry.by) for one in standing(job, "cap", Kind.CHECK)}
    assert ticked == {("first side", "Ben"), ("second side", "Ada")}
    assert [(one.entry.subject, one.entry.by, one.stands) for one in standing(job, "cap", Kind.SIGNED)] == [("touch", "Lea", True)]
    assert [one.kind for one in entries(job, "cap")] == [Kind.CHECK, Kind.CHECK, Kind.SIGNED, Kind.WITHDRAWN, Kind.CHECK]
    with pytest.raises(NotThere):
        withdraw(job, "cap", 999, based_on=1, by="Lea")


def test_a_statement_about_an_old_revision_is_refused(job: Record) -> None:
    revise(job, "cap", {"note.txt": b"x"}, based_on=1, by="Ada")
    with pytest.raises(Stale):
        sign_off(job, "cap", "prove", based_on=1, by="Lea")
    with pytest.raises(InputRefused, match="write one of read, kit, prove, touch, hover, piece, run"):
        sign_off(job, "cap", "proof", based_on=2, by="Lea")
    assert entries(job, "cap") == []


def test_what_changed_since_the_job_ran(job: Record, cap: JobFiles) -> None:
    assert since_last_run(job, "cap").ran is None
    state_run(job, "cap", setup="first side", pieces=6, based_on=1, by="Ada")
    document = cap.files["job.toml"].replace(b"stickout = 42", b"stickout = 38", 1)
    assert document != cap.files["job.toml"]
    revise(job, "cap", {"job.toml": document, "cap-2.nc": cap.files["cap-2.nc"].replace(b"M30", b"M02")}, based_on=1, by="Ben")
    said = since_last_run(job, "cap")
    assert said.ran is not None
    assert (said.ran.body["pieces"], said.ran.by, said.newest) == (6, "Ada", 2)
    assert [(one.file, one.before, one.after) for one in said.changes] == [("cap-2.nc", "M30", "M02"), ("job.toml", "42", "38")]
    assert said.changes[1].what.split(" › ")[0] == "setup “first side”"
    assert said.changes[1].what.split(" › ")[2] == "stickout"
    assert changes_between(job, "cap", before=2) == []
    wrong = state_run(job, "cap", pieces=1, based_on=2, by="Ada")
    withdraw(job, "cap", wrong.id, based_on=2, by="Ada")
    assert since_last_run(job, "cap").ran == said.ran


def test_results_are_kept_and_found(job: Record) -> None:
    said = {"revision": 1, "station": "prove", "setup": "", "media_type": "application/json", "inputs": "0" * 64, "by": "Ada"}
    first = keep_artefact(job, "cap", b"{}", name="proof.json", **said)
    revise(job, "cap", {"note.txt": b"x"}, based_on=1, by="Ada")
    late = keep_artefact(job, "cap", b"{ }", name="proof.json", **said)
    assert artefacts(job, "cap", station="prove") == [late, first]
    assert artefacts(job, "cap", revision=2) == []
    assert artefact_bytes(job, find_artefact(job, "cap", first.id)) == b"{}"
    with pytest.raises(NotThere):
        find_artefact(job, "cap", 999)


def test_the_history_tells_everything_in_order(job: Record) -> None:
    remark(job, "cap", "burr on the seat", setup="first side", based_on=1, by="Ada")
    revise(job, "cap", {"note.txt": b"x"}, based_on=1, by="Ben", note="deburr first")
    sign_off(job, "cap", "kit", based_on=2, by="Lea")
    finding = {"slug": "rapid-into-metal", "text": "a rapid meets the blank"}
    made = accept_finding(job, "cap", finding, reason="soft jaws", until=datetime.date(2099, 12, 31), based_on=2, by="Lea")
    withdraw(job, "cap", made.id, reason="they are not", based_on=2, by="Ben")
    state_run(job, "cap", pieces=6, setup="first side", note="slow feed", based_on=2, by="Ada")
    for station, name, media_type in (
        ("prove", "pictures.json", "application/json"), ("prove", "proof.json", "application/json"),
        ("sheet", "sheet.pdf", "application/pdf"), ("sheet", "sheet-1.svg", "image/svg+xml"),
    ):  # fmt: skip
        keep_artefact(job, "cap", b"made", revision=2, station=station, setup="", name=name, media_type=media_type, inputs="0" * 64,
                      by="Lea")  # fmt: skip
    assert [(event.by, event.revision, event.text) for event in history(job, "cap")] == [
        ("Ada", 1, "revision 1"), ("Ada", 1, "remark, setup “first side” (burr on the seat)"),
        ("Ben", 2, "revision 2: deburr first"), ("Lea", 2, "signed off: Kit"),
        ("Lea", 2, "finding accepted: a rapid meets the blank, until 2099-12-31 (soft jaws)"),
        ("Ben", 2, "withdrawn: finding accepted: a rapid meets the blank, until 2099-12-31 (they are not)"),
        ("Ada", 2, "ran: 6 pieces, setup “first side” (slow feed)"), ("Lea", 2, "proved"), ("Lea", 2, "sheet printed"),
    ]  # fmt: skip
