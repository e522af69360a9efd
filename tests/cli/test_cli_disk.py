"""A full disk and one that can only be read, really mounted: told in words with a remedy, and nothing half-written."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

from setwright.base.errors import InputRefused
from setwright.cli.main import app
from setwright.record.backup import verify
from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job, revise
from setwright.record.refusals import Unavailable
from setwright.record.store import open_record
from setwright.sheet.render import render
from tests.sheet.sample import SAMPLE

DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo" / "spacers"


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of half a megabyte with a job on it."""
    place = tmp_path / "disk"
    place.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(place)], check=False, capture_output=True)
    if made.returncode:
        pytest.skip("a file system may not be mounted here")
    shutil.copytree(DEMO, place / "job")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def fill(disk: Path) -> None:
    """Until not a byte more goes in."""
    handle = os.open(disk / "full", os.O_CREAT | os.O_WRONLY)
    with contextlib.suppress(OSError):
        while True:
            os.write(handle, bytes(4096))
    os.close(handle)


def shut(disk: Path) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)


def there(disk: Path) -> dict[str, bytes]:
    return {str(path.relative_to(disk)): path.read_bytes() for path in disk.rglob("*") if path.is_file()}


@pytest.mark.parametrize(("spoil", "why"), [(fill, "No space left on device"), (shut, "Read-only file system")])
@pytest.mark.parametrize("words", [
    ["start", "{disk}/job/spacers.nc", "-o", "{disk}/new"],
    ["read", "{disk}/job", "--plot", "{disk}/path.svg"],
    ["record", "import", "{disk}/job", "--record", "{disk}/record"],
], ids=["start", "plot", "record"])  # fmt: skip
def test_a_command_says_what_it_could_not_write_and_leaves_nothing(disk: Path, spoil, why: str, words: list[str]) -> None:
    spoil(disk)
    before = there(disk)
    done = CliRunner().invoke(app, [word.replace("{disk}", str(disk)) for word in words])
    assert done.exit_code == 2, done.output
    assert why in done.output or "disk of the record is full" in done.output
    assert "fault of Setwright" not in done.output
    assert {name: data for name, data in there(disk).items() if not name.startswith("record/")} == before


@pytest.mark.parametrize(("spoil", "errno_words"), [(fill, "No space"), (shut, "Read-only")])
def test_a_sheet_that_cannot_be_written_leaves_no_half_of_it(disk: Path, spoil, errno_words: str) -> None:
    (disk / "sheet.pdf").write_bytes(b"the old one")
    spoil(disk)
    before = there(disk)
    with pytest.raises(InputRefused, match=errno_words):
        render(SAMPLE, out=disk / "sheet.pdf")
    assert there(disk) == before


def test_a_record_on_a_full_disk_goes_on_when_there_is_room(disk: Path) -> None:
    with open_record(disk / "record") as record:
        add_job(record, gather_folder(DEMO), name="spacers", by="Ada")
        fill(disk)
        for number in range(3):
            with pytest.raises(Unavailable, match=r"full|folder cannot be written"):
                revise(record, "spacers", {"log.bin": os.urandom(50_000)}, based_on=1, by="Ada", note=str(number))
        assert verify(record).revisions == 1
        (disk / "full").unlink()
        revise(record, "spacers", {"log.bin": os.urandom(50_000)}, based_on=1, by="Ada")
        assert verify(record).revisions == 2
