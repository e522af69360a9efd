"""What people state: checks done, findings accepted, stations signed off, runs, remarks; and a job's changes as they happen."""

from __future__ import annotations

import datetime
from typing import Any

from fastapi import APIRouter, Response
from fastapi.responses import StreamingResponse
from pydantic import BaseModel, Field

from setwright.record.entries import (
    Entry,
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
from setwright.record.jobs import find_revision
from setwright.record.people import Role
from setwright.record.refusals import NotThere
from setwright.record.store import Record
from setwright.web.answers import said
from setwright.web.refusals import NotAllowed
from setwright.web.route_card import latest_proof
from setwright.web.routes.common import BasedOn, ChangesOf, JobName, as_it_stands, audited, etag
from setwright.web.signin import Lead, RecordOf, Setter, Still, Viewer, Who
from setwright.web.wire.statements import EntrySaid, Statements

__all__ = [
    "Acceptance", "CheckDone", "RanOnMachine", "Remark", "SignOff", "Withdrawal", "get_events", "get_statements",
    "post_acceptance", "post_check", "post_remark", "post_run", "post_sign_off", "post_withdrawal", "router",
]  # fmt: skip

router = APIRouter(tags=["statements"])


class CheckDone(BaseModel, extra="forbid"):
    """A check of the plan that was done, and what was seen or read."""

    check: str = Field(max_length=500)
    setup: str = ""
    seen: str = Field(default="", max_length=500)


class Acceptance(BaseModel, extra="forbid"):
    """A finding of the newest proof, by its `name`; why it is accepted, and the last day that holds."""

    finding: str = Field(max_length=500)
    reason: str = Field(max_length=2000)
    until: datetime.date


class SignOff(BaseModel, extra="forbid"):
    """A station, for one setup or for all."""

    station: str
    setup: str = ""


class RanOnMachine(BaseModel, extra="forbid"):
    """The job ran as the record has it."""

    pieces: int = Field(ge=0, le=10_000_000)
    setup: str = ""
    note: str = Field(default="", max_length=500)


class Remark(BaseModel, extra="forbid"):
    """Something for whoever comes next."""

    text: str = Field(max_length=2000)
    setup: str = ""


class Withdrawal(BaseModel, extra="forbid"):
    """An entry taken back."""

    entry: int
    reason: str = Field(default="", max_length=500)


@router.get("/api/jobs/{job}/statements", summary="What was stated and stands, or has fallen", response_model=Statements)
def get_statements(record: RecordOf, _who: Viewer, job: JobName) -> Response:
    """What was not withdrawn; `stands` is false where the job has changed since or the day is past."""

    def answer() -> tuple[Any, int]:
        newest = find_revision(record, job)
        lists = {"checks": Kind.CHECK, "accepted": Kind.ACCEPTED, "signed": Kind.SIGNED}
        stated = {name: [one.as_plain() for one in standing(record, job, kind)] for name, kind in lists.items()}
        remarks = [one.as_plain() for one in entries(record, job) if one.kind is Kind.REMARK]
        return stated | {"remarks": remarks}, newest.number

    return as_it_stands(record, job, "statements", answer)


@router.post("/api/jobs/{job}/checks", summary="Tick a check", response_model=EntrySaid, status_code=201)
def post_check(record: RecordOf, who: Setter, job: JobName, based_on: BasedOn, given: CheckDone) -> Response:
    """It stands for the revision that is looked at."""
    made = tick_check(record, job, given.check, setup=given.setup, seen=given.seen, based_on=based_on, by=who.name)
    return _stated(record, who, job, made)


@router.post("/api/jobs/{job}/accepted", summary="Accept a finding", response_model=EntrySaid, status_code=201)
def post_acceptance(record: RecordOf, who: Lead, job: JobName, based_on: BasedOn, given: Acceptance) -> Response:
    """Takes a proof of the newest revision; falls with any change of the job."""
    proof = latest_proof(record, job, revision=based_on)
    found = [] if proof is None else [one for one in proof[1]["findings"] if finding_name(one) == given.finding]
    if not found:
        text = f"no proof of revision {based_on} has that finding" if proof else f"revision {based_on} has not been proved yet"
        raise NotThere.because(text, remedy="prove the job, and accept what the proof says", key="finding")
    made = accept_finding(record, job, found[0], reason=given.reason, until=given.until, based_on=based_on, by=who.name)
    return _stated(record, who, job, made)


@router.post("/api/jobs/{job}/signed", summary="Sign a station off", response_model=EntrySaid, status_code=201)
def post_sign_off(record: RecordOf, who: Lead, job: JobName, based_on: BasedOn, given: SignOff) -> Response:
    """With the name and role of whoever is signed in."""
    made = sign_off(record, job, given.station, setup=given.setup, based_on=based_on, by=who.name, role=who.role.value)
    return _stated(record, who, job, made)


@router.post("/api/jobs/{job}/runs", summary="State that the job ran", response_model=EntrySaid, status_code=201)
def post_run(record: RecordOf, who: Setter, job: JobName, based_on: BasedOn, given: RanOnMachine) -> Response:
    """What changes from here on is shown before it runs again."""
    made = state_run(record, job, setup=given.setup, pieces=given.pieces, note=given.note, based_on=based_on, by=who.name)
    return _stated(record, who, job, made)


@router.post("/api/jobs/{job}/remarks", summary="Leave a remark", response_model=EntrySaid, status_code=201)
def post_remark(record: RecordOf, who: Setter, job: JobName, based_on: BasedOn, given: Remark) -> Response:
    """It stays in the history."""
    return _stated(record, who, job, remark(record, job, given.text, setup=given.setup, based_on=based_on, by=who.name))


@router.post("/api/jobs/{job}/withdrawn", summary="Take a statement back", response_model=EntrySaid, status_code=201)
def post_withdrawal(record: RecordOf, who: Setter, job: JobName, based_on: BasedOn, given: Withdrawal) -> Response:
    """One's own; anybody's takes a lead."""
    own = any(one.id == given.entry and one.by == who.name for one in entries(record, job))
    if not own and not who.role.may(Role.LEAD):
        raise NotAllowed.because("this statement is somebody else's", remedy="ask a lead to take it back")
    return _stated(record, who, job, withdraw(record, job, given.entry, reason=given.reason, based_on=based_on, by=who.name))


def _stated(record: Record, who: Who, job: str, made: Entry) -> Response:
    audited(record, who, made.kind.value, job, entry=made.id, about=made.subject)
    return said(made.as_plain(), status=201, headers=etag(made.revision))


@router.get("/api/jobs/{job}/events", summary="Changes of a job as they happen", response_class=StreamingResponse)
def get_events(record: RecordOf, changes: ChangesOf, _who: Viewer, still: Still, job: JobName) -> StreamingResponse:
    """Server-sent events "changed", each with the newest revision, how many statements and results there are, and `by` whom the
    newest of them all is; the first one at once."""
    find_revision(record, job)
    return StreamingResponse(changes.of(job, still), media_type="text/event-stream")
