"""A writer killed in the middle of writing loses nothing it acknowledged and leaves nothing half-written."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from setwright.record.entries import tick_check
from setwright.record.jobs import find_revision, revise
from setwright.record.refusals import Damaged
from setwright.record.store import open_record
from tests.record import crash

ROOT = Path(__file__).resolve().parents[2]


def test_nothing_acknowledged_is_lost(database: str) -> None:
    command = [sys.executable, "-m", "tests.record.crash", "--rounds", "4", "--database", database]
    done = subprocess.run(command, cwd=ROOT, check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1].startswith("round 4: ")
    assert int(done.stdout.splitlines()[-1].split()[2]) >= 4


def test_a_loss_would_be_noticed(database: str, tmp_path: Path) -> None:
    crash.start(tmp_path / "record", database)
    with open_record(tmp_path / "record", database=database) as record:
        tick_check(record, "pintle", "check 1", setup="", based_on=1, by="Ada")
        crash.look(record, [1])
        revise(record, "pintle", {"log.bin": crash.content(2)}, based_on=1, by="Ada")
        crash.look(record, [1])
        for lost in ([1, 2], [1, 4]):
            with pytest.raises(crash.Lost):
                crash.look(record, lost)
        log = record.blobs.path(find_revision(record, "pintle").files["log.bin"])
        log.write_bytes(log.read_bytes()[:-1])
        with pytest.raises(Damaged):
            crash.look(record, [1])
