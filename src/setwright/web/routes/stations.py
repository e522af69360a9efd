"""The stations that answer at once: Read, Kit, Touch; and the readings that Touch lives from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, Field

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused
from setwright.jobfolder.document import decode
from setwright.jobfolder.load import READINGS_FILE, JobFolder, setup_numbered, with_readings
from setwright.kit.findings import kit_findings
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.answer import document, refusal_findings
from setwright.model.finding import Finding
from setwright.prove.reading import read_setup
from setwright.read.station import Reading
from setwright.record import folder
from setwright.record.jobs import Revision, find_revision, job_folder, revise
from setwright.record.readings import ReadingKind, add_reading, change_reading, readings_in, remove_reading
from setwright.record.store import Record
from setwright.sheet.picture import touch_picture
from setwright.touch.sentence import sentence
from setwright.touch.station import Wanted, touch
from setwright.touch.untouched import is_untouched, untouched_plain, untouched_sentence
from setwright.web.answers import remembered_answer, said
from setwright.web.columns import COLUMNS_TYPE, path_columns
from setwright.web.remembered import remembered
from setwright.web.routes.common import BasedOn, JobName, RevisionNumber, SetupName, UnitsName, audited, etag
from setwright.web.scene import kit_scene
from setwright.web.signin import RecordOf, Setter, Viewer, Who
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
        readings = [(one.setup.name, _reading(one)) for one in _kits(job_folder(record, found), setup)]
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
    reading = _reading(_kits(read_job, setup)[0])
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
        return _touched(record, found, _readings_text(record, found), setup, job, units)

    return remembered_answer(key, answer, headers=etag(found.number))


@router.post("/api/jobs/{job}/touch", summary="Solve readings without keeping them", response_model=TouchAnswer)
def post_touch(record: RecordOf, _who: Setter, job: JobName, given: TouchAsked, units: UnitsName = None) -> Response:
    """What the solution would be with these readings."""
    found = find_revision(record, job)
    text = _readings_text(record, found) if given.readings is None else given.readings
    if given.reading is not None and given.number is None:
        text = add_reading(text, given.kind, given.reading)
    elif given.reading is not None and given.number is not None:
        text = change_reading(text, given.kind, given.number, given.reading)
    return said(_touched(record, found, text, given.setup, job, units, whole=True), headers=etag(found.number))


@router.get("/api/jobs/{job}/readings", summary="The readings as written", response_model=ReadingsSaid)
def get_readings(record: RecordOf, _who: Viewer, job: JobName, number: RevisionNumber = None) -> Response:
    """Both lists in order, and the text they stand in."""
    found = find_revision(record, job, number=number)
    text = _readings_text(record, found)
    lists = {kind.value: readings_in(text, kind) for kind in ReadingKind}
    return said({"text": text, **_plain(lists)}, headers=etag(found.number))


@router.post("/api/jobs/{job}/readings/{kind}", summary="Add a reading", response_model=ReadingKept, status_code=201)
def post_reading(
    record: RecordOf, who: Setter, job: JobName, kind: ReadingKind, based_on: BasedOn, given: ReadingGiven
) -> Response:
    """Answers with the solution as it is now, and the revision the reading made."""
    text = add_reading(_readings_text(record, find_revision(record, job)), kind, given.reading)
    return _kept(record, who, job, based_on, text, str(given.reading.get("setup") or ""), "reading added", status=201)


@router.put("/api/jobs/{job}/readings/{kind}/{number}", summary="Change a reading", response_model=ReadingKept)
def put_reading(
    record: RecordOf, who: Setter, job: JobName, kind: ReadingKind, number: Number, based_on: BasedOn, given: ReadingGiven
) -> Response:
    """Every other byte of the text stays."""
    text = change_reading(_readings_text(record, find_revision(record, job)), kind, number, given.reading)
    return _kept(record, who, job, based_on, text, str(given.reading.get("setup") or ""), "reading changed")


@router.delete("/api/jobs/{job}/readings", summary="Take all readings of a setup out", response_model=ReadingKept)
def delete_readings(
    record: RecordOf, who: Setter, job: JobName, based_on: BasedOn, setup: Annotated[str, Query(max_length=200)]
) -> Response:
    """To touch again from the start. They stay in the earlier revisions."""
    text = _readings_text(record, find_revision(record, job))
    for kind in ReadingKind:
        numbered = list(enumerate(readings_in(text, kind), start=1))
        for number, reading in reversed(numbered):  # from the last, so that the numbers of the others stay
            text = remove_reading(text, kind, number) if reading.get("setup") == setup else text
    return _kept(record, who, job, based_on, text, setup, "all readings taken out")


@router.delete("/api/jobs/{job}/readings/{kind}/{number}", summary="Take a reading out", response_model=ReadingKept)
def delete_reading(record: RecordOf, who: Setter, job: JobName, kind: ReadingKind, number: Number, based_on: BasedOn) -> Response:
    """It stays in the earlier revisions."""
    text = _readings_text(record, find_revision(record, job))
    held = readings_in(text, kind)
    setup = str(held[number - 1].get("setup") or "") if number <= len(held) else ""
    return _kept(record, who, job, based_on, remove_reading(text, kind, number), setup, "reading taken out")


def _kept(record: Record, who: Who, job: str, based_on: int, text: str, setup: str, note: str, *, status: int = 200) -> Response:
    path = _readings_path(find_revision(record, job))
    made = revise(record, job, {path: text.encode()}, based_on=based_on, by=who.name, note=note)
    audited(record, who, note, job, revision=made.number)
    answer: dict[str, Any] = {"revision": made.as_plain(), "touch": None, "undecided": []}
    try:
        answer["touch"] = _touched(record, made, text, setup or None, job, whole=True)
    except InputRefused as refusal:  # the reading is kept; the solution needs more
        answer["undecided"] = [finding.as_plain() for finding in refusal_findings(refusal.problems)]
    return said(answer, status=status, headers=etag(made.number))


def _opened(record: Record, job: str, number: int | None) -> tuple[Revision, JobFolder]:
    found = find_revision(record, job, number=number)
    return found, job_folder(record, found)


def _kits(read_job: JobFolder, setup: str | None) -> list[Kit]:
    return [kit(read_job, one) for one in setup_numbered(read_job.job, setup)]


def _reading(together: Kit) -> Reading:
    return read_setup(together, nominal_truth(together))


def _touched(
    record: Record, found: Revision, text: str, setup: str | None, job: str, wanted_units: str | None = None, *, whole: bool = False
) -> dict[str, Any]:
    """The solution with the readings in `text`; everything else is put together once for all readings. Before anything is
    touched it says what there is to touch; readings that cannot be solved are told, or (with `whole`) refused."""
    together = _together(record, found)
    read_job = with_readings(together.folder, text)
    units = wanted_units or ("inch" if read_job.job.units == "in" else "mm")
    measured = {contact.setup for contact in read_job.job.readings.contact}
    setups = [one for one in setup_numbered(read_job.job, setup) if setup is not None or one.name in measured or not measured]
    answers = [_touch_of(replace(together.kit(one.name), folder=read_job), units, whole=whole) for one in setups]
    documents = [document for document, _, _ in answers]
    findings = [finding for _, said, _ in answers for finding in said]
    refused: dict[str, Any] = {"refused": True} if any(stopped for _, _, stopped in answers) else {}
    return document("touch", {**refused, **documents[0], "setups": documents}, job=job, units=units, findings=findings)


def _touch_of(together: Kit, units: str, *, whole: bool) -> tuple[dict[str, Any], list[Finding], bool]:
    """One setup: its document, what is found, and whether its readings cannot be solved."""
    named: dict[str, Any] = {"setup": together.setup.name}
    if is_untouched(together, together.folder.job.readings):
        picture = touch_picture(together, None)
        return named | untouched_plain() | {"answer": untouched_sentence(together), "picture": picture}, [], False
    try:
        result = touch(together, wanted=Wanted.AS_FAR, units=units)
    except InputRefused as refusal:
        if whole:
            raise
        said = "These readings cannot be solved together."
        return (
            named | untouched_plain() | {"answer": said, "picture": touch_picture(together, None)},
            refusal_findings(refusal.problems),
            True,
        )
    picture = touch_picture(together, result)
    return named | result.as_plain(units) | {"answer": sentence(result, units), "picture": picture}, list(result.findings), False


@dataclass(frozen=True, slots=True)
class _Together:
    """A revision without its readings: the job, and its setups put together as they are asked for."""

    key: str
    folder: JobFolder

    def kit(self, setup: str) -> Kit:
        return remembered(("kit", self.key, setup), lambda: kit(self.folder, self.folder.job.setup_named(setup)))


def _together(record: Record, found: Revision) -> _Together:
    others = {path: digest for path, digest in found.files.items() if path != _readings_path(found)}
    key = digest_document({"home": found.home, "files": others, "job": found.job})

    def opened() -> JobFolder:
        files = {path: record.blobs.get(digest) for path, digest in others.items()}
        return folder.opened(files, home=found.home, name=PurePosixPath(found.home).name or found.job)

    return _Together(key, remembered(("folder", key), opened, size=_bytes_of))


def _bytes_of(read_job: JobFolder) -> int:
    return sum(map(len, (*read_job.sources.values(), *read_job.meshes.values())))


def _readings_path(revision: Revision) -> str:
    return f"{revision.home}/{READINGS_FILE}" if revision.home else READINGS_FILE


def _readings_text(record: Record, revision: Revision) -> str:
    digest = revision.files.get(_readings_path(revision))
    return "" if digest is None else decode(record.blobs.get(digest), shown=READINGS_FILE)


def _plain(value: Any) -> Any:
    """Dates as text."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    return value.isoformat() if hasattr(value, "isoformat") else value
