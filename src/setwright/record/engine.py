"""The connection to the database: one file by default, a PostgreSQL server by its address."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from setwright.record.refusals import Damaged, Unavailable

__all__ = ["make_engine", "read_json"]

_BUSY_S: Final = 30.0
_KNOWN: Final = {"sqlite": "sqlite", "postgresql": "postgresql+psycopg"}


def make_engine(database: str | Path) -> Engine:
    """An engine for a file's path or an address such as "postgresql://person@host/name".

    SQLite: write-ahead log, every commit on the disk before it is acknowledged, foreign keys held, writers queue for up to 30 s;
    a connection taken with the option `writes` locks when it begins, so that what it read stays true until it commits.
    """
    address = _address(database)
    if address.get_backend_name() == "postgresql":
        return create_engine(address, pool_pre_ping=True, isolation_level="READ COMMITTED", json_deserializer=read_json)
    engine = create_engine(address, connect_args={"timeout": _BUSY_S}, json_deserializer=read_json)
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def read_json(text: str | bytes) -> Any:
    """What a column of JSON holds. Raises Damaged for a text that is none."""
    try:
        value = json.loads(text)
        json.dumps(value, allow_nan=False)
    except (TypeError, ValueError, RecursionError) as error:
        raise Damaged.because("an entry of the record holds what cannot be read", why="it is not what this program writes",
                              remedy="look which one with: setwright record check") from error  # fmt: skip
    return value


def _address(database: str | Path) -> URL:
    if isinstance(database, Path):
        return URL.create("sqlite", database=str(database))
    try:
        address = make_url(database)
        backend = address.get_backend_name()
    except (ArgumentError, NoSuchModuleError, ValueError) as error:
        raise Unavailable.because("the database's address cannot be read", why=str(error),
                                  remedy="write postgresql://person@host/name") from error  # fmt: skip
    if backend not in _KNOWN:
        remedy = "write postgresql://person@host/name, or leave the address out for a plain file"
        raise Unavailable.because(f'a database of the kind "{backend}" is not known', remedy=remedy)
    return address.set(drivername=_KNOWN[backend])


def _prepare(connection: sqlite3.Connection, record: Any) -> None:
    del record
    connection.isolation_level = None  # the driver begins nothing by itself; _begin does
    for line in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", f"busy_timeout = {int(_BUSY_S * 1000)}"):
        connection.execute(f"PRAGMA {line}")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.get_execution_options().get("writes") else "BEGIN")
