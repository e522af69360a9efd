"""What the tests of the server share: a server with a record of its own, a person who asks it, workers that do as they are told."""

from __future__ import annotations

import asyncio
import atexit
import contextlib
import json
import os
import time
from collections.abc import Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from httpx2 import Response
from pydantic import TypeAdapter

from setwright.base.errors import InputRefused, Problem
from setwright.record.people import Role, add_person
from setwright.record.store import open_record
from setwright.web.app import create_app
from setwright.web.bounded import Bounded
from setwright.web.made import Made
from setwright.web.passwords import hashed
from setwright.web.settings import Settings
from setwright.web.worker import Bounds
from setwright.web.workers import Serve


def alone(work: Coroutine[Any, Any, Any]) -> Any:
    """What a coroutine returns, run in a thread of its own: the tests in a browser leave a loop running in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo" / "bearing-cap"
PASSWORD = "a vise and two parallels"
NAMES = {"Vic": Role.VIEWER, "Sam": Role.SETTER, "Lea": Role.LEAD, "Ada": Role.ADMINISTRATOR}
FINDING = {
    "slug": "close-pass", "signal": "CAUTION", "text": "holder passes the jaw at 1.2 mm", "remedy": "", "file": "cap-1.nc",
    "line": 40, "column": 1, "setup": "first side", "tool": 1, "body": "fixed jaw", "value": 1.2, "unit": "mm",
    "state": "found", "motion": 3, "excerpt": "",
}  # fmt: skip


@cache
def readers() -> Bounded:
    """Processes for short work that all servers of this run share."""
    made = Bounded(count=1, waiting=20, bounds=Bounds(processor_s=120.0, wall_s=240.0, memory=2_000_000_000))
    atexit.register(made.close)
    return made


def serve_told(pipe: Connection, stop: Event, bounds: Bounds, scratch: str) -> None:
    """A worker that does what the option `until` of its task says."""
    del bounds, scratch
    while True:
        try:
            task = pipe.recv()
        except (EOFError, OSError):
            return
        told = task.options.get("until", "")
        if told == "die":
            os._exit(9)
        if told == "wait":
            pipe.send(("progress", "waiting", 0, 10))
            while not stop.is_set():
                time.sleep(0.005)
            pipe.send(("stopped",))
        elif told == "deaf":
            pipe.send(("progress", "waiting", 0, 10))
            time.sleep(3600)
        elif told == "refuse":
            pipe.send(("refused", InputRefused, (Problem("no tool 7", "the kit has none", "put one in"),)))
        elif told == "break":
            pipe.send(("broken", "Traceback"))
        else:
            for done in range(1, 6):
                pipe.send(("progress", "removing metal", done, 5))
            document = {"verdict": "Nothing hits.", "findings": [FINDING]}
            pipe.send(("made", [Made("proof.json", "application/json", json.dumps(document).encode())]))


def holds_to_its_shape(app: Any, method: str, path: str, answer: Response) -> None:
    """A good answer is what the address promises, a bad one a refusal."""
    if "json" not in answer.headers.get("content-type", "") or answer.status_code >= 400:
        return
    where = path.partition("?")[0]
    for route in routes_of(app):
        if method in (route.methods or ()) and route.path_regex.fullmatch(where):
            if route.response_model is not None:
                TypeAdapter(route.response_model).validate_json(answer.content, strict=True)
            return


def routes_of(app: Any) -> Iterator[APIRoute]:
    """Every address, those of the parts too."""
    for route in app.routes:
        if isinstance(route, APIRoute):
            yield route
        elif hasattr(route, "original_router"):
            yield from routes_of(route.original_router)


class Person:
    """Somebody with a browser: keeps cookie and token, sends If-Match when told the revision."""

    def __init__(self, app: FastAPI, name: str = "") -> None:
        self.client = TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False)
        self.token = ""
        if name:
            answer = self.client.post("/api/session", json={"name": name, "password": PASSWORD})
            assert answer.status_code == 200, answer.text
            self.token = answer.json()["token"]
        else:
            self.token = self.client.get("/api/session").json().get("token", "")

    def ask(
        self, method: str, path: str, *, based_on: int | None = None, headers: dict[str, str] | None = None, **rest: Any
    ) -> Response:
        """One request. Its answer must have the shape that the description of the addresses gives it."""
        answer = self._ask(method, path, based_on=based_on, headers=headers, **rest)
        holds_to_its_shape(self.client.app, method, path, answer)
        return answer

    def _ask(
        self, method: str, path: str, *, based_on: int | None = None, headers: dict[str, str] | None = None, **rest: Any
    ) -> Response:
        sent = {"x-setwright-token": self.token} | ({} if based_on is None else {"if-match": f'"{based_on}"'}) | (headers or {})
        return self.client.request(method, path, headers=sent, **rest)

    def read(self, path: str) -> Any:
        """A document that must be there."""
        answer = self.ask("GET", path)
        assert answer.status_code == 200, answer.text
        return answer.json()


@contextlib.contextmanager
def running(place: Path, *, serve: Serve = serve_told, accounts: bool = False, **settings: Any) -> Iterator[FastAPI]:
    """A server with a record in `place`; with accounts, one person of each role."""
    if accounts:
        with open_record(place) as record:
            secret = hashed(PASSWORD, name="somebody")
            for name, role in NAMES.items():
                add_person(record, name, role=role, secret=secret)
    app = create_app(Settings(place=place, accounts=accounts, local_name="Ada", **{"workers": 1, **settings}), serve=serve,
                     bounded=readers())  # fmt: skip
    with TestClient(app):
        yield app


def programs() -> list[tuple[str, tuple[str, bytes]]]:
    """The bearing cap's programs as a browser drops them."""
    return [("programs", (name, (DEMO / name).read_bytes())) for name in ("cap-1.nc", "cap-2.nc")]


def ended(person: Person, number: int) -> dict[str, Any]:
    """The calculation, once it has ended: what its stream says last."""
    with person.client.stream("GET", f"/api/calculations/{number}/events") as stream:
        lines = [line for line in stream.iter_lines() if line.startswith("data: ")]
    found: dict[str, Any] = json.loads(lines[-1].removeprefix("data: "))
    return found


def refused(answer: Response, status: int, *words: str) -> None:
    """The answer is a refusal of the one shape."""
    assert answer.status_code == status, answer.text
    document = answer.json()
    assert document["refused"] is True
    assert document["schema"] == 1
    assert document["findings"]
    for finding in document["findings"]:
        assert finding["slug"] == "input-refused"
        assert finding["text"]
    said = answer.text
    for word in words:
        assert word in said
