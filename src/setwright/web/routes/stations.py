"""The stations that answer at once: Read, Kit, Touch; and the readings that Touch lives from."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, Field

from setwright.record.jobs import find_revision, revise
from setwright.record.readings import ReadingKind
from setwright.record.store import Record
from setwright.web.answers import JSON_TYPE, remembered_answer, said
from setwright.web.columns import COLUMNS_TYPE
from setwright.web.routes.common import (
    MOST_NUMBER,
    BasedOn,
    JobName,
    RevisionNumber,
    SetupName,
    Short,
    ShortOf,
    UnitsName,
    audited,
    etag,
)
from setwright.web.short import (
    kept_readings,
    kit_said,
    path_said,
    read_said,
    readings_changed,
    readings_said,
    touch_said,
    without_readings,
)
from setwright.web.signin import RecordOf, Setter, Viewer, Who
from setwright.web.touching import readings_path, readings_text
from setwright.web.wire.stations import KitAnswer, ReadAnswer, ReadingKept, ReadingsSaid, TouchAnswer

__all__ = [
    "ReadingGiven", "TouchAsked", "delete_reading", "delete_readings", "get_kit", "get_path", "get_read", "get_readings",
    "get_touch", "post_reading", "post_touch", "put_reading", "router",
]  # fmt: skip

router = APIRouter(tags=["stations"])
Number = Annotated[int, Path(ge=1, le=MOST_NUMBER, description="The reading's place in its list, from 1.")]


class ReadingGiven(BaseModel, extra="forbid"):
    """One reading with the keys of readings.toml."""

    reading: dict[str, Any] = Field(min_length=1, max_length=30)


class TouchAsked(BaseModel, extra="forbid"):
    """A touch-off of one setup to solve without keeping anything: the text of a readings.toml (the job's own if not given), with
    one `reading` more in the list `kind`, or in place of its reading `number`."""

    setup: str
    readings: str | None = Field(default=None, max_length=1_000_000)
    kind: ReadingKind = ReadingKind.CONTACT
    reading: dict[str, Any] | None = Field(default=None, min_length=1, max_length=30)
    number: int | None = Field(default=None, ge=1)


@router.get("/api/jobs/{job}/read", summary="Read: what the programs ask for", response_model=ReadAnswer)
def get_read(
    record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None
) -> Response:
    """Tools, offsets, extents, and what is not understood."""
    found = find_revision(record, job, number=number)
    key = ("read", job, found.digest, found.home, setup)
    return remembered_answer(key, lambda: short(read_said, record.blobs, found, setup, near=job), headers=etag(found.number))


@router.get("/api/jobs/{job}/path", summary="The path of a setup's programs, in columns", response_class=Response)
def get_path(
    record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None
) -> Response:
    """Binary: 4 bytes with the length of a JSON head, the head, then its columns; the first setup if none is named."""
    found = find_revision(record, job, number=number)
    data = short(path_said, record.blobs, found, setup, near=job)
    return Response(data, media_type=COLUMNS_TYPE, headers=etag(found.number))


@router.get("/api/jobs/{job}/kit", summary="Kit: does it go together?", response_model=KitAnswer)
def get_kit(
    record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None
) -> Response:
    """Bodies, tools and registers of every setup, with their shapes under `scene`."""
    found = find_revision(record, job, number=number)
    key = ("kit", job, found.digest, found.home, setup)
    return remembered_answer(key, lambda: short(kit_said, record.blobs, found, setup, near=job), headers=etag(found.number))


@router.get("/api/jobs/{job}/touch", summary="Touch: where is the part, really?", response_model=TouchAnswer)
def get_touch(
    record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None,
    units: UnitsName = None,
) -> Response:  # fmt: skip
    """The solution of the readings in the record, as far as they go; lengths in `units`, but for the picture's mm."""
    found = find_revision(record, job, number=number)
    key = ("touch", job, found.digest, found.home, setup, units)

    def answer() -> bytes:
        return short(touch_said, record.blobs, found, None, setup, units, False, near=job)

    return remembered_answer(key, answer, headers=etag(found.number))


@router.post("/api/jobs/{job}/touch", summary="Solve readings without keeping them", response_model=TouchAnswer)
def post_touch(
    record: RecordOf, short: ShortOf, _who: Setter, job: JobName, given: TouchAsked, units: UnitsName = None
) -> Response:
    """What the solution would be with these readings."""
    found = find_revision(record, job)
    text = given.readings
    if given.reading is not None:
        before = readings_text(record.blobs, found) if text is None else text
        text = short(readings_changed, before, given.kind, given.number, given.reading, near=job)
    data = short(touch_said, record.blobs, found, text, given.setup, units, True, near=job)
    return Response(data, media_type=JSON_TYPE, headers=etag(found.number))


@router.get("/api/jobs/{job}/readings", summary="The readings as written", response_model=ReadingsSaid)
def get_readings(record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, number: RevisionNumber = None) -> Response:
    """Both lists in order, and the text they stand in."""
    found = find_revision(record, job, number=number)
    text, lists = short(readings_said, record.blobs, found, near=job)
    return said({"text": text, **_plain(lists)}, headers=etag(found.number))


@router.post("/api/jobs/{job}/readings/{kind}", summary="Add a reading", response_model=ReadingKept, status_code=201)
def post_reading(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, kind: ReadingKind, based_on: BasedOn, given: ReadingGiven
) -> Response:
    """Answers with the solution as it is now, and the revision the reading made."""
    text = short(readings_changed, _text(record, job), kind, None, given.reading, near=job)
    setup = str(given.reading.get("setup") or "")
    return _kept(record, short, who, job, based_on, text, setup, "reading added", status=201)


@router.put("/api/jobs/{job}/readings/{kind}/{number}", summary="Change a reading", response_model=ReadingKept)
def put_reading(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, kind: ReadingKind, number: Number, based_on: BasedOn,
    given: ReadingGiven,
) -> Response:  # fmt: skip
    """Every other byte of the text stays."""
    text = short(readings_changed, _text(record, job), kind, number, given.reading, near=job)
    return _kept(record, short, who, job, based_on, text, str(given.reading.get("setup") or ""), "reading changed")


@router.delete("/api/jobs/{job}/readings", summary="Take all readings of a setup out", response_model=ReadingKept)
def delete_readings(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, based_on: BasedOn, setup: Annotated[str, Query(max_length=200)]
) -> Response:
    """To touch again from the start. They stay in the earlier revisions."""
    text = short(without_readings, _text(record, job), setup, near=job)
    return _kept(record, short, who, job, based_on, text, setup, "all readings taken out")


@router.delete("/api/jobs/{job}/readings/{kind}/{number}", summary="Take a reading out", response_model=ReadingKept)
def delete_reading(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, kind: ReadingKind, number: Number, based_on: BasedOn
) -> Response:
    """It stays in the earlier revisions."""
    before, lists = short(readings_said, record.blobs, find_revision(record, job), near=job)
    held = lists[kind.value]
    setup = str(held[number - 1].get("setup") or "") if number <= len(held) else ""
    text = short(readings_changed, before, kind, number, None, near=job)
    return _kept(record, short, who, job, based_on, text, setup, "reading taken out")


def _text(record: Record, job: str) -> str:
    return readings_text(record.blobs, find_revision(record, job))


def _kept(
    record: Record, short: Short, who: Who, job: str, based_on: int, text: str, setup: str, note: str, *, status: int = 200
) -> Response:
    path = readings_path(find_revision(record, job))
    made = revise(record, job, {path: text.encode()}, based_on=based_on, by=who.name, note=note, read=short.reads)
    audited(record, who, note, job, revision=made.number)
    answer = {"revision": made.as_plain()} | short(kept_readings, record.blobs, made, setup or None, near=job)
    return said(answer, status=status, headers=etag(made.number))


def _plain(value: Any) -> Any:
    """Dates as text."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    return value.isoformat() if hasattr(value, "isoformat") else value
