"""A whole record in one file, and back; the same file for either kind of database, so it also moves a record between them.

The file is a tar archive: `record.json` (the schema, and the SHA-256 of every other member's bytes), `tables/NAME.jsonl` (one row a
line) and `blobs/SHA-256`. It is read from one state of the database, while others go on working.
"""

from __future__ import annotations

import datetime
import hashlib
import io
import json
import os
import tarfile
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, DateTime, Integer, MetaData, Table, func, insert, select, text
from sqlalchemy.exc import StatementError

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused, Problem
from setwright.record.blobs import Blobs, sync_folder
from setwright.record.chain import Seal, chain_faults, holds, seal_of, sealed_by, unreadable
from setwright.record.engine import make_engine
from setwright.record.migrate import migrate, one_at_a_time, schema_of
from setwright.record.refusals import AlreadyThere, Damaged
from setwright.record.schema import job, metadata, revision, revision_file
from setwright.record.store import DATABASE_FILE, SEAL_FILE, Record, kept_seal, open_record

__all__ = ["Verified", "back_up", "faults", "restore", "verify"]

_HEAD: Final = "record.json"
_KIND: Final = "setwright record"
_LEFT_OUT: Final = ("session",)
"""Nobody is signed in to a restored record, whatever the backup holds."""
_IN_FILE: Final = "SELECT type, name, tbl_name FROM sqlite_master WHERE type IN ('trigger', 'view')"
_ON_SERVER: Final = """\
SELECT 'trigger', t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
    WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace
UNION ALL SELECT 'rule', rulename, tablename FROM pg_rules WHERE schemaname = current_schema()"""


@dataclass(frozen=True, slots=True)
class Verified:
    """What was looked at and found whole."""

    revisions: int
    blobs: int
    bytes: int
    seal: Seal
    sealed: tuple[str, ...] = ()
    """What each seal that was held against it speaks of."""


def verify(record: Record, *, against: Iterable[Seal] = ()) -> Verified:
    """Hold the record against everything that proves it: the database's own integrity, the chain, the seal beside it and those of
    `against` (of a backup, of a printed sheet), each revision's digest, and every stored byte's name.

    Raises Damaged with everything that is not as it was written.
    """
    against = list(against)
    with record.reading() as connection:
        problems = list(faults(record, connection, against=against))
        sizes = connection.scalars(select(metadata.tables["blob"].c.size)).all()
        numbers = connection.execute(select(func.count()).select_from(revision)).scalar() or 0
        seal, sealed = seal_of(connection), tuple(sealed_by(connection, one) for one in against)
    if problems:
        raise Damaged([Problem(one, remedy="restore the record from its last good backup") for one in problems])
    return Verified(numbers, len(sizes), sum(sizes), seal, sealed)


def faults(record: Record, connection: Connection, *, against: Iterable[Seal] = ()) -> Iterator[str]:
    """Everything about a record, as a connection sees it, that is not as it was written (see verify)."""
    yield from _database_faults(connection)
    if no_words := list(unreadable(connection)):
        yield from map(str, no_words)
        yield "what follows from these was not looked at"
        return
    yield from map(str, chain_faults(connection))
    kept = kept_seal(record.place)
    for seal, name in [*((seal, "the seal given") for seal in against), *([(kept, f"the seal in {SEAL_FILE}")] if kept else [])]:
        if not holds(connection, seal):
            yield f"{name}, {seal}, is not in the chain: the record is not the one that was sealed"
    yield from _revision_faults(connection)
    yield from _blob_faults(connection, record.blobs)


def _database_faults(connection: Connection) -> Iterator[str]:
    """What the file itself says of its pages, indices and references, which a server holds by itself; and whatever in the database
    changes what is written on the way: nothing in it is this program's."""
    on_server = connection.dialect.name == "postgresql"
    for kind, name, table in connection.exec_driver_sql(_ON_SERVER if on_server else _IN_FILE).all():
        yield f"a {kind} “{name}” on {table} is none of this program's: it can change what is written unseen"
    if on_server:
        return
    for (said,) in connection.exec_driver_sql("PRAGMA integrity_check").all():
        if said != "ok":
            yield f"the database file is damaged: {said}"
    for row in connection.exec_driver_sql("PRAGMA foreign_key_check").all():
        yield f"row {row[1]} of {row[0]} refers to a {row[2]} that is not there"


def _revision_faults(connection: Connection) -> Iterator[str]:
    """Revisions whose files are not those that their digest names, and numbers that are missing between them."""
    files: dict[tuple[int, int], dict[str, str]] = {}
    for line in connection.execute(select(revision_file)):
        files.setdefault((line.job_id, line.number), {})[line.path] = line.sha256
    told = {row.id: (row.name, row.head) for row in connection.execute(select(job))}
    seen: dict[int, list[int]] = {}
    for row in connection.execute(select(revision).order_by(revision.c.job_id, revision.c.number)):
        seen.setdefault(row.job_id, []).append(row.number)
        if digest_document({"home": row.home, "files": files.get((row.job_id, row.number), {})}) != row.digest:
            yield f"revision {row.number} of “{told.get(row.job_id, ('?', 0))[0]}” names other files than it was made of"
    for key, (name, head) in told.items():
        there = seen.get(key, [])
        if len(there) != head or there != list(range(1, len(there) + 1)):
            yield f"“{name}” should have the revisions 1 to {head}, and has {', '.join(map(str, there)) or 'none'}"


def _blob_faults(connection: Connection, blobs: Blobs) -> Iterator[str]:
    for digest, size in connection.execute(select(metadata.tables["blob"])).all():
        try:
            data = blobs.get(digest)
        except Damaged as damage:
            yield damage.problems[0].what + f" ({damage.problems[0].why}): {_used_by(connection, digest)}"
            continue
        if len(data) != size:
            yield f"the stored file {digest[:12]}… has another size than was written: {_used_by(connection, digest)}"


def _used_by(connection: Connection, digest: str) -> str:
    """What a stored file is, by the entry that speaks of it first."""
    files, results, things = (metadata.tables[name] for name in ("revision_file", "artefact", "shop_revision"))
    found = select(job.c.name, files.c.number, files.c.path).join(job, job.c.id == files.c.job_id).where(files.c.sha256 == digest)
    of_job = connection.execute(found.order_by(files.c.job_id, files.c.number, files.c.path).limit(1)).first()
    if of_job is not None:
        return f"it is {of_job.path} of revision {of_job.number} of “{of_job.name}”"
    result = connection.execute(select(results.c.id, results.c.name).where(results.c.sha256 == digest)).first()
    if result is not None:
        return f"it is {result.name}, result {result.id}"
    thing = connection.execute(select(things).where(things.c.sha256 == digest)).mappings().first()
    return "no entry speaks of it" if thing is None else f"it is {thing['kind']}/{thing['name']}, revision {thing['number']}"


def back_up(record: Record, out: Path) -> Verified:
    """Write the whole record into one file, whole or not at all; every stored byte is checked on the way."""
    looked = verify(record)
    try:
        handle, scratch = tempfile.mkstemp(dir=out.resolve().parent, prefix=f".{out.name}-")
    except OSError as error:
        raise _unwritable(out, error) from error
    try:
        with os.fdopen(handle, "wb") as file:
            with tarfile.open(fileobj=file, mode="w", format=tarfile.PAX_FORMAT) as archive, record.reading() as connection:
                _write(archive, connection, record.blobs)
            file.flush()
            os.fsync(file.fileno())
        os.replace(scratch, out)
        sync_folder(out.resolve().parent)
    except OSError as error:
        Path(scratch).unlink(missing_ok=True)
        raise _unwritable(out, error) from error
    except BaseException:
        Path(scratch).unlink(missing_ok=True)
        raise
    return looked


def _unwritable(out: Path, error: OSError) -> InputRefused:
    return InputRefused.because(f"{out} cannot be written", why=str(error.strerror or error),
                                remedy="name a file in a folder that exists, on a disk with room")  # fmt: skip


def _write(archive: tarfile.TarFile, connection: Connection, blobs: Blobs) -> None:
    members: dict[str, bytes] = {}
    for table in metadata.sorted_tables:
        if table.name not in _LEFT_OUT:
            rows = connection.execute(select(table).order_by(*table.primary_key)).mappings()
            lines = [json.dumps(dict(row), ensure_ascii=False, default=_plain, allow_nan=False) for row in rows]
            members[f"tables/{table.name}.jsonl"] = "".join(f"{line}\n" for line in lines).encode()
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in members.items()}
    seal = seal_of(connection)
    sealed = {"number": seal.number, "digest": seal.digest}
    head = {"kind": _KIND, "schema": schema_of(connection), "seal": sealed, "tables": digests}
    _add(archive, _HEAD, json.dumps(head, indent=1).encode())
    for name, data in members.items():
        _add(archive, name, data)
    for digest in connection.scalars(select(metadata.tables["blob"].c.sha256).order_by("sha256")):
        _add(archive, f"blobs/{digest}", blobs.get(digest))


def _plain(value: object) -> str:
    if isinstance(value, datetime.datetime):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} is no column's type")


def _add(archive: tarfile.TarFile, name: str, data: bytes) -> None:
    member = tarfile.TarInfo(name)
    member.size = len(data)
    archive.addfile(member, io.BytesIO(data))


def restore(source: Path, place: Path, *, database: str = "") -> Record:
    """Make a record from a backup in a folder (and database) that hold none yet; returns it open, at this release's schema.

    Raises InputRefused for a file that is no backup, Damaged for one whose bytes have changed, AlreadyThere where a record is.
    """
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise _something_in(place)
    try:
        if source.exists() and not source.is_file():
            raise tarfile.ReadError("it is no plain file")
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=place.parent, prefix=f".{place.name}-") as scratch:
            ready = Path(scratch) / "record"
            with tarfile.open(source, mode="r:") as archive:
                _restored(archive, source, ready, database)
            try:
                if place.exists():
                    place.rmdir()
                os.replace(ready, place)
            except OSError as error:
                if place.is_dir() and any(place.iterdir()):  # another restore was faster
                    raise _something_in(place) from error
                raise
        sync_folder(place.parent)
        return open_record(place, database=database)
    except (OSError, tarfile.TarError) as error:
        raise InputRefused.because(f"{source} cannot be read as a backup", why=str(error),
                                   remedy="name a file written by: setwright record backup") from error  # fmt: skip


def _something_in(place: Path) -> InputRefused:
    said = f"there is something in {place} already"
    return AlreadyThere.because(said, why="nothing is overwritten", remedy="name a new folder")


def _restored(archive: tarfile.TarFile, source: Path, place: Path, database: str) -> None:
    """The whole record in a scratch folder, verified. On a server everything happens in one transaction, so that a backup which
    turns out bad leaves nothing there."""
    head, tables = _read_tables(archive, source)
    place.mkdir(mode=0o700)
    blobs = Blobs(place / "blobs")
    blobs.root.mkdir(mode=0o700)
    for member in archive:
        if member.name.startswith("blobs/"):
            data = _bytes(archive, member.name, source)
            if blobs.put(data) != [member.name.removeprefix("blobs/")]:
                raise _changed(source, member.name)
    engine = make_engine(database or place / DATABASE_FILE)
    try:
        with engine.execution_options(writes=True).begin() as connection:
            one_at_a_time(connection)
            if schema_of(connection) is not None:
                raise AlreadyThere.because("the database holds a record already", why="nothing is overwritten",
                                           remedy="name an empty database")  # fmt: skip
            migrate(connection, to=head["schema"])
            _fill(connection, tables, source)
            migrate(connection)
            problems = [*(str(fault) for fault in chain_faults(connection)), *_revision_faults(connection)]
            seal = seal_of(connection)
            if "chain" in tables and head.get("seal") != {"number": seal.number, "digest": seal.digest}:
                problems.append("it does not end with the seal it was written with")
            problems += _blob_faults(connection, blobs)
            if problems:
                raise Damaged([Problem(f"{source}: {one}", remedy="take another backup") for one in problems])
    finally:
        engine.dispose()
    if not database:
        (place / DATABASE_FILE).chmod(0o600)


def _read_tables(archive: tarfile.TarFile, source: Path) -> tuple[dict[str, Any], dict[str, list[dict[str, Any]]]]:
    try:
        head = json.loads(_bytes(archive, _HEAD, source))
        digests: dict[str, str] = dict(head["tables"]) if head["kind"] == _KIND and isinstance(head["schema"], str) else {}
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _changed(source, _HEAD) from error
    if not digests:
        raise InputRefused.because(f"{source} is no backup of a record", remedy="name a file written by: setwright record backup")
    tables = {}
    for name, digest in digests.items():
        data = _bytes(archive, name, source)
        if hashlib.sha256(data).hexdigest() != digest:
            raise _changed(source, name)
        try:
            rows = [json.loads(line) for line in data.decode().split("\n") if line]
        except (ValueError, RecursionError) as error:
            raise _changed(source, name) from error
        tables[name.removeprefix("tables/").removesuffix(".jsonl")] = rows
    return head, tables


def _bytes(archive: tarfile.TarFile, name: str, source: Path) -> bytes:
    try:
        file = archive.extractfile(name)
    except KeyError as error:
        raise _changed(source, name) from error
    if file is None:
        raise _changed(source, name)
    return file.read()


def _changed(source: Path, name: str) -> InputRefused:
    return Damaged.because(f"{source} is damaged: {name} is missing or has changed", remedy="take another backup")


def _fill(connection: Connection, tables: dict[str, list[dict[str, Any]]], source: Path) -> None:
    """Put the rows into the tables as that schema has them, in an order that keeps every reference good."""
    held = MetaData()
    held.reflect(connection)
    for table in held.sorted_tables:
        given = [] if table.name in _LEFT_OUT or table.name not in metadata.tables else tables.get(table.name, [])
        try:
            rows = [_typed(table, row) for row in given]
            if rows:
                connection.execute(insert(table), rows)
        except (StatementError, AttributeError, OverflowError, TypeError, ValueError) as error:
            raise _changed(source, f"tables/{table.name}.jsonl") from error
        if connection.dialect.name == "postgresql" and "id" in table.c and isinstance(table.c.id.type, Integer):
            line = "SELECT setval(pg_get_serial_sequence(:name, 'id'), GREATEST(:most, 1), :used)"
            most = max((int(row["id"]) for row in rows), default=0)
            connection.execute(text(line), {"name": table.name, "most": most, "used": most > 0})


def _typed(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    if set(row) != set(table.c.keys()):
        raise ValueError("other columns than the table has")
    moments = {name for name, column in table.c.items() if isinstance(column.type, DateTime)}
    read = datetime.datetime.fromisoformat
    return {name: read(value) if name in moments and value else value for name, value in row.items()}
