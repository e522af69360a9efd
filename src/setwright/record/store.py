"""An open record: its database and its folder of contents."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, insert, select
from sqlalchemy.exc import DBAPIError, OperationalError

from setwright.base.errors import InputRefused
from setwright.record.blobs import Blobs
from setwright.record.engine import make_engine
from setwright.record.migrate import migrate
from setwright.record.refusals import Unavailable
from setwright.record.schema import blob

__all__ = ["DATABASE_FILE", "Record", "name_blob", "open_record"]

DATABASE_FILE: Final = "record.sqlite"


@dataclass(frozen=True, slots=True)
class Record:
    """An open record. Close it when done, or use it with `with`."""

    engine: Engine
    blobs: Blobs

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
        """Let go of the database."""
        self.engine.dispose()

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


@contextlib.contextmanager
def _reachable() -> Iterator[None]:
    try:
        yield
    except OperationalError as error:
        raise _unavailable(error) from error


def _unavailable(error: DBAPIError) -> InputRefused:
    said = str(error.orig).strip().splitlines()[0] if str(error.orig).strip() else type(error.orig).__name__
    if "locked" in said:
        return Unavailable.because("the record stayed busy for 30 s", why="another program is writing to it", remedy="try again")
    remedy = "check that its folder can be written to, or that the server runs and the address is right"
    return Unavailable.because("the record's database cannot be used", why=said, remedy=remedy)


def open_record(place: Path, *, database: str = "") -> Record:
    """Open the record in a folder, making it if it is not there, and bring its schema up to date.

    `database`: address of a PostgreSQL server's database; without it a file in the folder. Contents lie in the folder either way.
    Raises Unavailable when folder or database cannot be used.
    """
    try:
        (place / "blobs").mkdir(parents=True, exist_ok=True)
        Blobs(place / "blobs").sweep()
    except OSError as error:
        raise Unavailable.because(f"the record's folder {place} cannot be used", why=str(error.strerror or error),
                                  remedy="name a folder that you may write to") from error  # fmt: skip
    record = Record(make_engine(database or place / DATABASE_FILE), Blobs(place / "blobs"))
    try:
        with record.writing() as connection:
            migrate(connection)
    except ModuleNotFoundError as error:
        raise Unavailable.because("the driver for that database is not installed", why=str(error),
                                  remedy='install it with: pip install "setwright[postgres]"') from error  # fmt: skip
    except BaseException:
        record.close()
        raise
    return record
