"""Kills a process that writes to a record, again and again, and looks whether anything it acknowledged is lost or half there.

    python -m tests.record.crash --rounds 200 [--database ADDRESS]

The writer says "n" on its output after each write has returned. It is killed without warning at a moment drawn at random; then the
record is opened as after any crash: everything acknowledged must be there whole, at most one write more may be, and nothing half.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path

from setwright.record.backup import verify
from setwright.record.entries import entries, tick_check
from setwright.record.folder import JobFiles, gather_folder
from setwright.record.jobs import add_job, find_revision, revise, revision_files, revisions
from setwright.record.store import Record, open_record

__all__ = ["Lost", "hit", "start"]

DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo" / "pintle"
_LARGE = 50_000


class Lost(AssertionError):
    """Something acknowledged is not there, or something is half there."""


def content(number: int) -> bytes:
    """What write `number` puts into the file: large enough to be hit in the middle."""
    return f"{number}\n".encode() + random.Random(number).randbytes(_LARGE)


def start(place: Path, database: str) -> None:
    """A record with one job."""
    with open_record(place, database=database) as record:
        files = gather_folder(DEMO).files
        add_job(record, JobFiles({**files, "log.bin": content(1)}), name="pintle", by="Ada")


def write_for_ever(place: Path, database: str, out: int) -> None:
    """Revisions and ticks in turn, from wherever the record stands, each acknowledged when it has returned."""
    with open_record(place, database=database) as record:
        number = find_revision(record, "pintle").number
        while True:
            number = revise(record, "pintle", {"log.bin": content(number + 1)}, based_on=number, by="Ada").number
            tick_check(record, "pintle", f"check {number}", setup="", based_on=number, by="Ada")
            os.write(out, f"{number}\n".encode())


def hit(place: Path, database: str, acknowledged: list[int], *, after: int, delay: float) -> list[int]:
    """Let a writer acknowledge `after` writes, kill it `delay` seconds later, and look; returns all writes acknowledged so far."""
    receiver, sender = os.pipe()
    writer = os.fork()
    if writer == 0:
        os.close(receiver)
        write_for_ever(place, database, sender)
    os.close(sender)
    with os.fdopen(receiver, "rb") as said_by_writer:
        said = [said_by_writer.readline() for _ in range(after)]
        time.sleep(delay)
        os.kill(writer, signal.SIGKILL)
        os.waitpid(writer, 0)
        said += said_by_writer.readlines()
    whole = [int(line) for line in said if line.endswith(b"\n")]
    if not whole:
        raise Lost("the writer never acknowledged anything")
    with open_record(place, database=database) as record:
        look(record, acknowledged + whole)
    return acknowledged + whole


def look(record: Record, acknowledged: list[int]) -> None:
    """Hold the record against what was acknowledged: revisions by number, each followed by a tick."""
    verify(record)
    held = [one.number for one in revisions(record, "pintle")]
    most = max(acknowledged)
    if held != list(range(1, len(held) + 1)) or len(held) not in (most, most + 1):
        raise Lost(f"acknowledged {most}, but the revisions are {held}")
    ticks = {int(one.subject.removeprefix("check ")) for one in entries(record, "pintle")}
    if missing := set(acknowledged) - ticks:
        raise Lost(f"acknowledged, but not there: the ticks of {sorted(missing)}")
    if strange := ticks - set(held):
        raise Lost(f"ticks of revisions that are not there: {sorted(strange)}")
    for number in (most, len(held)):
        if revision_files(record, find_revision(record, "pintle", number=number)).files["log.bin"] != content(number):
            raise Lost(f"revision {number} does not hold what was written")


def main() -> int:
    """Rounds of writing and killing, each on the record the last one left."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--database", default="")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    draw = random.Random(asked.seed)
    with tempfile.TemporaryDirectory(prefix="setwright-crash-") as scratch:
        start(Path(scratch), asked.database)
        acknowledged: list[int] = []
        for number in range(1, asked.rounds + 1):
            after, delay = draw.randint(1, 3), draw.uniform(0.0, 0.1)
            acknowledged = hit(Path(scratch), asked.database, acknowledged, after=after, delay=delay)
            print(f"round {number}: {len(acknowledged)} writes acknowledged, none lost", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
