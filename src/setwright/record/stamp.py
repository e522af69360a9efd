"""What a job's whole record is known by: two stamps alike, and nothing about the job was added in between.

Rows are only ever added, so that the newest of each kind and how many there are say it; one question answers it.
"""

from __future__ import annotations

import datetime
import functools
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ScalarSelect, Select, Table, bindparam, func, select

from setwright.record import jobs
from setwright.record.schema import artefact, entry, job, revision
from setwright.record.store import Record

__all__ = ["Stamp", "stamp_of"]


@dataclass(frozen=True, slots=True)
class Stamp:
    """A job at a moment. `digest`: of its newest revision; `statement`, `result`: the newest of each (0: none); `by`: whose the
    newest of all is. Records with other places never have equal stamps."""

    place: str
    job: str
    revision: int
    digest: str
    statements: int
    statement: int
    results: int
    result: int
    by: str
    at: datetime.datetime


def stamp_of(record: Record, name: str) -> Stamp:
    """The stamp of a job. Raises NotThere."""
    with record.reading() as connection:
        row = connection.execute(_asked(), {"job_name": name}).first()
    if row is None:
        jobs.find_revision(record, name)  # says which job may be meant
        return stamp_of(record, name)  # it was added in this moment
    whose = [(row.at, row.by)]
    whose += [(row.stated_at, row.stated_by)] if row.statement is not None else []
    whose += [(row.made_at, row.made_by)] if row.result is not None else []
    at, by = max(whose)
    return Stamp(f"{record.engine.url} {record.blobs.root}", name, row.head, row.digest, row.statements, row.statement or 0,
                 row.results, row.result or 0, by, at)  # fmt: skip


@functools.cache
def _asked() -> Select[Any]:
    """The question, put together once: that takes longer than its answer."""
    here = (job.c.id == revision.c.job_id) & (revision.c.number == job.c.head)
    return (
        select(job.c.head, revision.c.digest, revision.c.by, revision.c.at, _count(entry).label("statements"),
               _count(artefact).label("results"), entry.c.id.label("statement"), entry.c.by.label("stated_by"),
               entry.c.at.label("stated_at"), artefact.c.id.label("result"), artefact.c.by.label("made_by"),
               artefact.c.at.label("made_at"))
        .join(revision, here)
        .outerjoin(entry, entry.c.id == _newest(entry))
        .outerjoin(artefact, artefact.c.id == _newest(artefact))
        .where(job.c.name == bindparam("job_name"))
    )  # fmt: skip


def _count(table: Table) -> ScalarSelect[Any]:
    return select(func.count()).where(table.c.job_id == job.c.id).correlate(job).scalar_subquery()


def _newest(table: Table) -> ScalarSelect[Any]:
    other = table.alias()
    return select(func.max(other.c.id)).where(other.c.job_id == job.c.id).correlate(job).scalar_subquery()
