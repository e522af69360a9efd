"""Every test of the record runs on both kinds of database; the server is the one named in SETWRIGHT_TEST_POSTGRES, else its own."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from setwright.record.engine import make_engine
from setwright.record.folder import JobFiles, gather_folder
from setwright.record.store import Record, open_record
from tests.record.server import programs, running_server

DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo" / "bearing-cap"
_COUNT = itertools.count(1)


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The address of a PostgreSQL server."""
    stated = os.environ.get("SETWRIGHT_TEST_POSTGRES")
    folder = programs()
    if stated:
        yield stated
    elif folder is not None:
        with running_server(folder) as address:
            yield address
    else:
        pytest.skip("no PostgreSQL server here; install one or name its address in SETWRIGHT_TEST_POSTGRES")


@pytest.fixture(params=["file", "server"])
def empty_database(request: pytest.FixtureRequest) -> Iterator[Callable[[], str]]:
    """A function that gives the address of a database nothing is in, "" for a plain file."""
    if request.param == "file":
        yield lambda: ""
        return
    address = request.getfixturevalue("server")
    made: list[str] = []

    def make() -> str:
        made.append(f"setwright_test_{os.getpid()}_{next(_COUNT)}")
        _run(address, f"CREATE SCHEMA {made[-1]}")
        return f"{address}{'&' if '?' in address else '?'}options=-csearch_path%3D{made[-1]}"

    yield make
    for name in made:
        _run(address, f"DROP SCHEMA {name} CASCADE")


def _run(address: str, line: str) -> None:
    engine = make_engine(address)
    with engine.begin() as connection:
        connection.execute(text(line))
    engine.dispose()


@pytest.fixture
def database(empty_database: Callable[[], str]) -> str:
    return empty_database()


@pytest.fixture
def record(tmp_path: Path, database: str) -> Iterator[Record]:
    with open_record(tmp_path / "record", database=database) as opened:
        yield opened


@pytest.fixture(scope="session")
def cap() -> JobFiles:
    """The files of the bearing cap."""
    return gather_folder(DEMO)
