"""Jobs: the list, a new one from nothing but programs, a whole folder in and out, files changed one by one or together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Body, File, Form, Query, Response, UploadFile
from pydantic import BaseModel, Field

from setwright.jobfolder.document import decode
from setwright.record.folder import JobFiles, check_path
from setwright.record.history import history, last_run
from setwright.record.jobs import Revision, add_job, find_revision, job_name, jobs, jobs_page, revise, revision_files, revisions
from setwright.record.merge import Choice, save
from setwright.record.refusals import NotThere
from setwright.record.store import Record
from setwright.web.answers import encoded, said
from setwright.web.archive import ZIP_TYPE, packed, unpacked
from setwright.web.calculating import ask
from setwright.web.remembered import remembered
from setwright.web.route_card import known_influences, route_card
from setwright.web.routes.common import (
    MOST_NUMBER,
    BasedOn,
    BenchOf,
    JobName,
    RevisionNumber,
    Short,
    ShortOf,
    WorkersOf,
    as_it_stands,
    audited,
    etag,
    revision_plain,
    setups_named,
)
from setwright.web.short import CardWords, card_words, changes_said, document_said, drafted, settled_text
from setwright.web.signin import RecordOf, Setter, Viewer, Who
from setwright.web.wire.jobs import Changes, Drafted, History, Jobs, JobSaid, Revised, Revisions, SinceLastRun

__all__ = [
    "Chosen", "FileChanges", "GuessSettled", "delete_file", "get_changes", "get_file", "get_folder", "get_history", "get_job",
    "get_jobs", "get_revisions", "get_since_last_run", "patch_job", "post_import", "post_jobs", "post_settled",
    "put_file", "router",
]  # fmt: skip

router = APIRouter(tags=["jobs"])
_LONGEST_NOTE: Final = 500
_ON_A_PAGE: Final = 50
_MOST_PAGES: Final = 1_000_000
_PARSED: Final = 10  # bytes that plain data takes for each byte of its text, at most
Note = Annotated[str, Query(max_length=_LONGEST_NOTE)]
FilePath = Annotated[str, Query(alias="path", max_length=400, description="The file's path in the job's folder.")]


class Chosen(BaseModel, extra="forbid"):
    """How a clash is settled: `file` and `what` as the refusal named it, `theirs` as it was shown, which of the two to `take`."""

    file: str = Field(max_length=400)
    what: str = Field(max_length=2000)
    theirs: str | None = Field(max_length=2_000_000)
    take: Literal["yours", "theirs"]


class FileChanges(BaseModel, extra="forbid"):
    """Texts of several files changed together; null takes a file out. `chosen` settles what clashes with other people's changes."""

    files: dict[str, str | None] = Field(min_length=1, max_length=500)
    note: str = Field(default="", max_length=500)
    chosen: list[Chosen] = Field(default=[], max_length=2000)


class GuessSettled(BaseModel, extra="forbid"):
    """A guess of the job's document, by its `setup` and `what`."""

    setup: str = Field(max_length=200)
    what: str = Field(max_length=2000)


@router.get("/api/jobs", summary="The jobs, the one changed last first, in pages", response_model=Jobs)
def get_jobs(
    record: RecordOf, _who: Viewer,
    page: Annotated[int, Query(ge=1, le=_MOST_PAGES, description="The page, from 1.")] = 1,
    find: Annotated[str, Query(max_length=100, description="Only jobs with this in name or title.")] = "",
) -> Response:  # fmt: skip
    """Fifty on a page: name, title, newest revision, and who changed it last. `next` is the number of the next page, if there is
    one."""
    lines, many = jobs_page(record, page=page, size=_ON_A_PAGE, find=find)
    pages = max(1, -(-many // _ON_A_PAGE))
    plain = [{"name": one.name, "title": one.title, "revision": one.head, "by": one.by, "at": one.at.isoformat()} for one in lines]
    return said({"jobs": plain, "page": page, "pages": pages, "in_all": many, "next": page + 1 if page < pages else None})


@router.post("/api/jobs", summary="A new job from programs", response_model=Drafted, status_code=201)
def post_jobs(
    record: RecordOf, workers: WorkersOf, bench: BenchOf, short: ShortOf, who: Setter,
    programs: Annotated[list[UploadFile], File(description="Part programs as they are on the machine.")],
    name: Annotated[str, Form(description="The job's name; made from the first program's if not given.")] = "",
) -> Response:  # fmt: skip
    """Drafts everything the programs do not say, each guess marked, and starts a proof of it without another question."""
    sources = []
    for program in programs:
        file_name = (program.filename or "").replace("\\", "/").rpartition("/")[2]
        check_path(file_name)
        sources.append((file_name, program.file.read()))
    job = short(drafted, sources)
    first = sources[0][0]
    wanted = name or _free_name(record, job_name(first.rpartition(".")[0] or first))
    note = _shortened("drafted from " + ", ".join(source for source, _ in sources))
    made = add_job(record, JobFiles(job.files), name=wanted, by=who.name, note=note, read=short.reads)
    audited(record, who, "job added", made.job, revision=1)
    proof = ask(record, workers, bench, made, station="prove", setup="", options={}, by=who.name,
                setups=setups_named(record, short, made))  # fmt: skip
    answer = {"revision": made.as_plain(), "guesses": job.guesses, "calculation": proof.as_plain()}
    return said(answer, status=201, headers={"Location": f"/api/jobs/{made.job}", **etag(1)})


def _shortened(note: str) -> str:
    return note if len(note) <= _LONGEST_NOTE else note[: _LONGEST_NOTE - 1] + "…"


def _free_name(record: Record, name: str) -> str:
    taken = {line.name for line in jobs(record)}
    return next(one for one in (name, *(f"{name[:75]}-{n}" for n in range(2, len(taken) + 3))) if one not in taken)


@router.post("/api/jobs/import", summary="A new job from its plain folder", response_model=Revised, status_code=201)
def post_import(
    record: RecordOf, short: ShortOf, who: Setter,
    packed_folder: Annotated[UploadFile, File(alias="folder", description="The folder as a ZIP file.")],
    name: Annotated[str, Form()] = "",
) -> Response:  # fmt: skip
    """Byte for byte what is in the ZIP file."""
    given = unpacked(packed_folder.file.read())
    stem = (packed_folder.filename or "job").rpartition(".")[0]
    wanted = name or _free_name(record, job_name(stem))
    made = add_job(record, given, name=wanted, by=who.name, note="taken in from a folder", read=short.reads)
    audited(record, who, "job added", made.job, revision=1)
    return said({"revision": made.as_plain()}, status=201, headers={"Location": f"/api/jobs/{made.job}", **etag(1)})


@router.get("/api/jobs/{job}", summary="A job: its document, its files, its route card", response_model=JobSaid)
def get_job(record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, number: RevisionNumber = None) -> Response:
    """`document` is the whole job as one document; every quantity in it carries its unit."""

    def answer() -> tuple[Any, int]:
        found, plain = revision_plain(record, job, number)
        document, words = _of_files(record, short, found)
        return {"revision": plain, "document": document, "route_card": route_card(record, found, words)}, found.number

    return as_it_stands(record, job, ("job", number), answer)


def _of_files(record: Record, short: Short, found: Revision) -> tuple[dict[str, Any], CardWords]:
    """The document, and what Kit, Touch, Piece and Run say: they follow from the files and from what was worked out alone, so that
    no remark or tick asks for them anew."""
    marks, known = known_influences(record, found)

    def made() -> tuple[dict[str, Any], CardWords]:
        words = short(card_words, record.blobs, found, known, near=found.job)
        return short(document_said, record.blobs, found, near=found.job), words

    key = ("of files", found.job, found.digest, found.home, marks)
    return remembered(key, made, size=lambda one: _PARSED * len(encoded(one[0])))


@router.patch("/api/jobs/{job}", summary="Change texts of several files together", response_model=Revised)
def patch_job(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, based_on: BasedOn, given: FileChanges
) -> Response:
    """Makes a revision, put together with what others changed meanwhile; refuses what is wrong with file, line and key, and what
    clashes (409) with the value of each."""
    changed = {path: None if text is None else text.encode() for path, text in given.files.items()}
    choices = [Choice(one.file, one.what, one.theirs, one.take) for one in given.chosen]
    return _revised(record, short, who, job, based_on, changed, given.note, choices)


def _revised(
    record: Record, short: Short, who: Who, job: str, based_on: int, changed: dict[str, bytes | None], note: str,
    choices: Sequence[Choice] = (),
) -> Response:  # fmt: skip
    saved = save(record, job, changed, based_on=based_on, by=who.name, note=note, choices=choices, read=short.reads,
                 joins=short.joins)  # fmt: skip
    made = saved.revision
    if made.number != based_on:
        audited(record, who, "job changed", job, revision=made.number, files=sorted(changed))
    others = [change.as_plain() for change in saved.others]
    return said({"revision": made.as_plain(), "others": others}, headers=etag(made.number))


@router.post("/api/jobs/{job}/guesses/settled", summary="Settle a guess", response_model=Revised, status_code=201)
def post_settled(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, based_on: BasedOn, given: GuessSettled
) -> Response:
    """It was checked, and what is true is written: the proof rests on it no longer."""
    found = find_revision(record, job)
    path = f"{found.home}/job.toml" if found.home else "job.toml"
    text = short(settled_text, decode(record.blobs.get(found.files[path]), shown="job.toml"), given.setup, given.what)
    note = f"settled for {given.setup}: {given.what}"
    made = revise(record, job, {path: text.encode()}, based_on=based_on, by=who.name, note=_shortened(note),
                  read=short.reads)  # fmt: skip
    audited(record, who, "guess settled", job, revision=made.number, what=given.what)
    return said({"revision": made.as_plain()}, status=201, headers=etag(made.number))


@router.get("/api/jobs/{job}/file", summary="One file of a job, byte for byte", response_class=Response)
def get_file(record: RecordOf, _who: Viewer, job: JobName, path: FilePath, number: RevisionNumber = None) -> Response:
    """Always as a download of plain bytes."""
    found = find_revision(record, job, number=number)
    if path not in found.files:
        remedy = f"it has {', '.join(found.files)}"
        raise NotThere.because(f'"{job}" has no file "{path}" in revision {found.number}', remedy=remedy)
    data = record.blobs.get(found.files[path])
    headers = etag(found.number) | {"content-disposition": "attachment", "x-sha256": found.files[path]}
    return Response(data, media_type="application/octet-stream", headers=headers)


@router.put("/api/jobs/{job}/file", summary="Put one file in or change it", response_model=Revised)
def put_file(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, path: FilePath, based_on: BasedOn,
    data: Annotated[bytes, Body(media_type="application/octet-stream")], note: Note = "",
) -> Response:  # fmt: skip
    """The body is the file, byte for byte."""
    return _revised(record, short, who, job, based_on, {path: data}, note)


@router.delete("/api/jobs/{job}/file", summary="Take one file out", response_model=Revised)
def delete_file(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, path: FilePath, based_on: BasedOn, note: Note = ""
) -> Response:
    """It stays in the earlier revisions."""
    if path not in find_revision(record, job).files:
        raise NotThere.because(f'"{job}" has no file "{path}"', remedy="look at its files")
    return _revised(record, short, who, job, based_on, {path: None}, note)


@router.get("/api/jobs/{job}/folder", summary="The job's plain folder as a ZIP file", response_class=Response)
def get_folder(record: RecordOf, _who: Viewer, job: JobName, number: RevisionNumber = None) -> Response:
    """Byte for byte what was taken in."""
    found = find_revision(record, job, number=number)
    headers = etag(found.number) | {"content-disposition": f'attachment; filename="{job}.zip"'}
    return Response(packed(revision_files(record, found), name=job), media_type=ZIP_TYPE, headers=headers)


@router.get("/api/jobs/{job}/revisions", summary="Every revision of a job", response_model=Revisions)
def get_revisions(record: RecordOf, _who: Viewer, job: JobName) -> Response:
    """The first one first."""
    return said({"revisions": [one.as_plain() for one in revisions(record, job)]})


@router.get("/api/jobs/{job}/history", summary="Everything that happened to a job", response_model=History)
def get_history(record: RecordOf, _who: Viewer, job: JobName) -> Response:
    """Revisions, statements and results in one line of time."""
    return said({"events": [event.as_plain() for event in history(record, job)]})


@router.get("/api/jobs/{job}/changes", summary="What changed between two revisions", response_model=Changes)
def get_changes(
    record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, before: Annotated[int, Query(ge=1, le=MOST_NUMBER)],
    after: Annotated[int | None, Query(ge=1, le=MOST_NUMBER)] = None,
) -> Response:  # fmt: skip
    """Keys of documents, lines of programs, other files; to the newest revision if `after` is not given."""
    old, new = find_revision(record, job, number=before), find_revision(record, job, number=after)
    return said({"changes": _changes(record, short, old, new)})


def _changes(record: Record, short: Short, old: Revision, new: Revision) -> list[dict[str, Any]]:
    return short(changes_said, record.blobs, dict(old.files), dict(new.files), near=old.job)


@router.get("/api/jobs/{job}/since-last-run", summary="What changed since the job ran last", response_model=SinceLastRun)
def get_since_last_run(record: RecordOf, short: ShortOf, _who: Viewer, job: JobName) -> Response:
    """`ran` is null if it never ran."""
    newest, ran = find_revision(record, job), last_run(record, job)
    changed = [] if ran is None else _changes(record, short, find_revision(record, job, number=ran.revision), newest)
    return said({"ran": ran and ran.as_plain(), "newest": newest.number, "changes": changed})
