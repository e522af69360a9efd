"""An open record: its database and its folder of contents."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, insert, select
from sqlalchemy.exc import DatabaseError, DataError, DBAPIError, IntegrityError, ProgrammingError

from setwright.base.errors import InputRefused
from setwright.jobfolder.append import replace_text
from setwright.record.blobs import Blobs, plain_bytes
from setwright.record.chain import Seal, holds, seal_of
from setwright.record.engine import make_engine
from setwright.record.migrate import migrate
from setwright.record.refusals import Damaged, Unavailable
from setwright.record.schema import blob

__all__ = ["DATABASE_FILE", "SEAL_FILE", "Record", "kept_seal", "name_blob", "open_record"]

DATABASE_FILE: Final = "record.sqlite"
SEAL_FILE: Final = "seal.json"
_OWN_FOLDER, _OWN_FILE = 0o700, 0o600
"""A record is read by whoever runs it, and by nobody else who has an account on that computer."""


@dataclass(frozen=True, slots=True)
class Record:
    """An open record. Close it when done, or use it with `with`."""

    engine: Engine
    blobs: Blobs
    place: Path

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one state of the database from its first question to its last."""
        engine = self.engine
        if engine.dialect.name == "postgresql":
            engine = engine.execution_options(isolation_level="REPEATABLE READ")
        with _reachable(), engine.begin() as connection:
            yield connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """A connection that writes: everything it does is kept when the block ends, or nothing."""
        with _reachable(), self.engine.execution_options(writes=True).begin() as connection:
            yield connection

    def close(self) -> None:
        """Let go of the database, with the seal written down."""
        try:
            self.keep_seal()
        finally:
            self.engine.dispose()

    def keep_seal(self) -> None:
        """Write the seal beside the database, unless the record no longer holds the one that stands there: then that one stays, as
        what `verify` will find wrong. Raises Unavailable."""
        with self.reading() as connection:
            before, now_held = kept_seal(self.place), seal_of(connection)
            if before == now_held or (before is not None and not holds(connection, before)):
                return
        try:
            replace_text(self.place / SEAL_FILE, json.dumps({"number": now_held.number, "digest": now_held.digest}) + "\n")
        except OSError as error:
            raise _unusable_folder(self.place, error) from error

    def __enter__(self) -> Record:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def name_blob(connection: Connection, digest: str, size: int) -> None:
    """Name a content that is on disk already."""
    row: dict[str, Any] = {"sha256": digest, "size": size}
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as insert_on_server

        connection.execute(insert_on_server(blob).values(row).on_conflict_do_nothing())
    elif connection.execute(select(blob.c.sha256).where(blob.c.sha256 == digest)).first() is None:
        connection.execute(insert(blob).values(row))


def kept_seal(place: Path) -> Seal | None:
    """The seal that stands beside the database; None if there is no such file. A file that is no seal is one that nothing fits."""
    try:
        said = json.loads(plain_bytes(place / SEAL_FILE))
        return Seal(int(said["number"]), str(said["digest"]))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return Seal(-1, "not to be read")


@contextlib.contextmanager
def _reachable() -> Iterator[None]:
    try:
        yield
    except (IntegrityError, ProgrammingError):  # a fault of this program, not of the database
        raise
    except (DataError, OverflowError, UnicodeEncodeError) as error:
        why = "a number is too large, or a sign is none"
        remedy = "write ordinary numbers and letters"
        raise InputRefused.because("something in this cannot be kept in a database", why=why, remedy=remedy) from error
    except DatabaseError as error:
        raise _unavailable(error) from error


def _unavailable(error: DBAPIError) -> InputRefused:
    said = str(error.orig).strip().splitlines()[0] if str(error.orig).strip() else type(error.orig).__name__
    if "locked" in said:
        return Unavailable.because("the record stayed busy for 30 s", why="another program is writing to it", remedy="try again")
    if "malformed" in said or "not a database" in said or "decode to UTF-8" in said:
        return Damaged.because("the record's database file is damaged", why=said, remedy="restore the record from its last backup")
    if "full" in said:
        return Unavailable.because("the disk of the record is full", why="nothing of this was written", remedy="make room on it")
    if "readonly" in said or "read-only" in said:
        return Unavailable.because("the record can only be read", why=said, remedy="give leave to write there")
    remedy = "check that its folder can be written to, or that the server runs and the address is right"
    return Unavailable.because("the record's database cannot be used", why=said, remedy=remedy)


def open_record(place: Path, *, database: str = "") -> Record:
    """Open the record in a folder, making it if it is not there, and bring its schema up to date.

    `database`: address of a PostgreSQL server's database; without it a file in the folder. Contents lie in the folder either way.
    Raises Unavailable when folder or database cannot be used.
    """
    try:
        if not place.exists():
            place.mkdir(parents=True, mode=_OWN_FOLDER)
        (place / "blobs").mkdir(mode=_OWN_FOLDER, exist_ok=True)
        Blobs(place / "blobs").sweep()
        if not database:
            (place / DATABASE_FILE).touch(mode=_OWN_FILE)
    except OSError as error:
        raise _unusable_folder(place, error) from error
    record = Record(make_engine(database or place / DATABASE_FILE), Blobs(place / "blobs"), place)
    try:
        with record.writing() as connection:
            migrate(connection)
    except ModuleNotFoundError as error:
        raise Unavailable.because("the driver for that database is not installed", why=str(error),
                                  remedy='install it with: pip install "setwright[postgres]"') from error  # fmt: skip
    except BaseException:
        record.engine.dispose()
        raise
    record.keep_seal()
    return record


def _unusable_folder(place: Path, error: OSError) -> InputRefused:
    return Unavailable.because(f"the record's folder {place} cannot be used", why=str(error.strerror or error),
                               remedy="name a folder that you may write to, on a disk with room")  # fmt: skip
