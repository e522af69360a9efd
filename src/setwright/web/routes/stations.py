"""The stations that answer at once: Read, Kit, Touch; and the readings that Touch lives from."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, Field

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import JobFolder, setup_numbered
from setwright.kit.findings import kit_findings
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.answer import document, refusal_findings
from setwright.prove.reading import read_setup
from setwright.read.station import Reading
from setwright.record.jobs import Revision, find_revision, job_folder, revise
from setwright.record.readings import ReadingKind, add_reading, change_reading, readings_in, remove_reading
from setwright.record.store import Record
from setwright.web.answers import remembered_answer, said
from setwright.web.columns import COLUMNS_TYPE, path_columns
from setwright.web.remembered import remembered
from setwright.web.routes.common import BasedOn, JobName, RevisionNumber, SetupName, UnitsName, audited, etag
from setwright.web.scene import kit_scene
from setwright.web.signin import RecordOf, Setter, Viewer, Who
from setwright.web.touching import plan_of, readings_path, readings_text, touch_document
from setwright.web.wire.stations import KitAnswer, ReadAnswer, ReadingKept, ReadingsSaid, TouchAnswer

__all__ = [
    "ReadingGiven", "TouchAsked", "delete_reading", "delete_readings", "get_kit", "get_path", "get_read", "get_readings",
    "get_touch", "post_reading", "post_touch", "put_reading", "router",
]  # fmt: skip

router = APIRouter(tags=["stations"])
Number = Annotated[int, Path(ge=1, description="The reading's place in its list, from 1.")]


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
def get_read(record: RecordOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None) -> Response:
    """Tools, offsets, extents, and what is not understood."""
    found = find_revision(record, job, number=number)

    def answer() -> dict[str, Any]:
        readings = [(one.setup.name, _reading(found, one)) for one in _kits(job_folder(record, found), setup)]
        documents = [{"setup": name, **reading.as_plain()} for name, reading in readings]
        problems = [problem for _, reading in readings for problem in reading.problems]
        findings = [*(finding for _, reading in readings for finding in reading.findings), *refusal_findings(problems)]
        body = {**({"refused": True} if problems else {}), **documents[0], "setups": documents}
        return document("read", body, job=job, findings=findings)

    return remembered_answer(("read", job, found.digest, found.home, setup), answer, headers=etag(found.number))


@router.get("/api/jobs/{job}/path", summary="The path of a setup's programs, in columns", response_class=Response)
def get_path(record: RecordOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None) -> Response:
    """Binary: 4 bytes with the length of a JSON head, the head, then its columns; the first setup if none is named."""
    found, read_job = _opened(record, job, number)
    reading = _reading(found, _kits(read_job, setup)[0])
    return Response(path_columns(reading), media_type=COLUMNS_TYPE, headers=etag(found.number))


@router.get("/api/jobs/{job}/kit", summary="Kit: does it go together?", response_model=KitAnswer)
def get_kit(record: RecordOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None) -> Response:
    """Bodies, tools and registers of every setup, with their shapes under `scene`."""
    found = find_revision(record, job, number=number)

    def answer() -> dict[str, Any]:
        kits = _kits(job_folder(record, found), setup)
        findings = [finding for one in kits for finding in kit_findings(one)]
        return document("kit", {"setups": [kit_scene(one) for one in kits]}, job=job, findings=findings)

    return remembered_answer(("kit", job, found.digest, found.home, setup), answer, headers=etag(found.number))


@router.get("/api/jobs/{job}/touch", summary="Touch: where is the part, really?", response_model=TouchAnswer)
def get_touch(
    record: RecordOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None, units: UnitsName = None
) -> Response:
    """The solution of the readings in the record, as far as they go; lengths in `units`, but for the picture's mm."""
    found = find_revision(record, job, number=number)
    key = ("touch", job, found.digest, found.home, setup, units)

    def answer() -> dict[str, Any]:
        return touch_document(record, found, readings_text(record, found), setup, job, units)

    return remembered_answer(key, answer, headers=etag(found.number))


@router.post("/api/jobs/{job}/touch", summary="Solve readings without keeping them", response_model=TouchAnswer)
def post_touch(record: RecordOf, _who: Setter, job: JobName, given: TouchAsked, units: UnitsName = None) -> Response:
    """What the solution would be with these readings."""
    found = find_revision(record, job)
    text = readings_text(record, found) if given.readings is None else given.readings
    if given.reading is not None and given.number is None:
        text = add_reading(text, given.kind, given.reading)
    elif given.reading is not None and given.number is not None:
        text = change_reading(text, given.kind, given.number, given.reading)
    return said(touch_document(record, found, text, given.setup, job, units, whole=True), headers=etag(found.number))


@router.get("/api/jobs/{job}/readings", summary="The readings as written", response_model=ReadingsSaid)
def get_readings(record: RecordOf, _who: Viewer, job: JobName, number: RevisionNumber = None) -> Response:
    """Both lists in order, and the text they stand in."""
    found = find_revision(record, job, number=number)
    text = readings_text(record, found)
    lists = {kind.value: readings_in(text, kind) for kind in ReadingKind}
    return said({"text": text, **_plain(lists)}, headers=etag(found.number))


@router.post("/api/jobs/{job}/readings/{kind}", summary="Add a reading", response_model=ReadingKept, status_code=201)
def post_reading(
    record: RecordOf, who: Setter, job: JobName, kind: ReadingKind, based_on: BasedOn, given: ReadingGiven
) -> Response:
    """Answers with the solution as it is now, and the revision the reading made."""
    text = add_reading(readings_text(record, find_revision(record, job)), kind, given.reading)
    return _kept(record, who, job, based_on, text, str(given.reading.get("setup") or ""), "reading added", status=201)


@router.put("/api/jobs/{job}/readings/{kind}/{number}", summary="Change a reading", response_model=ReadingKept)
def put_reading(
    record: RecordOf, who: Setter, job: JobName, kind: ReadingKind, number: Number, based_on: BasedOn, given: ReadingGiven
) -> Response:
    """Every other byte of the text stays."""
    text = change_reading(readings_text(record, find_revision(record, job)), kind, number, given.reading)
    return _kept(record, who, job, based_on, text, str(given.reading.get("setup") or ""), "reading changed")


@router.delete("/api/jobs/{job}/readings", summary="Take all readings of a setup out", response_model=ReadingKept)
def delete_readings(
    record: RecordOf, who: Setter, job: JobName, based_on: BasedOn, setup: Annotated[str, Query(max_length=200)]
) -> Response:
    """To touch again from the start. They stay in the earlier revisions."""
    text = readings_text(record, find_revision(record, job))
    for kind in ReadingKind:
        numbered = list(enumerate(readings_in(text, kind), start=1))
        for number, reading in reversed(numbered):  # from the last, so that the numbers of the others stay
            text = remove_reading(text, kind, number) if reading.get("setup") == setup else text
    return _kept(record, who, job, based_on, text, setup, "all readings taken out")


@router.delete("/api/jobs/{job}/readings/{kind}/{number}", summary="Take a reading out", response_model=ReadingKept)
def delete_reading(record: RecordOf, who: Setter, job: JobName, kind: ReadingKind, number: Number, based_on: BasedOn) -> Response:
    """It stays in the earlier revisions."""
    text = readings_text(record, find_revision(record, job))
    held = readings_in(text, kind)
    setup = str(held[number - 1].get("setup") or "") if number <= len(held) else ""
    return _kept(record, who, job, based_on, remove_reading(text, kind, number), setup, "reading taken out")


def _kept(record: Record, who: Who, job: str, based_on: int, text: str, setup: str, note: str, *, status: int = 200) -> Response:
    path = readings_path(find_revision(record, job))
    made = revise(record, job, {path: text.encode()}, based_on=based_on, by=who.name, note=note)
    audited(record, who, note, job, revision=made.number)
    answer: dict[str, Any] = {"revision": made.as_plain(), "touch": None, "plan": [], "undecided": []}
    try:
        answer["plan"] = plan_of(record, made, text, setup or None)
        answer["touch"] = touch_document(record, made, text, setup or None, job, whole=True)
    except InputRefused as refusal:  # the reading is kept; the solution needs more
        answer["undecided"] = [finding.as_plain() for finding in refusal_findings(refusal.problems)]
    return said(answer, status=status, headers=etag(made.number))


def _opened(record: Record, job: str, number: int | None) -> tuple[Revision, JobFolder]:
    found = find_revision(record, job, number=number)
    return found, job_folder(record, found)


def _kits(read_job: JobFolder, setup: str | None) -> list[Kit]:
    return [kit(read_job, one) for one in setup_numbered(read_job.job, setup)]


def _reading(revision: Revision, together: Kit) -> Reading:
    """A setup's programs as they were read for whoever asks: the page asks for the answer and for the path at once."""
    key = ("reading", revision.job, revision.digest, revision.home, together.setup.name)
    return remembered(key, lambda: read_setup(together, nominal_truth(together)), size=_path_size)


def _path_size(reading: Reading) -> int:
    """Bytes of the path, which is nearly all there is."""
    path = reading.interpreted.path
    return sum(column.nbytes for column in (path.start, path.end, path.kind, path.feed, path.line, path.file, path.state))


def _plain(value: Any) -> Any:
    """Dates as text."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    return value.isoformat() if hasattr(value, "isoformat") else value
