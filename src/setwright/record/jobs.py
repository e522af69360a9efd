"""Jobs and their revisions. A revision never changes; a change is a new one, and names the revision it was made from."""

from __future__ import annotations

import datetime
import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import Any, Final

from sqlalchemy import Connection, func, insert, join, or_, select, true, update

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused
from setwright.jobfolder.document import decode, read_toml
from setwright.jobfolder.load import JobFolder, load_held
from setwright.record import folder
from setwright.record.chain import link, seal_of_revision
from setwright.record.folder import JobFiles
from setwright.record.refusals import AlreadyThere, NotThere, Stale
from setwright.record.schema import job, now, revision, revision_file
from setwright.record.store import Record, name_blob

__all__ = [
    "JobLine", "ReadsJob", "Revision", "add_job", "find_revision", "fresh_revision", "job_folder", "job_name", "jobs", "jobs_page",
    "locked", "revise", "revision_files", "revisions", "seal_shown", "setups_of", "stale",
]  # fmt: skip

ReadsJob = Callable[[JobFiles, str], tuple[str, str]]
"""How the title and the digest of a job's document are found, from its files and its name: here, or by somebody else."""
_NAME: Final = re.compile(r"[a-z0-9][a-z0-9._-]{0,79}")


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job in the list of jobs: its name, title, newest revision, and who changed it last."""

    name: str
    title: str
    head: int
    by: str
    at: datetime.datetime


@dataclass(frozen=True, slots=True)
class Revision:
    """One state of a job. `digest`: of all its files; `document`: of the parsed document alone; `files`: SHA-256 by path."""

    job: str
    number: int
    digest: str
    document: str
    title: str
    home: str
    note: str
    by: str
    at: datetime.datetime
    files: Mapping[str, str] = field(repr=False)
    job_id: int = field(repr=False)

    def as_plain(self) -> dict[str, Any]:
        """Plain data, paths in order."""
        said = {name: getattr(self, name) for name in ("job", "number", "digest", "document", "title", "home", "note", "by")}
        return said | {"at": self.at.isoformat(), "files": dict(sorted(self.files.items()))}

    def digest_without(self, *names: str, instead: Mapping[str, str] | None = None) -> str:
        """A digest of all its files but those of these names in its home; `instead`: other digests for some that are."""
        left_out = {self.at_home(name) for name in names}
        others = {self.at_home(name): sha for name, sha in (instead or {}).items()}
        files = {name: others.get(name, sha) for name, sha in self.files.items() if name not in left_out}
        return digest_document({"home": self.home, "files": files})

    def at_home(self, name: str) -> str:
        """The path of a file beside the job's own."""
        return f"{self.home}/{name}" if self.home else name


def job_name(text: str) -> str:
    """A name a job can have, made from any text: small letters, digits, dot, dash, underscore."""
    name = re.sub(r"[^a-z0-9._-]+", "-", text.casefold()).strip("-._")[:80]
    return name or "job"


def jobs(record: Record) -> list[JobLine]:
    """Every job, the one changed last first."""
    columns = (job.c.name, revision.c.title, job.c.head, revision.c.by, revision.c.at)
    newest = (revision.c.job_id == job.c.id) & (revision.c.number == job.c.head)
    with record.reading() as connection:
        rows = connection.execute(select(*columns).join(revision, newest).order_by(revision.c.at.desc(), job.c.name)).all()
    return [JobLine(*row) for row in rows]


def jobs_page(record: Record, *, page: int, size: int, find: str = "") -> tuple[list[JobLine], int]:
    """One page of the list of jobs, from 1, and how many jobs there are in all. `find`: only jobs with this in name or title,
    capital letters or not."""
    named = (column.icontains(find, autoescape=True) for column in (job.c.name, revision.c.title))
    wanted = or_(*named) if find else true()
    columns = (job.c.name, revision.c.title, job.c.head, revision.c.by, revision.c.at)
    found = join(job, revision, (revision.c.job_id == job.c.id) & (revision.c.number == job.c.head))
    asked = select(*columns).select_from(found).where(wanted).order_by(revision.c.at.desc(), job.c.name)
    with record.reading() as connection:
        many = connection.execute(select(func.count()).select_from(found).where(wanted)).scalar_one()
        rows = connection.execute(asked.limit(size).offset((page - 1) * size)).all()
    return [JobLine(*row) for row in rows], many


def add_job(record: Record, given: JobFiles, *, name: str, by: str, note: str = "", read: ReadsJob | None = None) -> Revision:
    """Take a job in as its first revision. Raises InputRefused if the files are no job, AlreadyThere if the name is taken."""
    if not _NAME.fullmatch(name):
        remedy = f'for example "{job_name(name)}": small letters, digits, dot, dash, underscore'
        raise InputRefused.because(f'"{name}" cannot be a job\'s name', remedy=remedy)
    folder.check_files(given.files)
    title, document = (read or _read)(given, name)
    digests = dict(zip(given.files, record.blobs.put(*given.files.values()), strict=True))
    with record.writing() as connection:
        if connection.execute(select(job.c.id).where(job.c.name == name)).first() is not None:
            raise AlreadyThere.because(f'a job called "{name}" is in the record already',
                                       remedy="give this one another name, or revise that one")  # fmt: skip
        row = connection.execute(insert(job).values(name=name, head=1, by=by, at=now()).returning(job.c.id)).one()
        _add_revision(connection, row.id, 1, given, digests, title=title, document=document, by=by, note=note)
        link(connection, "job", id=row.id)
    return find_revision(record, name, number=1)


def revise(
    record: Record, name: str, changed: Mapping[str, bytes | None], *, based_on: int, by: str, note: str = "",
    read: ReadsJob | None = None,
) -> Revision:  # fmt: skip
    """Change files of a job: new bytes by path, None to take a file out.

    `based_on`: the revision the change was made from. Raises Stale when that is not the newest any more, InputRefused when the
    result would be no job. A change that changes nothing makes no revision.
    """
    before = fresh_revision(record, name, based_on=based_on)
    given = _changed(record, before, changed)
    folder.check_files(given.files)
    title, document = (read or _read)(given, name)
    digests = dict(zip(given.files, record.blobs.put(*given.files.values()), strict=True))
    if digests == before.files:
        return before
    with record.writing() as connection:
        job_id, newest = locked(connection, name)
        if newest != based_on:
            raise stale(_revision(connection, name, newest), based_on)
        _add_revision(connection, job_id, newest + 1, given, digests, title=title, document=document, by=by, note=note)
        connection.execute(update(job).where(job.c.id == job_id).values(head=newest + 1))
        link(connection, "job", id=job_id)
    return find_revision(record, name, number=based_on + 1)


def _changed(record: Record, before: Revision, changed: Mapping[str, bytes | None]) -> JobFiles:
    files: dict[str, bytes] = {}
    for path in sorted({*before.files, *changed}):
        data = changed[path] if path in changed else record.blobs.get(before.files[path])
        if data is not None:
            files[path] = data
    return JobFiles(files, before.home)


def _read(given: JobFiles, name: str) -> tuple[str, str]:
    """Title and digest of the document; refuses what is no job."""
    read = load_held(given.files, home=given.home, name=name)
    return read.job.job.title, digest_document(read.job.model_dump(mode="json", by_alias=True))


def _add_revision(
    connection: Connection, job_id: int, number: int, given: JobFiles, digests: Mapping[str, str], **said: str
) -> None:
    for path, digest in digests.items():
        name_blob(connection, digest, len(given.files[path]))
    whole = digest_document({"home": given.home, "files": dict(digests)})
    connection.execute(insert(revision).values(job_id=job_id, number=number, digest=whole, home=given.home, at=now(), **said))
    rows = [{"job_id": job_id, "number": number, "path": path, "sha256": digest} for path, digest in digests.items()]
    connection.execute(insert(revision_file), rows)
    link(connection, "revision", job_id=job_id, number=number)


def locked(connection: Connection, name: str) -> tuple[int, int]:
    """A job's row held until the transaction ends: its key and its newest revision. Raises NotThere."""
    row = connection.execute(select(job.c.id, job.c.head).where(job.c.name == name).with_for_update()).first()
    if row is None:
        raise _no_job(connection, name)
    return row.id, row.head


def fresh_revision(record: Record, name: str, *, based_on: int) -> Revision:
    """The newest revision, if that is the one a change was based on; raises Stale otherwise."""
    newest = find_revision(record, name)
    if newest.number != based_on:
        raise stale(newest, based_on)
    return newest


def stale(newest: Revision, based_on: int) -> InputRefused:
    """The refusal of a change that was made from another revision than the newest."""
    when = newest.at.strftime("%Y-%m-%d %H:%M UTC")
    said = f'the change was made from revision {based_on}, but "{newest.job}" is at revision {newest.number}'
    return Stale.because(said, why=f"{newest.by} changed it on {when}", remedy="look at what changed, then make yours again")


def _no_job(connection: Connection, name: str) -> InputRefused:
    names = list(connection.scalars(select(job.c.name)))
    near = difflib.get_close_matches(name, names, n=1)
    remedy = f'did you mean "{near[0]}"?' if near else "look at the list of jobs"
    return NotThere.because(f'no job is called "{name}"', remedy=remedy)


def find_revision(record: Record, name: str, *, number: int | None = None) -> Revision:
    """A revision of a job, the newest if no number is given. Raises NotThere."""
    with record.reading() as connection:
        return _revision(connection, name, number)


def _revision(connection: Connection, name: str, number: int | None) -> Revision:
    wanted = revision.c.number == (job.c.head if number is None else number)
    found = select(revision).join(job, job.c.id == revision.c.job_id).where(job.c.name == name, wanted)
    row = connection.execute(found).mappings().first()
    if row is None:
        if number is None or connection.execute(select(job.c.id).where(job.c.name == name)).first() is None:
            raise _no_job(connection, name)
        raise NotThere.because(f'"{name}" has no revision {number}', remedy="look at its history")
    here = (revision_file.c.job_id == row["job_id"], revision_file.c.number == row["number"])
    files = connection.execute(select(revision_file.c.path, revision_file.c.sha256).where(*here))
    return Revision(job=name, files={line.path: line.sha256 for line in files}, **row)


def revisions(record: Record, name: str) -> list[Revision]:
    """Every revision of a job, the first one first. Raises NotThere."""
    with record.reading() as connection:
        newest = _revision(connection, name, None)
        return [_revision(connection, name, number) for number in range(1, newest.number)] + [newest]


def revision_files(record: Record, wanted: Revision) -> JobFiles:
    """The files of a revision, byte for byte as they were taken in."""
    return JobFiles({path: record.blobs.get(digest) for path, digest in sorted(wanted.files.items())}, wanted.home)


def seal_shown(record: Record, wanted: Revision) -> str:
    """The seal of a revision in short, as a sheet shows it: the number of its link in the chain, and letters of its hash."""
    with record.reading() as connection:
        return str(seal_of_revision(connection, wanted.job_id, wanted.number))


def setups_of(record: Record, wanted: Revision) -> list[str]:
    """The names of a revision's setups."""
    path = f"{wanted.home}/job.toml" if wanted.home else "job.toml"
    text = decode(record.blobs.get(wanted.files[path]), shown="job.toml")
    return [str(setup.get("name", "")) for setup in read_toml(text, shown="job.toml").get("setup", [])]


def job_folder(record: Record, wanted: Revision) -> JobFolder:
    """The revision as the stations take it."""
    given = revision_files(record, wanted)
    return load_held(given.files, home=given.home, name=PurePosixPath(wanted.home).name or wanted.job)
