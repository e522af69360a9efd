"""A record that proves its own wholeness: every row that says something is a link of one chain of hashes.

A link holds the digest of its row as the database gives it back, and a hash over that digest and the hash of the link before.
Whoever changes, adds or takes away a row by other means than this package leaves a link that does not fit, or a row without one;
whoever mends the links from there on changes the last hash, the record's seal. The seal stands in every backup and in a file beside
the database, so that a record can be held against what it was when any of these was made.

A row that is replaced (a job's newest revision, a person's role, how a calculation stands) gets a new link; its newest link tells
what it must be now. Sessions and tries to sign in are not linked: they say nothing that lasts.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import JSON, Column, Connection, Integer, RowMapping, Table, func, insert, select

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused
from setwright.record.engine import read_json
from setwright.record.refusals import Damaged
from setwright.record.schema import Moment, chain, metadata, now, revision_file

__all__ = [
    "LINKED", "Fault", "Seal", "chain_faults", "holds", "link", "link_everything", "read_seal", "seal_of", "seal_of_revision",
    "sealed_by", "unreadable",
]  # fmt: skip

LINKED: Final = ("job", "revision", "entry", "artefact", "calculation", "shop_revision", "person", "audit")
"""The tables whose rows are links, in the order in which an older record is linked."""

_BEGINNING: Final = "0" * 64
_LOCK: Final = 7_310_225
"""On a server, the lock that a writer holds from its first link to its commit, so that there is one last link."""
_SHORT: Final = 12
_MOST_LINKS: Final = 2**31
_WORDS: Final = {"job": "job", "revision": "revision", "entry": "statement", "artefact": "result", "calculation": "calculation",
                 "shop_revision": "shop revision", "person": "person", "audit": "line of the audit",
                 "chain": "link of the chain"}  # fmt: skip
Row = Mapping[str, Any] | RowMapping


@dataclass(frozen=True, slots=True)
class Seal:
    """The last link of a chain: its number (0 for an empty chain) and its hash."""

    number: int
    digest: str

    def __str__(self) -> str:
        """Short, as it is printed: the number and the first letters of the hash."""
        return f"{self.number} {self.digest[:_SHORT]}"


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that is not as it was written. `what` says which row and how; `since`: when its link was made, if there is one."""

    what: str
    since: datetime.datetime | None = None

    def __str__(self) -> str:
        when = "" if self.since is None else f" (written {self.since:%Y-%m-%d %H:%M:%S} UTC)"
        return f"{self.what}{when}"


def read_seal(text: str) -> Seal:
    """A seal as it is printed: "1042 9f3a6c1e20b7", with or without the whole hash. Raises InputRefused."""
    number, _, digest = text.strip().partition(" ")
    digest = digest.strip().casefold()
    numbered = number.isascii() and number.isdigit() and len(number) <= _SHORT
    if not numbered or len(digest) < _SHORT or not set(digest) <= set("0123456789abcdef"):
        raise InputRefused.because(f'"{text}" is not a seal', remedy="write its number, a blank, and the letters behind it")
    return Seal(int(number), digest)


def link(connection: Connection, table: str, **key: Any) -> None:
    """Add the link of a row that was written or replaced in this transaction, which must end with it."""
    if connection.dialect.name == "postgresql":
        connection.execute(select(func.pg_advisory_xact_lock(_LOCK)))
    of = metadata.tables[table]
    row = connection.execute(select(of).where(*(of.c[name] == value for name, value in key.items()))).mappings().one()
    last = seal_of(connection)
    digest = _digest(table, row, _files(connection, row) if table == "revision" else {})
    values = {"number": last.number + 1, "of": table, "key": _key(of, row), "row": digest, "at": now()}
    connection.execute(insert(chain).values(values | {"digest": _hash(last.digest, values)}))


def link_everything(connection: Connection) -> None:
    """Link every row of a record that has no chain yet; from then on it is proved."""
    for name in LINKED:
        table = metadata.tables[name]
        columns = list(table.primary_key.columns)
        for key in connection.execute(select(*columns).order_by(*columns)).mappings().all():
            link(connection, name, **key)


def seal_of(connection: Connection) -> Seal:
    """The seal of the record as it stands."""
    row = connection.execute(select(chain.c.number, chain.c.digest).order_by(chain.c.number.desc()).limit(1)).first()
    return Seal(0, _BEGINNING) if row is None else Seal(row.number, row.digest)


def seal_of_revision(connection: Connection, job_id: int, number: int) -> Seal:
    """The link of a revision, which seals it and everything before it; number 0 if it has none."""
    wanted = json.dumps([job_id, number], ensure_ascii=False)
    found = select(chain.c.number, chain.c.digest).where(chain.c.of == "revision", chain.c.key == wanted)
    row = connection.execute(found.order_by(chain.c.number.desc()).limit(1)).first()
    return Seal(0, _BEGINNING) if row is None else Seal(row.number, row.digest)


def sealed_by(connection: Connection, seal: Seal) -> str:
    """What the link of a seal speaks of, and when it was made; empty if there is no such link."""
    there = 0 < seal.number < _MOST_LINKS
    row = connection.execute(select(chain).where(chain.c.number == seal.number)).mappings().first() if there else None
    if row is None:
        return ""
    about = _named(row["of"], row["key"])
    if row["of"] == "revision":
        job_id, number = json.loads(row["key"])
        job = metadata.tables["job"]
        name = connection.execute(select(job.c.name).where(job.c.id == job_id)).scalar()
        about = f"revision {number} of “{name}”"
    return f"{about}, written {row['at']:%Y-%m-%d %H:%M:%S} UTC"


def holds(connection: Connection, seal: Seal) -> bool:
    """Whether the chain still has the link that was its last one then. `seal.digest` may be short."""
    if seal.number == 0:
        return _BEGINNING.startswith(seal.digest)
    if not 0 < seal.number < _MOST_LINKS:
        return False
    digest = connection.execute(select(chain.c.digest).where(chain.c.number == seal.number)).scalar()
    return bool(seal.digest) and digest is not None and str(digest).startswith(seal.digest)


def chain_faults(connection: Connection) -> Iterator[Fault]:
    """Everything that is not as it was written, in the order of the chain; then rows that no link speaks of."""
    newest: dict[tuple[str, str], Row] = {}
    before, number = _BEGINNING, 0
    for one in connection.execute(select(chain).order_by(chain.c.number)).mappings():
        if one["number"] <= number:
            yield Fault(f"link {one['number']} of the chain was never written by this program", one["at"])
            continue
        number += 1
        if one["number"] != number:
            yield Fault(f"the links {number} to {one['number'] - 1} of the chain are missing", one["at"])
            number = one["number"]
        elif one["digest"] != _hash(before, one):
            about = _named(one["of"], one["key"])
            yield Fault(f"link {number} of the chain, {about}, does not follow from the one before", one["at"])
        before = one["digest"]
        newest[one["of"], one["key"]] = one
    yield from _row_faults(connection, newest)


def unreadable(connection: Connection) -> Iterator[Fault]:
    """Rows with a value that cannot be read as what this program writes there. A file keeps any value in any column, a server only
    what a column is for."""
    if connection.dialect.name != "sqlite":
        return
    driver: Any = connection.connection.driver_connection
    driver.text_factory = lambda data: data.decode("utf-8", "surrogateescape")
    try:
        for table in metadata.sorted_tables:
            columns = list(table.columns)
            names = ", ".join(f'"{column.name}"' for column in columns)
            for values in connection.exec_driver_sql(f'SELECT {names} FROM "{table.name}"').all():
                wrong = [column.name for column, value in zip(columns, values, strict=True) if not _is_read(column, value)]
                if wrong:
                    key = _key(table, {column.name: value for column, value in zip(columns, values, strict=True)})
                    yield Fault(f"{_named(table.name, key)} cannot be read: {', '.join(wrong)}", _linked_at(connection, table, key))
    finally:
        driver.text_factory = str


def _is_read(column: Column[Any], value: Any) -> bool:
    if value is None or isinstance(column.type, Integer):
        return bool(column.nullable) if value is None else type(value) is int
    try:
        if isinstance(column.type, Moment):
            datetime.datetime.fromisoformat(value)
        elif isinstance(column.type, JSON):
            read_json(value)
        elif column is chain.c.key:
            return isinstance(read_json(value), list)
        else:
            value.encode()
    except (Damaged, AttributeError, TypeError, ValueError):
        return False
    return isinstance(value, str)


def _linked_at(connection: Connection, table: Table, key: str) -> datetime.datetime | None:
    """When the newest link of a row was made, if that can be read."""
    line = 'SELECT at FROM chain WHERE "of" = ? AND "key" = ? ORDER BY number DESC'
    at = connection.exec_driver_sql(line, (table.name, key.encode("utf-8", "replace").decode())).scalar()
    return datetime.datetime.fromisoformat(at) if isinstance(at, str) and _is_read(chain.c.at, at) else None


def _row_faults(connection: Connection, newest: dict[tuple[str, str], Row]) -> Iterator[Fault]:
    files: dict[tuple[int, int], dict[str, str]] = {}
    for line in connection.execute(select(revision_file)):
        files.setdefault((line.job_id, line.number), {})[line.path] = line.sha256
    for name in LINKED:
        table = metadata.tables[name]
        for row in connection.execute(select(table).order_by(*table.primary_key)).mappings():
            key = _key(table, row)
            held = newest.pop((name, key), None)
            if held is None:
                yield Fault(f"{_named(name, key)} was never written by this program{_said(row)}")
                continue
            of_row = files.get((row["job_id"], row["number"]), {}) if name == "revision" else {}
            if _digest(name, row, of_row) != held["row"]:
                yield Fault(f"{_named(name, key)} is not what was written{_said(row)}", held["at"])
    for (name, key), held in newest.items():
        yield Fault(f"{_named(name, key)} is gone", held["at"])


def _key(table: Table, row: Row) -> str:
    return json.dumps([row[column.name] for column in table.primary_key.columns], ensure_ascii=False, default=str)


def _files(connection: Connection, row: Row) -> dict[str, str]:
    here = (revision_file.c.job_id == row["job_id"], revision_file.c.number == row["number"])
    return {line.path: line.sha256 for line in connection.execute(select(revision_file).where(*here))}


def _digest(table: str, row: Row, files: Mapping[str, str]) -> str:
    plain = {name: value.isoformat() if isinstance(value, datetime.datetime) else value for name, value in row.items()}
    try:
        return digest_document({"table": table, "row": plain, "files": dict(files)})
    except (TypeError, ValueError):  # a value that this program writes nowhere
        return ""


def _hash(before: str, one: Row) -> str:
    said = {name: one[name] for name in ("number", "of", "key", "row")}
    return digest_document(said | {"before": before, "at": one["at"].isoformat()})


def _named(table: str, key: str) -> str:
    try:
        parts = list(json.loads(key))
    except (TypeError, ValueError, RecursionError):
        parts = [repr(key)]
    return f"{_WORDS.get(table, table.replace('_', ' '))} {'/'.join(map(str, parts))}"


def _said(row: Row) -> str:
    """Enough of a row for a person to know it by."""
    about = [str(row[name]) for name in ("action", "kind", "station", "name", "subject", "title") if row.get(name)]
    by = f"by {row['by']}" if row.get("by") else ""
    said = ", ".join([*about[:2], *([by] if by else [])])
    return f" ({said})" if said else ""
