"""The shop's library: machines, holding, tools, instruments as TOML texts with their revisions; and which jobs differ from it."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any, Final

from pydantic import BaseModel
from sqlalchemy import Connection, func, insert, or_, select

from setwright.base.errors import InputRefused
from setwright.jobfolder.document import decode, parse_document
from setwright.model.holding import Holding
from setwright.model.instrument import Instrument
from setwright.model.machine import Machine
from setwright.model.tool import Tool
from setwright.record.chain import link
from setwright.record.refusals import NotThere, Stale
from setwright.record.schema import job, now, revision_file, shop_revision
from setwright.record.store import Record, name_blob

__all__ = [
    "KINDS", "Thing", "find_thing", "jobs_that_differ", "put_thing", "take_out_thing", "thing_bytes", "thing_revisions", "things",
]  # fmt: skip

KINDS: Final[dict[str, type[BaseModel]]] = {"machines": Machine, "holding": Holding, "tools": Tool, "instruments": Instrument}
"""What a shop has, by the folder it lies in."""
_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")


@dataclass(frozen=True, slots=True)
class Thing:
    """One revision of one thing of the shop; `sha256` is None when it was taken out of the shop."""

    kind: str
    name: str
    number: int
    sha256: str | None
    note: str
    by: str
    at: datetime.datetime

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        names = ("kind", "name", "number", "sha256", "note", "by")
        return {name: getattr(self, name) for name in names} | {"at": self.at.isoformat()}


def put_thing(
    record: Record, kind: str, name: str, data: bytes, *, based_on: int, by: str, note: str = "",
    read: Callable[[str, bytes, str], object] | None = None,
) -> Thing:  # fmt: skip
    """Put a thing into the shop or change it. `based_on`: the revision the change was made from, 0 for a new thing; `read`: who
    reads the text instead, from its kind, its bytes and what it is called.

    Raises InputRefused if the text does not describe such a thing, Stale if it was changed in between.
    """
    _fit(kind, name)
    shown = f"{kind}/{name}.toml"
    (read or _read)(kind, data, shown)
    (digest,) = record.blobs.put(data)
    with record.writing() as connection:
        name_blob(connection, digest, len(data))
        _add(connection, kind, name, digest, based_on=based_on, by=by, note=note)
    return find_thing(record, kind, name)


def take_out_thing(record: Record, kind: str, name: str, *, based_on: int, by: str, note: str = "") -> Thing:
    """Take a thing out of the shop; its revisions stay."""
    find_thing(record, kind, name)
    with record.writing() as connection:
        _add(connection, kind, name, None, based_on=based_on, by=by, note=note)
    return thing_revisions(record, kind, name)[-1]


def _read(kind: str, data: bytes, shown: str) -> object:
    return parse_document(decode(data, shown=shown), KINDS[kind], shown=shown)


def _fit(kind: str, name: str) -> None:
    if kind not in KINDS:
        raise InputRefused.because(f'a shop has no "{kind}"', remedy=f"write one of {', '.join(KINDS)}")
    if not _NAME.fullmatch(name):
        raise InputRefused.because(f'"{name}" cannot be the name of a thing', remedy="letters, digits, dot, dash, underscore")


def _add(connection: Connection, kind: str, name: str, digest: str | None, *, based_on: int, by: str, note: str) -> None:
    if connection.dialect.name == "postgresql":
        connection.execute(select(func.pg_advisory_xact_lock(func.hashtext(f"{kind}/{name}"))))
    here = (shop_revision.c.kind == kind, shop_revision.c.name == name)
    newest = connection.execute(select(func.max(shop_revision.c.number)).where(*here)).scalar() or 0
    if newest != based_on:
        said = f"the change was made from revision {based_on}, but {kind}/{name} is at revision {newest}"
        raise Stale.because(said, remedy="look at what changed, then make yours again")
    values = {"kind": kind, "name": name, "number": newest + 1, "sha256": digest, "note": note, "by": by, "at": now()}
    connection.execute(insert(shop_revision).values(values))
    link(connection, "shop_revision", kind=kind, name=name, number=newest + 1)


def things(record: Record) -> list[Thing]:
    """Everything in the shop now, by kind and name."""
    newest = select(shop_revision.c.kind, shop_revision.c.name, func.max(shop_revision.c.number).label("number"))
    last = newest.group_by(shop_revision.c.kind, shop_revision.c.name).subquery()
    same = (shop_revision.c.kind == last.c.kind) & (shop_revision.c.name == last.c.name) & (shop_revision.c.number == last.c.number)
    found = select(shop_revision).join(last, same).where(shop_revision.c.sha256.is_not(None))
    with record.reading() as connection:
        return [Thing(**row) for row in connection.execute(found.order_by(shop_revision.c.kind, shop_revision.c.name)).mappings()]


def find_thing(record: Record, kind: str, name: str) -> Thing:
    """A thing as it is now. Raises NotThere."""
    found = [one for one in things(record) if (one.kind, one.name) == (kind, name)]
    if not found:
        raise NotThere.because(f'the shop has no {kind}/{name}', remedy="look at the list of what it has")
    return found[0]


def thing_revisions(record: Record, kind: str, name: str) -> list[Thing]:
    """Every revision of a thing, the first one first."""
    here = (shop_revision.c.kind == kind, shop_revision.c.name == name)
    with record.reading() as connection:
        rows = connection.execute(select(shop_revision).where(*here).order_by(shop_revision.c.number)).mappings().all()
    return [Thing(**row) for row in rows]


def thing_bytes(record: Record, wanted: Thing) -> bytes:
    """The text of a thing. Raises NotThere for a revision that took it out."""
    if wanted.sha256 is None:
        raise NotThere.because(f"{wanted.kind}/{wanted.name} was taken out of the shop with revision {wanted.number}",
                               remedy="look at an earlier revision")  # fmt: skip
    return record.blobs.get(wanted.sha256)


def jobs_that_differ(record: Record) -> dict[str, list[str]]:
    """Jobs whose newest revision holds another state of a thing than the shop has now: paths of those files by job."""
    held = {(one.kind, one.name): one.sha256 for one in things(record)}
    newest = (revision_file.c.job_id == job.c.id) & (revision_file.c.number == job.c.head)
    of_shop = or_(*(revision_file.c.path.like(f"%{kind}/%.toml") for kind in KINDS))
    asked = select(job.c.name, revision_file.c.path, revision_file.c.sha256).join(revision_file, newest).where(of_shop)
    found: dict[str, list[str]] = {}
    with record.reading() as connection:
        for name, path, digest in connection.execute(asked):
            pure = PurePosixPath(path)
            if held.get((pure.parent.name, pure.stem), digest) != digest:
                found.setdefault(name, []).append(path)
    return {name: sorted(paths) for name, paths in sorted(found.items())}
