"""The history of a job in one line of time, and what changed since the job ran last."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from setwright.record import jobs
from setwright.record.artefacts import Artefact, artefacts
from setwright.record.changes import Change, changes
from setwright.record.entries import Entry, Kind, entries
from setwright.record.jobs import Revision
from setwright.record.store import Record

__all__ = ["Event", "LastRun", "changes_between", "history", "last_run", "since_last_run"]

_MADE: Final = {"proof.json": "proved", "hover.json": "slips followed", "suppose.json": "a supposition followed"}
"""What it means that one of these was made."""

_PARTS: Final = ("pictures.json",)
"""What is made together with something else and is no event of its own."""


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened: when, by whom, on which revision, in a sentence; `what` is "revision", "entry" or "result"."""

    at: datetime.datetime
    by: str
    revision: int
    what: str
    text: str
    detail: dict[str, Any]

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        names = ("by", "revision", "what", "text", "detail")
        return {"at": self.at.isoformat()} | {name: getattr(self, name) for name in names}


@dataclass(frozen=True, slots=True)
class LastRun:
    """The last run (None: the job never ran) and everything that changed since, newest revision against that one."""

    ran: Entry | None
    newest: int
    changes: tuple[Change, ...]

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        return {"ran": self.ran.as_plain() if self.ran else None, "newest": self.newest,
                "changes": [change.as_plain() for change in self.changes]}  # fmt: skip


def history(record: Record, name: str) -> list[Event]:
    """Everything that happened to a job, the first thing first. Raises NotThere."""
    found = [_of_revision(one) for one in jobs.revisions(record, name)]
    stated = entries(record, name)
    found += [_of_entry(one, {other.id: other for other in stated}) for one in stated]
    found += [_of_artefact(one) for one in reversed(artefacts(record, name)) if one.name not in _PARTS and not _is_page(one)]
    return sorted(found, key=lambda event: event.at)


def _of_revision(one: Revision) -> Event:
    text = f"revision {one.number}" + (f": {one.note}" if one.note else "")
    return Event(one.at, one.by, one.number, "revision", text, {"digest": one.digest, "document": one.document})


def _of_entry(one: Entry, others: Mapping[int, Entry]) -> Event:
    taken_back = others.get(int(one.body["entry"])) if one.kind is Kind.WITHDRAWN else None
    text = f"{one.kind.value}: {_stated(taken_back)}" if taken_back else _stated(one)
    said = one.body.get("reason") or one.body.get("text") or one.body.get("seen") or one.body.get("note") or ""
    return Event(one.at, one.by, one.revision, "entry", text + (f" ({said})" if said else ""), one.as_plain())


def _stated(one: Entry) -> str:
    """A statement in words: what it is about, and of which setup."""
    about = {
        Kind.CHECK: one.subject, Kind.SIGNED: one.subject.capitalize(), Kind.RAN: _pieces(one),
        Kind.ACCEPTED: f"{one.body.get('finding', {}).get('text') or one.subject}, until {one.body.get('until', '')}",
    }.get(one.kind, "")  # fmt: skip
    return one.kind.value + (f": {about}" if about else "") + (f", setup “{one.setup}”" if one.setup else "")


def _pieces(one: Entry) -> str:
    made = int(one.body.get("pieces") or 0)
    return "1 piece" if made == 1 else f"{made:,} pieces"


def _of_artefact(one: Artefact) -> Event:
    made = "sheet printed" if one.station == "sheet" else _MADE.get(one.name, f"{one.station}: {one.name}")
    return Event(one.at, one.by, one.revision, "result", made + (f", setup “{one.setup}”" if one.setup else ""), one.as_plain())


def _is_page(one: Artefact) -> bool:
    """Whether it is the picture of a sheet's page, which stands there as a PDF already."""
    return one.station == "sheet" and one.media_type == "image/svg+xml"


def changes_between(record: Record, name: str, *, before: int, after: int | None = None) -> list[Change]:
    """What changed from one revision to another (the newest if not given). Raises NotThere."""
    old = jobs.revision_files(record, jobs.find_revision(record, name, number=before))
    new = jobs.revision_files(record, jobs.find_revision(record, name, number=after))
    return changes(old.files, new.files)


def last_run(record: Record, name: str) -> Entry | None:
    """The last time the job ran and was not withdrawn; None if it never ran."""
    stated = entries(record, name)
    withdrawn = {int(one.body["entry"]) for one in stated if one.kind is Kind.WITHDRAWN}
    return next((one for one in reversed(stated) if one.kind is Kind.RAN and one.id not in withdrawn), None)


def since_last_run(record: Record, name: str) -> LastRun:
    """The last time the job ran and was not withdrawn, and what changed since. Raises NotThere."""
    newest = jobs.find_revision(record, name)
    ran = last_run(record, name)
    if ran is None:
        return LastRun(None, newest.number, ())
    return LastRun(ran, newest.number, tuple(changes_between(record, name, before=ran.revision)))
