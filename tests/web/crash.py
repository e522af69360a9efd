"""Kills the server, or the database under it, while somebody writes over HTTP, again and again: is anything lost or half there?

    python -m tests.web.crash --rounds 200                     the server killed, the record in a file
    python -m tests.web.crash --rounds 200 --postgres          the server killed, the record in a PostgreSQL server of its own
    python -m tests.web.crash --rounds 200 --kill database     that PostgreSQL server killed with everything it runs

What the client heard a good answer to must be there whole after every kill; at most one write more may be, and nothing half. A
killed server is started again at once; under a killed database the same server must go on when the database is back.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import signal
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx2
import uvicorn

from setwright.record.store import open_record
from setwright.web.app import create_app
from setwright.web.settings import Settings
from tests.record.crash import Lost, content, look, start
from tests.record.server import OwnServer, programs

__all__ = ["Writer", "rounds_with_database_killed", "rounds_with_server_killed", "serving"]

JOB = "/api/jobs/pintle"
_PATIENCE_S = 60.0


class Serving:
    """The application in a process of its own, forked from this one, which must have no threads then."""

    def __init__(self, place: Path, database: str) -> None:
        self._app = create_app(Settings(place=place, database=database, workers=1, local_name="Ada"))
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.process = 0

    def start(self) -> None:
        """Start it and wait until it answers."""
        self.process = os.fork()
        if self.process == 0:
            try:
                uvicorn.run(self._app, host="127.0.0.1", port=self.port, log_level="critical")
            finally:
                os._exit(1)
        until(lambda: httpx2.get(f"http://127.0.0.1:{self.port}/api/session", timeout=5.0).is_success, "the server does not answer")

    def kill(self) -> None:
        """As a power cut would."""
        if self.process:
            os.kill(self.process, signal.SIGKILL)
            os.waitpid(self.process, 0)
        self.process = 0


@contextlib.contextmanager
def serving(place: Path, database: str = "") -> Iterator[Serving]:
    """A running server, killed at the end."""
    server = Serving(place, database)
    server.start()
    try:
        yield server
    finally:
        server.kill()


def until(holds: Callable[[], bool], otherwise: str) -> None:
    """Wait until something holds; what goes wrong in the meantime is waited for too."""
    ends = time.monotonic() + _PATIENCE_S
    while time.monotonic() < ends:
        with contextlib.suppress(httpx2.TransportError):
            if holds():
                return
        time.sleep(0.02)
    raise Lost(otherwise)


@dataclass
class Writer:
    """Somebody who writes over HTTP, and remembers what was acknowledged: revisions in turn with a tick of each."""

    port: int
    acknowledged: list[int] = field(default_factory=list)
    ticked: list[int] = field(default_factory=list)
    answers: int = 0

    def write(self, stop: threading.Event) -> None:
        """Write until told to stop, or until the server or its database is away. A refusal acknowledges nothing."""
        with contextlib.suppress(httpx2.TransportError), self._client() as client:
            number = int(client.get(JOB).json()["revision"]["number"])
            while not stop.is_set():
                answer = client.put(f"{JOB}/file", params={"path": "log.bin"}, content=content(number + 1),
                                    headers={"if-match": f'"{number}"'})  # fmt: skip
                if not answer.is_success:
                    return
                number += 1
                self.acknowledged.append(number)
                self.answers += 1
                answer = client.post(f"{JOB}/checks", json={"check": f"check {number}"}, headers={"if-match": f'"{number}"'})
                if not answer.is_success:
                    return
                self.ticked.append(number)
                self.answers += 1

    def look(self) -> None:
        """The last of what was acknowledged, as the server tells it now; it may hold one revision more."""
        with self._client() as client:
            until(lambda: client.get(JOB).is_success, "the job is not answered for")
            head = int(client.get(JOB).json()["revision"]["number"])
            most = max(self.acknowledged, default=1)
            if head not in (most, most + 1):
                raise Lost(f"acknowledged {most}, but the newest revision is {head}")
            for number in {most, head}:
                held = client.get(f"{JOB}/file", params={"path": "log.bin", "revision": number}).content
                if held != content(number):
                    raise Lost(f"revision {number} does not hold what was written")
            ticks = {int(one["subject"].removeprefix("check ")) for one in client.get(f"{JOB}/statements").json()["checks"]}
            if missing := set(self.ticked) - ticks:
                raise Lost(f"acknowledged, but not there: the ticks of {sorted(missing)}")
            if head > most:  # it was written, and nobody heard so
                self.acknowledged.append(head)

    @contextlib.contextmanager
    def _client(self) -> Iterator[httpx2.Client]:
        with httpx2.Client(base_url=f"http://127.0.0.1:{self.port}", timeout=_PATIENCE_S) as client:
            client.headers["x-setwright-token"] = client.get("/api/session").json()["token"]
            yield client


def one_round(writer: Writer, draw: random.Random, kill: Callable[[], None], again: Callable[[], None]) -> None:
    """Let the writer be heard a few times, kill a moment later, start again, look."""
    enough, stop = writer.answers + draw.randint(2, 6), threading.Event()
    writing = threading.Thread(target=writer.write, args=(stop,))
    writing.start()
    until(lambda: writer.answers >= enough or not writing.is_alive(), "nothing was acknowledged")
    time.sleep(draw.uniform(0.0, 0.05))
    kill()
    stop.set()
    writing.join()
    if writer.answers < enough:
        raise Lost("the writer was refused while everything ran")
    again()
    writer.look()


def rounds_with_server_killed(place: Path, database: str, rounds: int, *, seed: int = 1) -> Iterator[Writer]:
    """The writer after every round."""
    start(place, database)
    draw = random.Random(seed)
    with serving(place, database) as server:
        writer = Writer(server.port)
        for _ in range(rounds):
            one_round(writer, draw, server.kill, server.start)
            yield writer
    _whole(place, database, writer)


def rounds_with_database_killed(place: Path, database: OwnServer, rounds: int, *, seed: int = 1) -> Iterator[Writer]:
    """The writer after every round."""
    start(place, database.address)
    draw = random.Random(seed)
    with serving(place, database.address) as server:
        writer = Writer(server.port)
        for _ in range(rounds):
            one_round(writer, draw, database.kill, database.start)
            yield writer
    _whole(place, database.address, writer)


def _whole(place: Path, database: str, writer: Writer) -> None:
    """Everything there is, against everything that was acknowledged."""
    with open_record(place, database=database) as record:
        missing = set(writer.acknowledged) - set(writer.ticked)  # written, but the tick was never acknowledged: it may be missing
        look(record, [number for number in writer.acknowledged if number not in missing] or [1])


def main() -> int:
    """Rounds of writing and killing, each on the record the last one left."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--postgres", action="store_true")
    parser.add_argument("--kill", choices=("server", "database"), default="server")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="setwright-crash-") as scratch, contextlib.ExitStack() as held:
        place = Path(scratch) / "record"
        database: Any = None
        if asked.postgres or asked.kill == "database":
            folder = programs()
            if folder is None:
                print("there is no PostgreSQL server here", file=sys.stderr)
                return 2
            database = held.enter_context(OwnServer(folder))
        if asked.kill == "database":
            turns = rounds_with_database_killed(place, database, asked.rounds, seed=asked.seed)
        else:
            turns = rounds_with_server_killed(place, database.address if database else "", asked.rounds, seed=asked.seed)
        for number, writer in enumerate(turns, start=1):
            print(f"round {number}: {writer.answers} writes acknowledged, none lost", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
