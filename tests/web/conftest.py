"""A server with one person, a server with accounts, and a job in each."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI

from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job
from tests.web.workbench import DEMO, Person, running


@pytest.fixture
def app(tmp_path: Path) -> Iterator[FastAPI]:
    """Without accounts, the bearing cap in it."""
    with running(tmp_path / "record") as started:
        add_job(started.state.record, gather_folder(DEMO), name="cap", by="Ada")
        yield started


@pytest.fixture
def ada(app: FastAPI) -> Person:
    return Person(app)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[FastAPI]:
    """With accounts, the bearing cap in it."""
    with running(tmp_path / "record", accounts=True) as started:
        add_job(started.state.record, gather_folder(DEMO), name="cap", by="Ada")
        yield started
