"""What people state about a revision: a check is done, a finding is accepted, a station is signed off, the job has run.

Entries are only added; a withdrawal is an entry of its own. What a statement was made about is named by a digest: it stands for
exactly that and falls with any change.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import ColumnElement, insert, select

from setwright.base.digest import digest_bytes, digest_document
from setwright.base.errors import InputRefused
from setwright.jobfolder.document import decode
from setwright.jobfolder.load import READINGS_FILE
from setwright.jobfolder.measured import MEASURED_FILE
from setwright.record import jobs
from setwright.record.chain import link
from setwright.record.guesses import JOB_FILE, all_settled
from setwright.record.refusals import NotThere
from setwright.record.schema import entry, job, now
from setwright.record.store import Record

__all__ = [
    "STATIONS", "Entry", "Kind", "Standing", "accept_finding", "entries", "finding_name", "remark", "sign_off", "standing",
    "state_run", "tick_check", "withdraw",
]  # fmt: skip

STATIONS: Final = ("read", "kit", "prove", "touch", "hover", "piece", "run")
_BEFORE_TOUCH: Final = ("read", "kit")
_OF_PIECES: Final = ("piece", "run")
_LONGEST: Final = 2000


class Kind(StrEnum):
    """What is stated. Of two entries on one subject the later one holds; WITHDRAWN takes the earlier one back."""

    CHECK = "check done"
    ACCEPTED = "finding accepted"
    SIGNED = "signed off"
    RAN = "ran"
    REMARK = "remark"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class Entry:
    """One statement. `subject`: the check, the finding's name, the station; `looked_at`: digest of what it was made about."""

    id: int
    revision: int
    kind: Kind
    setup: str
    subject: str
    looked_at: str
    body: Mapping[str, Any]
    by: str
    at: datetime.datetime

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        said = {name: getattr(self, name) for name in ("id", "revision", "setup", "subject", "looked_at", "by")}
        return said | {"kind": self.kind.value, "body": dict(self.body), "at": self.at.isoformat()}


@dataclass(frozen=True, slots=True)
class Standing:
    """A statement that was not withdrawn, and whether it still stands; `why` says why it fell."""

    entry: Entry
    stands: bool
    why: str = ""

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        return self.entry.as_plain() | {"stands": self.stands, "why": self.why}


def finding_name(finding: Mapping[str, Any]) -> str:
    """The name by which a finding (as plain data) is recognised in another result: its check and its place, not its numbers."""
    said = {key: finding.get(key) for key in ("slug", "setup", "file", "line", "tool", "body")}
    return f"{finding.get('slug', '')} {digest_document(said)[:16]}"


def tick_check(record: Record, name: str, check: str, *, setup: str, based_on: int, by: str, seen: str = "") -> Entry:
    """State that a check of the plan was done; `seen`: what was seen or read."""
    return _state(record, name, Kind.CHECK, _said(check, "check"), setup=setup, based_on=based_on, by=by, body={"seen": seen})


def accept_finding(
    record: Record, name: str, finding: Mapping[str, Any], *, reason: str, until: datetime.date, based_on: int, by: str
) -> Entry:
    """Accept a finding (as plain data) of the revision, with a reason and the last day on which that holds."""
    if until < now().date():
        raise InputRefused.because(f"the last day {until.isoformat()} is past", remedy="write a day to come", key="until")
    for key in ("slug", "text"):
        if not isinstance(finding.get(key), str) or not finding[key]:
            raise InputRefused.because(f'the finding has no "{key}"', remedy="give the finding whole, as the station said it",
                                       key=f"finding.{key}")  # fmt: skip
    body = {"reason": _said(reason, "reason"), "until": until.isoformat(), "finding": dict(finding)}
    setup = str(finding.get("setup") or "")
    return _state(record, name, Kind.ACCEPTED, finding_name(finding), setup=setup, based_on=based_on, by=by, body=body)


def sign_off(record: Record, name: str, station: str, *, setup: str = "", based_on: int, by: str, role: str = "") -> Entry:
    """Sign a station of the revision off, for one setup or (setup "") for all."""
    if station not in STATIONS:
        raise InputRefused.because(f'no station is called "{station}"', remedy=f"write one of {', '.join(STATIONS)}", key="station")
    return _state(record, name, Kind.SIGNED, station, setup=setup, based_on=based_on, by=by, body={"role": role})


def state_run(record: Record, name: str, *, setup: str = "", pieces: int, based_on: int, by: str, note: str = "") -> Entry:
    """State that the job ran on the machine as this revision says, and how many pieces were made."""
    if pieces < 0:
        raise InputRefused.because("fewer than no pieces cannot be made", remedy="write 0 or more", key="pieces")
    return _state(record, name, Kind.RAN, "run", setup=setup, based_on=based_on, by=by, body={"pieces": pieces, "note": note})


def remark(record: Record, name: str, text: str, *, setup: str = "", based_on: int, by: str) -> Entry:
    """Leave a remark for whoever comes next."""
    return _state(record, name, Kind.REMARK, "remark", setup=setup, based_on=based_on, by=by, body={"text": _said(text, "text")})


def withdraw(record: Record, name: str, entry_id: int, *, reason: str = "", based_on: int, by: str) -> Entry:
    """Take a statement back; it stays in the history."""
    found = next((one for one in entries(record, name) if one.id == entry_id and one.kind is not Kind.WITHDRAWN), None)
    if found is None:
        raise NotThere.because(f'"{name}" has no entry {entry_id}', remedy="look at its history")
    body = {"entry": entry_id, "kind": found.kind.value, "reason": reason}
    return _state(record, name, Kind.WITHDRAWN, found.subject, setup=found.setup, based_on=based_on, by=by, body=body)


def _said(text: str, key: str) -> str:
    text = text.strip()
    if not text or len(text) > _LONGEST:
        said = f"the {key} is missing" if not text else f"the {key} has more than {_LONGEST:,} characters"
        raise InputRefused.because(said, remedy="write it in a sentence", key=key)
    return text


def _state(
    record: Record, name: str, kind: Kind, subject: str, *, setup: str, based_on: int, by: str, body: dict[str, Any]
) -> Entry:
    """Add an entry on the newest revision; raises Stale if that is not `based_on`."""
    about = jobs.fresh_revision(record, name, based_on=based_on)
    if setup and setup not in jobs.setups_of(record, about):
        known = ", ".join(f'"{one}"' for one in jobs.setups_of(record, about))
        raise InputRefused.because(f'"{name}" has no setup "{setup}"', remedy=f"its setups are {known}", key="setup")
    at = now()
    looked_at = _looked_at(record, about, kind, subject)
    row = {"revision": based_on, "kind": kind.value, "setup": setup, "subject": subject, "looked_at": looked_at, "body": body,
           "by": by, "at": at}  # fmt: skip
    with record.writing() as connection:
        job_id, newest = jobs.locked(connection, name)
        if newest == based_on:
            added = connection.execute(insert(entry).values(job_id=job_id, **row).returning(entry.c.id)).one()
            link(connection, "entry", id=added.id)
            return Entry(added.id, based_on, kind, setup, subject, looked_at, body, by, at)
    raise jobs.stale(jobs.find_revision(record, name), based_on)


def entries(record: Record, name: str) -> list[Entry]:
    """Every statement about a job, the first one first. Raises NotThere."""
    return _entries(record, name, entry.c.id > 0)


def _entries(record: Record, name: str, *which: ColumnElement[bool]) -> list[Entry]:
    jobs.find_revision(record, name)
    columns = [column for column in entry.c if column.name != "job_id"]
    found = select(*columns).join(job, job.c.id == entry.c.job_id).where(job.c.name == name, *which).order_by(entry.c.id)
    with record.reading() as connection:
        rows = connection.execute(found).mappings().all()
    return [Entry(**{**row, "kind": Kind(row["kind"])}) for row in rows]


def standing(record: Record, name: str, kind: Kind, *, day: datetime.date | None = None) -> list[Standing]:
    """The statements of a kind that were not withdrawn: the last one on each subject and setup, and whether it stands on `day`
    (today if not given) for the newest revision."""
    newest = jobs.find_revision(record, name)
    last: dict[tuple[str, str], Entry] = {}
    for one in entries(record, name):
        if one.kind is kind:
            last[one.subject, one.setup] = one
        elif one.kind is Kind.WITHDRAWN and one.body["kind"] == kind.value:
            held = last.get((one.subject, one.setup))
            if held is not None and held.id <= int(one.body["entry"]):
                del last[one.subject, one.setup]
    return [_judged(record, one, newest, day or now().date()) for one in last.values()]


def _looked_at(record: Record, about: jobs.Revision, kind: Kind, subject: str) -> str:
    """The digest of what a statement is made about. A signature: everything in the job but what is marked as a guess, since a guess
    found to be true changes nothing else; for Read and Kit not the readings either, on which they do not rest. Only the signatures
    of Piece and Run are made about what was measured of pieces: nothing else falls when a piece is measured."""
    if kind is not Kind.SIGNED:
        return about.digest_without(MEASURED_FILE)
    left_out = ([] if subject in _OF_PIECES else [MEASURED_FILE]) + ([READINGS_FILE] if subject in _BEFORE_TOUCH else [])
    job_file = about.files.get(about.at_home(JOB_FILE))
    if job_file is None:
        return about.digest
    said = digest_bytes(all_settled(decode(record.blobs.get(job_file), shown=JOB_FILE)).encode())
    return about.digest_without(*left_out, instead={JOB_FILE: said})


def _judged(record: Record, one: Entry, newest: jobs.Revision, day: datetime.date) -> Standing:
    if one.looked_at not in (newest.digest, _looked_at(record, newest, one.kind, one.subject)):
        return Standing(one, stands=False, why=f"it was made about revision {one.revision}; the job has changed since")
    until = one.body.get("until")
    if until and day > datetime.date.fromisoformat(until):
        return Standing(one, stands=False, why=f"it held until {until}")
    return Standing(one, stands=True)
