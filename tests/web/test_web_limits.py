"""What comes half, slowly or by another way: closed in time, refused in words, believed from nobody."""

from __future__ import annotations

import contextlib
import itertools
import socket
import threading
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import Message, Receive, Scope, Send

from setwright.base.errors import InputRefused
from setwright.web.limits import CONNECTION, BodyLimit, PromptProtocol, ThroughProxy
from setwright.web.settings import Settings
from tests.web.workbench import Person, alone, refused, running

SOON_S = 0.1
HEAD = b"PUT /api/jobs/cap/file HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-length: 1000\r\n\r\n"


async def takes_a_body(scope: Scope, receive: Receive, send: Send) -> None:
    body = await Request(scope, receive).body() if scope["method"] == "PUT" else b""
    await PlainTextResponse(f"{len(body)} bytes")(scope, receive, send)


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """The port of a real server whose patience is short."""
    monkeypatch.setattr(PromptProtocol, "header_s", SOON_S)
    app = BodyLimit(takes_a_body, largest=10_000, pause_s=SOON_S)
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, **CONNECTION, lifespan="off", log_level="critical", timeout_graceful_shutdown=1))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        yield int(listening.getsockname()[1])
    finally:
        server.should_exit = True
        thread.join()


@contextlib.contextmanager
def connected(port: int) -> Iterator[socket.socket]:
    with socket.create_connection(("127.0.0.1", port), timeout=60.0) as connection:
        yield connection


def everything(connection: socket.socket) -> bytes:
    """What comes until the other side closes."""
    found = b""
    with contextlib.suppress(ConnectionResetError):
        while piece := connection.recv(65536):
            found += piece
    return found


@pytest.mark.parametrize("sent", [b"", b"GET", b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx-slow: "])
def test_half_a_head_is_closed_in_time(served: int, sent: bytes) -> None:
    with connected(served) as connection:
        connection.sendall(sent)
        assert everything(connection) == b""


def test_half_a_head_after_a_whole_request_is_closed_in_time(served: int) -> None:
    with connected(served) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n")
        assert connection.recv(65536).startswith(b"HTTP/1.1 200")
        connection.sendall(b"GET / HTTP/1.1\r\nhost: ")
        assert b"HTTP/1.1" not in everything(connection)


@pytest.mark.parametrize("body", [b"", b"x" * 999])
def test_half_a_body_is_refused_in_words_and_closed(served: int, body: bytes) -> None:
    with connected(served) as connection:
        connection.sendall(HEAD + body)
        answer = everything(connection)
    assert answer.startswith(b"HTTP/1.1 408")
    assert f"{len(body)} bytes came, and then nothing more in time".encode() in answer


def test_a_whole_body_is_taken(served: int) -> None:
    with connected(served) as connection:
        connection.sendall(HEAD.replace(b"\r\n\r\n", b"\r\nconnection: close\r\n\r\n") + b"x" * 1000)
        assert everything(connection).endswith(b"1000 bytes")


def test_a_body_that_trickles_is_refused_in_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """A byte each time somebody looks at the clock, which goes on by 10 ms."""
    answers: list[Message] = []
    clock = itertools.count(0.0, 0.01)
    monkeypatch.setattr("setwright.web.limits.time", SimpleNamespace(monotonic=lambda: next(clock)))

    async def receive() -> Message:
        return {"type": "http.request", "body": b"x", "more_body": True}

    async def send(message: Message) -> None:
        answers.append(message)

    scope = {"type": "http", "headers": [], "method": "PUT", "path": "/api/jobs/cap/file"}
    alone(BodyLimit(takes_a_body, largest=10**9, begin_s=1.0)(scope, receive, send))
    assert answers[0]["status"] == 408
    assert b"100 bytes came" in answers[1]["body"]


def test_who_waits_for_a_long_answer_is_not_cut_off() -> None:
    """The limit ends with the body: what is received behind it is word that whoever asked has left."""
    said: list[str] = []

    async def answers_late(scope: Scope, receive: Receive, send: Send) -> None:
        await receive()
        said.append((await receive())["type"])
        await PlainTextResponse("late")(scope, receive, send)

    messages: Iterator[Message] = iter([{"type": "http.request", "body": b""}, {"type": "http.disconnect"}])

    async def receive() -> Message:
        return next(messages)

    async def send(message: Message) -> None:
        said.append(message["type"])

    scope = {"type": "http", "headers": [], "method": "PUT", "path": "/api/jobs/cap/file"}
    alone(BodyLimit(answers_late, largest=10, pause_s=10.0)(scope, receive, send))
    assert said == ["http.disconnect", "http.response.start", "http.response.body"]


async def tells_the_way(scope: Scope, receive: Receive, send: Send) -> None:
    await PlainTextResponse(f"{scope['scheme']} {scope['client'][0]}")(scope, receive, send)


FORWARDED = {"x-forwarded-for": "192.168.1.77", "x-forwarded-proto": "https"}


def test_only_the_proxy_that_was_named_is_believed_and_answered() -> None:
    app: Any = ThroughProxy(tells_the_way, proxy="10.0.0.5")
    through = TestClient(app, base_url="http://127.0.0.1", client=("10.0.0.5", 1))
    assert through.get("/", headers=FORWARDED).text == "https 192.168.1.77"
    beside = TestClient(app, base_url="http://127.0.0.1", client=("10.0.0.6", 1))
    refused(beside.get("/", headers=FORWARDED), 403, "through its proxy")


def test_without_a_proxy_no_header_says_who_asks_or_how(shop: FastAPI) -> None:
    assert CONNECTION["proxy_headers"] is False
    client = TestClient(shop, base_url="http://127.0.0.1", client=("10.0.0.6", 1), headers=FORWARDED)
    refused(client.post("/api/session", json={"name": "Sam", "password": "wrong wrong wrong"}), 401)
    assert Person(shop, "Ada").read("/api/audit")["lines"][1]["address"] == "10.0.0.6"


def test_behind_a_proxy_cookies_go_by_https_only(tmp_path: Path) -> None:
    with running(tmp_path / "record", accounts=True, proxy="10.0.0.5") as app:
        client = TestClient(app, base_url="https://127.0.0.1", client=("10.0.0.5", 1), headers=FORWARDED)
        signed = client.post("/api/session", json={"name": "vic", "password": "a vise and two parallels"})
        assert "; secure" in signed.headers["set-cookie"].casefold()
        assert "strict-transport-security" in signed.headers


def test_what_others_can_read_is_known_before_anybody_signs_in(tmp_path: Path) -> None:
    def readable(**said: Any) -> bool:
        return Settings(place=tmp_path, accounts=True, **said).readable_by_others

    assert readable(host="192.168.1.4")
    assert not readable(host="127.0.0.1")
    assert not readable(host="192.168.1.4", tls=True)
    assert not readable(host="192.168.1.4", proxy="192.168.1.5")
    with pytest.raises(InputRefused, match="no address of a proxy"):
        readable(host="192.168.1.4", proxy="*")
