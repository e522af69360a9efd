"""A server killed while somebody writes, and a database killed under one: nothing acknowledged is lost, nothing is half there."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.record.server import programs

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("kill", ["server", "database"])
def test_nothing_acknowledged_over_http_is_lost(kill: str) -> None:
    if kill == "database" and programs() is None:
        pytest.skip("no PostgreSQL server here; install one")
    command = [sys.executable, "-m", "tests.web.crash", "--rounds", "2", "--kill", kill]
    done = subprocess.run(command, cwd=ROOT, check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1].startswith("round 2: ")
