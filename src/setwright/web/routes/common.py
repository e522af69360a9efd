"""What several addresses share: which revision a request speaks of, and how an answer says which one it is."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import Annotated, Any, Final, TypeVar

from anyio import from_thread
from fastapi import Depends, Header, Path, Query, Request, Response

from setwright.base.errors import InputRefused
from setwright.record.blobs import Blobs
from setwright.record.folder import JobFiles
from setwright.record.jobs import Revision, find_revision
from setwright.record.merge import Choice, Joined, join
from setwright.record.people import note_audit
from setwright.record.schema import now
from setwright.record.stamp import stamp_of
from setwright.record.store import Record
from setwright.web.answers import JSON_TYPE, encoded
from setwright.web.bench import Bench
from setwright.web.bounded import Bounded
from setwright.web.changes import Changes
from setwright.web.refusals import NoRevisionNamed
from setwright.web.remembered import Packed, remembered
from setwright.web.short import setups_said, title_said
from setwright.web.signin import Who
from setwright.web.workers import Workers

__all__ = [
    "MOST_NUMBER", "BasedOn", "BenchOf", "ChangesOf", "JobName", "RevisionNumber", "SetupName", "Short", "ShortOf", "UnitsName",
    "WorkersOf", "as_it_stands", "audited", "etag", "revision_plain", "setups_named",
]  # fmt: skip

Value = TypeVar("Value")
_ETAG: Final = re.compile(r'"?(\d{1,9})"?')

MOST_NUMBER: Final = 2_000_000_000
"""The greatest number that a revision, a result or a reading can have."""

JobName = Annotated[str, Path(description="The job's name.", max_length=100)]
RevisionNumber = Annotated[
    int | None, Query(alias="revision", ge=1, le=MOST_NUMBER, description="A revision; the newest if not given.")
]
UnitsName = Annotated[str | None, Query(alias="units", pattern="^(mm|inch)$", description="mm, inch; the job's own if not given.")]
SetupName = Annotated[str | None, Query(alias="setup", description="One setup of the job; all if not given.")]


def _workers(request: Request) -> Workers:
    workers: Workers = request.app.state.workers
    return workers


WorkersOf = Annotated[Workers, Depends(_workers)]


def _bench(request: Request) -> Bench:
    bench: Bench = request.app.state.bench
    return bench


BenchOf = Annotated[Bench, Depends(_bench)]


class Short:
    """Short work for one request: done in another process, and no longer than whoever asked waits for it."""

    def __init__(self, request: Request) -> None:
        self._request = request
        self._bounded: Bounded = request.app.state.bounded

    def __call__(self, function: Callable[..., Value], *arguments: Any, near: str = "") -> Value:
        """What a function of `web.short` gives; `near`: the job it is about."""
        return self._bounded.call(function, *arguments, near=near, gone=self._gone)

    def reads(self, given: JobFiles, name: str) -> tuple[str, str]:
        """Title and digest of a job's document, of files that are to be kept. Raises InputRefused for what is no job."""
        return self(title_said, given.files, given.home, name, near=name)

    def joins(
        self, blobs: Blobs, base: Revision, changed: Mapping[str, bytes | None], newest: Revision, choices: Sequence[Choice]
    ) -> Joined:
        """A change put together with those of others."""
        return self(join, blobs, base, changed, newest, choices, near=newest.job)

    def _gone(self) -> bool:
        return from_thread.run(self._request.is_disconnected)


ShortOf = Annotated[Short, Depends(Short)]


def setups_named(record: Record, short: Short, found: Revision) -> list[str]:
    """The names of a revision's setups."""
    key = ("setups", found.digest, found.home)
    return remembered(key, lambda: short(setups_said, record.blobs, found, near=found.job), size=lambda names: sum(map(len, names)))


def _changes(request: Request) -> Changes:
    changes: Changes = request.app.state.changes
    return changes


ChangesOf = Annotated[Changes, Depends(_changes)]


def _based_on(
    if_match: Annotated[str | None, Header(description='The revision the change was made from, as the ETag gave it: "7".')] = None,
) -> int:
    if if_match is None:
        raise NoRevisionNamed.because("the request does not say which revision the change was made from",
                                      remedy="send the ETag of what was read as If-Match")  # fmt: skip
    found = _ETAG.fullmatch(if_match.strip())
    if found is None:
        raise InputRefused.because(f"If-Match: {if_match[:40]} is no revision", remedy='write the ETag that was read, such as "7"')
    return int(found[1])


BasedOn = Annotated[int, Depends(_based_on)]


def etag(number: int) -> dict[str, str]:
    """The header that names a revision."""
    return {"ETag": f'"{number}"'}


def revision_plain(record: Record, name: str, number: int | None = None) -> tuple[Revision, dict[str, Any]]:
    """A revision and its plain data."""
    found = find_revision(record, name, number=number)
    return found, found.as_plain()


def as_it_stands(record: Record, job: str, what: Hashable, make: Callable[[], tuple[Any, int]]) -> Response:
    """A JSON answer that follows from all the record has about a job, today: worked out once until something is added.

    `what`: which answer; `make` gives it, and the revision its ETag names.
    """

    def packed() -> Packed:
        value, number = make()
        return Packed(encoded(value), etag(number))

    key = (what, stamp_of(record, job), now().date())
    found = remembered(key, packed, size=lambda made: made.size, question=(what, job))
    return Response(found.data, media_type=JSON_TYPE, headers=dict(found.headers))


def audited(record: Record, who: Who, action: str, subject: str, **detail: Any) -> None:
    """Note who changed what."""
    note_audit(record, action, by=who.name, subject=subject, address=who.address, detail=detail)
