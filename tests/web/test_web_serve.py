"""The real thing: the command in a process of its own, reached over a socket, ended by a signal."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2
import pytest

from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job
from setwright.record.people import Role, add_person
from setwright.record.store import open_record
from setwright.web.passwords import hashed
from tests.web.workbench import DEMO, PASSWORD

COMMAND = "import typer; from setwright.cli import serve; typer.run(serve.command)"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def serving(place: Path, *options: str) -> Iterator[tuple[httpx2.Client, subprocess.Popen[str]]]:
    port = free_port()
    command = [sys.executable, "-c", COMMAND, "--record", str(place), "--port", str(port), *options]
    environment = os.environ | {"PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment) as server:
        watch = threading.Timer(120, server.kill)
        watch.start()
        try:
            assert server.stdout is not None
            assert f"http://127.0.0.1:{port}" in server.stdout.readline()
            with httpx2.Client(base_url=f"http://127.0.0.1:{port}", timeout=60) as client:
                until_it_answers(client, server)
                yield client, server
        finally:
            watch.cancel()
            server.kill()


def until_it_answers(client: httpx2.Client, server: subprocess.Popen[str]) -> None:
    while server.poll() is None:
        try:
            client.get("/api/session")
            return
        except httpx2.ConnectError:
            continue
    pytest.fail(server.stderr.read() if server.stderr else "the server has ended")


def test_it_serves_and_ends_when_told(tmp_path: Path) -> None:
    with open_record(tmp_path) as record:
        add_job(record, gather_folder(DEMO), name="cap", by="Ada")
    with serving(tmp_path) as (client, server):
        assert [one["name"] for one in client.get("/api/jobs").json()["jobs"]] == ["cap"]
        answer = client.get("/api/jobs/cap", headers={"host": "evil.test"})
        assert (answer.status_code, answer.json()["refused"]) == (421, True)
        assert "server" not in answer.headers
        with client.stream("GET", "/api/jobs/cap/events") as stream:
            assert next(stream.iter_lines()) == "event: changed"
        server.send_signal(signal.SIGTERM)
        assert server.wait(timeout=60) in (0, -signal.SIGTERM)


def test_with_accounts_it_takes_a_session(tmp_path: Path) -> None:
    with open_record(tmp_path) as record:
        add_person(record, "Ada", role=Role.ADMINISTRATOR, secret=hashed(PASSWORD, name="Ada"))
    with serving(tmp_path, "--accounts") as (client, _):
        assert client.get("/api/jobs").status_code == 401
        assert client.post("/api/session", json={"name": "Ada", "password": PASSWORD}).status_code == 200
        assert client.get("/api/jobs").json()["jobs"] == []


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--host", "0.0.0.0"], "add accounts"),
        (["--accounts"], "record person NAME --role administrator"),
        (["--certificate", "nowhere.pem"], "there is no file nowhere.pem"),
        (["--database", "post gres"], "write postgresql://"),
    ],
)
def test_what_cannot_be_served_is_refused(tmp_path: Path, options: list[str], words: str) -> None:
    command = [sys.executable, "-c", COMMAND, "--record", str(tmp_path), *options]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr
