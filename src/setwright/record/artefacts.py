"""What the stations made of a revision: proofs, sheets, surfaces. Kept by content, found by what they were made from."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import insert, select

from setwright.record import jobs
from setwright.record.chain import link
from setwright.record.refusals import NotThere
from setwright.record.schema import artefact, job, now
from setwright.record.store import Record, name_blob

__all__ = ["Artefact", "artefact_bytes", "artefacts", "find_artefact", "keep_artefact"]


@dataclass(frozen=True, slots=True)
class Artefact:
    """One result. `inputs`: digest of everything it was made from; `sha256`: of its content."""

    id: int
    revision: int
    station: str
    setup: str
    name: str
    media_type: str
    inputs: str
    sha256: str
    by: str
    at: datetime.datetime

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        names = ("id", "revision", "station", "setup", "name", "media_type", "inputs", "sha256", "by")
        return {name: getattr(self, name) for name in names} | {"at": self.at.isoformat()}


def keep_artefact(
    record: Record, job_name: str, data: bytes, *, revision: int, station: str, setup: str, name: str, media_type: str, inputs: str,
    by: str,
) -> Artefact:  # fmt: skip
    """Keep a result of a revision (which need not be the newest any more)."""
    about = jobs.find_revision(record, job_name, number=revision)
    (digest,) = record.blobs.put(data)
    row = {"revision": revision, "station": station, "setup": setup, "name": name, "media_type": media_type, "inputs": inputs,
           "sha256": digest, "by": by, "at": now()}  # fmt: skip
    with record.writing() as connection:
        name_blob(connection, digest, len(data))
        added = connection.execute(insert(artefact).values(job_id=about.job_id, **row).returning(artefact.c.id)).one()
        link(connection, "artefact", id=added.id)
    return find_artefact(record, job_name, added.id)


def artefacts(record: Record, job_name: str, *, revision: int | None = None, station: str | None = None) -> list[Artefact]:
    """The results of a job, the newest first; of one revision or station if asked for. Raises NotThere."""
    jobs.find_revision(record, job_name)
    which = [job.c.name == job_name]
    which += [artefact.c.revision == revision] if revision is not None else []
    which += [artefact.c.station == station] if station is not None else []
    columns = [column for column in artefact.c if column.name != "job_id"]
    found = select(*columns).join(job, job.c.id == artefact.c.job_id).where(*which).order_by(artefact.c.id.desc())
    with record.reading() as connection:
        return [Artefact(**row) for row in connection.execute(found).mappings()]


def find_artefact(record: Record, job_name: str, number: int) -> Artefact:
    """One result of a job. Raises NotThere."""
    found = next((one for one in artefacts(record, job_name) if one.id == number), None)
    if found is None:
        raise NotThere.because(f'"{job_name}" has no result {number}', remedy="look at the list of its results")
    return found


def artefact_bytes(record: Record, wanted: Artefact) -> bytes:
    """The content of a result."""
    return record.blobs.get(wanted.sha256)
