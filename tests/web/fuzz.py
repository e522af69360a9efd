"""Asks every address of the server for what nobody should ask: odd paths, queries, headers and bodies, in three roles and without.

    python -m tests.web.fuzz --each 500            a server of its own; every operation that often, roles drawn
    python -m tests.web.fuzz --each 500 --all      each request in every role

No answer may be a fault (status 500), the server's processes may not grow by more than 300 MB, and a tablet that polls beside it
must be answered: 95 of a hundred within half a second.
"""

from __future__ import annotations

import argparse
import contextlib
import http.client
import io
import json
import multiprocessing
import os
import random
import subprocess
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job
from setwright.record.people import Role, add_person
from setwright.record.store import open_record
from setwright.web.passwords import hashed
from tests.web.snapshot import contract
from tests.web.workbench import DEMO, PASSWORD

__all__ = ["Asked", "asked_of", "held_bytes"]

ROLES = {"": None, "Sam": Role.SETTER, "Lea": Role.LEAD, "Ada": Role.ADMINISTRATOR}
ODD = (
    "", "%00", "a%00b", "a" * 5000, "..", "..%2f..%2fjob.toml", "shop", "ok.nc/x", "ok.nc%2fx", "%ff%fe", "%F0%9F%94%A9", "0", "-1",
    "99999999999999999999", "1e9", "null", "NaN", "'%20OR%201=1--", "%0d%0ax:%20y", "CON", "a%20", "%2e", "job.toml", "%ED%A0%80",
    "%C2%B2", "%D9%A3",
)  # fmt: skip
WORDS = (
    "", "\0", "a\0b", "\ud800", "x" * 100_000, "../../job.toml", "shop", "🔩", "1e999", "-1", "NaN", "²", "\u202e", "C:\\x",
    "'; drop", "%s%n",
)
NUMBERS = (0, -1, 10**30, -(10**400), 1.5, 1e308, float("nan"), float("inf"), True, 2**31, 2**63)
PROGRAM = (DEMO / "cap-1.nc").read_bytes()
READING = {"setup": "first side", "tool": 1, "reading": "Z -212.4 mm", "instrument": "height setter"}
BODIES: dict[tuple[str, str], Any] = {
    ("POST", "/api/session"): {"name": "Max", "password": "wrong wrong wrong"},
    ("POST", "/api/people"): {"name": "New", "password": PASSWORD, "role": "viewer"},
    ("PATCH", "/api/people/{name}"): {"role": "viewer", "active": True},
    ("PATCH", "/api/jobs/{job}"): {"files": {"note.txt": "x"}, "note": "why"},
    ("POST", "/api/jobs/{job}/guesses/settled"): {"setup": "first side", "what": "the blank's height"},
    ("POST", "/api/jobs/{job}/touch"): {"setup": "first side", "readings": "", "kind": "tool_length", "reading": READING},
    ("POST", "/api/jobs/{job}/readings/{kind}"): {"reading": READING},
    ("PUT", "/api/jobs/{job}/readings/{kind}/{number}"): {"reading": READING},
    ("POST", "/api/jobs/{job}/calculations"): {"station": "kit", "setup": "", "pitch_mm": 5.0, "until": "cap-1.nc:5"},
    ("POST", "/api/jobs/{job}/accepted"): {"finding": "x", "reason": "seen", "until": "2099-01-01"},
    ("POST", "/api/jobs/{job}/checks"): {"check": "tip over the top", "setup": "first side", "seen": "12.3"},
    ("POST", "/api/jobs/{job}/remarks"): {"text": "clean", "setup": ""},
    ("POST", "/api/jobs/{job}/runs"): {"setup": "", "pieces": 3, "note": ""},
    ("POST", "/api/jobs/{job}/signed"): {"station": "read", "setup": ""},
    ("POST", "/api/jobs/{job}/withdrawn"): {"entry": 1, "reason": "wrong"},
    ("POST", "/api/shop/{kind}/drawing"): {"text": 'name = "drill"\n'},
}
HEADERS = ("if-match", "content-type", "last-event-id", "cookie", "accept-encoding", "range", "sec-fetch-site")
VALUES = ('"0"', '"99999999999"', "x" * 3000, "", "-1", "²", "*", "text/html; charset=\xff", "bytes=0-")
PLACES = {"job": "cap", "kind": "contact", "number": "1", "name": "Max", "result": "1", "finding": "x"}


@dataclass(frozen=True)
class Asked:
    """One request as it goes over the wire: its path is quoted already."""

    method: str
    path: str
    headers: Mapping[str, str]
    body: bytes = field(repr=False)
    what: str = ""


def asked_of(draw: random.Random, each: int) -> Iterator[Asked]:
    """Every operation, `each` times, with something odd in each request."""
    for pattern, methods in contract()["paths"].items():
        for method, said in methods.items():
            for _ in range(each):
                yield _asked(draw, method.upper(), pattern, said)


def _asked(draw: random.Random, method: str, pattern: str, said: Mapping[str, Any]) -> Asked:
    places = dict(PLACES) | ({"kind": "tools"} if "/shop/" in pattern else {})
    query = {one["name"]: _fit(one) for one in said.get("parameters", []) if one["in"] == "query" and one.get("required")}
    headers = {"if-match": "HEAD", "accept": "*/*"}
    body, kind = _body(draw, method, pattern, said)
    for _ in range(draw.randint(1, 2)):
        match draw.choice(("path", "query", "header", "body", "body", "body")):
            case "path":
                places[draw.choice(list(places))] = draw.choice(ODD)
            case "query":
                names = [one["name"] for one in said.get("parameters", []) if one["in"] == "query"] or ["x"]
                query[draw.choice(names)] = draw.choice(ODD)
            case "header":
                headers[draw.choice(HEADERS)] = draw.choice(VALUES)
            case _:
                body = _mutated(draw, body)
    path = pattern
    for name, value in places.items():
        path = path.replace("{" + name + "}", value)
    asked = "&".join(f"{name}={value}" for name, value in query.items())
    if kind:
        headers.setdefault("content-type", kind)
    return Asked(method, path + (f"?{asked}" if asked else ""), headers, body, f"{method} {pattern}")


def _fit(parameter: Mapping[str, Any]) -> str:
    return {"path": "note.txt", "setup": "first%20side", "before": "1"}.get(parameter["name"], "1")


def _body(draw: random.Random, method: str, pattern: str, said: Mapping[str, Any]) -> tuple[bytes, str]:
    """A body that fits, or nearly, and its type."""
    if pattern == "/api/jobs" and method == "POST":
        name = draw.choice(("a.nc", "shop", "shop.nc", "", "ok.nc/x", "CON.nc", "a" * 300 + ".nc", "job.toml", "\0.nc", "ü.nc"))
        program = _mutated(draw, PROGRAM[: draw.randint(200, 1500)])
        return _form({"programs": (name, program), "name": draw.choice(("", "x", "../x", "A B"))})
    if pattern == "/api/jobs/import":
        return _form({"folder": ("job.zip", _packed(draw)), "name": draw.choice(("", "zip", "cap"))})
    if (method, pattern) in BODIES:
        return json.dumps(_odd(draw, BODIES[method, pattern])).encode(), "application/json"
    if "requestBody" in said:
        text = draw.choice((b'name = "x"\n', b"\xff\xfe", b"[[[[", b"a = " + b"[" * 5000, b"x" * 50_000))
        return text, next(iter(said["requestBody"]["content"]))
    return b"", ""


def _odd(draw: random.Random, value: Any) -> Any:
    """A document with something in it that does not belong there."""
    if draw.random() < 0.3:
        return draw.choice((draw.choice(WORDS), draw.choice(NUMBERS), None, [], {}, [value], {"": value}))
    if isinstance(value, dict) and value:
        name = draw.choice(list(value))
        changed = value | {name: _odd(draw, value[name])}
        if draw.random() < 0.2:
            changed = {key: item for key, item in changed.items() if key != name} | {draw.choice(WORDS)[:50]: draw.choice(NUMBERS)}
        return changed
    return value


def _mutated(draw: random.Random, data: bytes) -> bytes:
    if not data or draw.random() < 0.1:
        return draw.choice((b"", b"\0" * 100, b"[" * 100_000, b'{"a":' * 20_000, draw.randbytes(200), b'"\\ud800"', b"1e999999"))
    kind, at = draw.randrange(4), draw.randrange(len(data))
    if kind == 0:
        return data[:at]
    if kind == 1:
        return data[:at] + bytes([draw.randrange(256)]) + data[at + 1 :]
    if kind == 2:
        return data[:at] + data[at : at + 40] * draw.choice((2, 50)) + data[at:]
    return data


def _form(fields: Mapping[str, str | tuple[str, bytes]]) -> tuple[bytes, str]:
    parts = b""
    for name, value in fields.items():
        file = f'; filename="{value[0]}"' if isinstance(value, tuple) else ""
        parts += f'--edge\r\ncontent-disposition: form-data; name="{name}"{file}\r\n\r\n'.encode()
        parts += (value[1] if isinstance(value, tuple) else value.encode()) + b"\r\n"
    return parts + b"--edge--\r\n", "multipart/form-data; boundary=edge"


def _packed(draw: random.Random) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for path in sorted(DEMO.rglob("*")):
            if path.is_file() and draw.random() < 0.95:
                archive.writestr(path.relative_to(DEMO).as_posix(), path.read_bytes())
        for name in draw.sample(("ok.nc", "ok.nc/x", "/etc/x", "../x", "A.nc", "a.nc", "shop", "job.toml/x", "x" * 500, "CON"), 2):
            archive.writestr(name, b"x")
    return _mutated(draw, held.getvalue())


class Client:
    """Somebody who asks over one connection after the other, signed in or not."""

    def __init__(self, port: int, name: str) -> None:
        self.port, self.name = port, name
        self.headers: dict[str, str] = {}
        self.head = 1
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
        if name:
            self.sign_in()

    def sign_in(self) -> None:
        """Have a session."""
        given = json.dumps({"name": self.name, "password": PASSWORD}).encode()
        status, headers, body = self.send("POST", "/api/session", {"content-type": "application/json"}, given)
        if status != 200:
            raise SystemExit(f"{self.name} cannot sign in: {status} {body[:200]!r}")
        self.headers = {"cookie": headers["set-cookie"].partition(";")[0], "x-setwright-token": json.loads(body)["token"]}

    def send(self, method: str, path: str, headers: Mapping[str, str], body: bytes) -> tuple[int, Mapping[str, str], bytes]:
        """One request; of a stream of events only its head."""
        try:
            self.connection.putrequest(method, path, skip_accept_encoding=True)
            for name, value in headers.items():
                self.connection.putheader(name, value.encode("latin-1", "replace"))
            self.connection.putheader("content-length", str(len(body)))
            self.connection.endheaders(body)
            answer = self.connection.getresponse()
            found = {name.lower(): value for name, value in answer.getheaders()}
            stream = "event-stream" in found.get("content-type", "")
            data = b"" if stream else answer.read()
            if stream or answer.will_close:
                self.connection.close()
        except (http.client.HTTPException, OSError) as error:
            self.connection.close()
            return 0, {}, repr(error).encode()
        return answer.status, found, data

    def ask(self, asked: Asked) -> tuple[int, bytes]:
        """One odd request; signs in again where its session was ended by it."""
        newest = {"if-match": f'"{self.head}"'} if asked.headers.get("if-match") == "HEAD" else {}
        sent = self.headers | dict(asked.headers) | newest
        status, _, body = self.send(asked.method, asked.path, sent, asked.body)
        if not status:  # the server had ended the connection over what came before
            status, _, body = self.send(asked.method, asked.path, sent, asked.body)
        if status == 412 or (status in (200, 201) and asked.method != "GET" and "/api/jobs/cap" in asked.path):
            _, headers, _ = self.send("GET", "/api/jobs/cap/readings", self.headers, b"")
            self.head = int(headers.get("etag", "").strip('"') or self.head)
        if self.name and (status == 401 or asked.what == "DELETE /api/session"):
            self.sign_in()
        return status, body


def held_bytes(process: int) -> int:
    """Bytes of memory in use by a process and all below it."""
    parents: dict[int, int] = {}
    sizes: dict[int, int] = {}
    for one in Path("/proc").iterdir():
        if one.name.isdigit():
            with contextlib.suppress(OSError, ValueError, IndexError):
                parents[int(one.name)] = int((one / "stat").read_text().rpartition(")")[2].split()[1])
                sizes[int(one.name)] = int((one / "statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")

    def below(one: int | None) -> bool:
        while one is not None and one != process:
            one = parents.get(one)
        return one is not None

    return sum(size for one, size in sizes.items() if below(one))


def tablet(port: int, pipe: Connection) -> None:
    """Polls as a tablet does until told to stop; sends how long each answer took."""
    client, took = Client(port, "Vic"), []
    paths = ("/api/jobs/cap", "/api/jobs/cap/statements", "/api/jobs/cap/touch", "/api/jobs")
    while not pipe.poll(0.25):
        began = time.monotonic()
        status, _, body = client.send("GET", paths[len(took) % len(paths)], client.headers, b"")
        took.append((time.monotonic() - began, status, body[:200]))
    pipe.send(took)


def serve(place: Path) -> tuple[subprocess.Popen[bytes], int]:
    """A server with a job and people in it, and its port."""
    import socket

    with open_record(place) as record:
        add_job(record, gather_folder(DEMO), name="cap", by="Ada")
        for name, role in {**ROLES, "Vic": Role.VIEWER, "Max": Role.VIEWER}.items():
            if role is not None:
                add_person(record, name, role=role, secret=hashed(PASSWORD, name=name))
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    command = "import typer; from setwright.cli import serve; typer.run(serve.command)"
    server = subprocess.Popen([sys.executable, "-c", command, "--record", str(place), "--port", str(port), "--accounts"])
    until = time.monotonic() + 120.0
    while time.monotonic() < until:
        if Client(port, "").send("GET", "/api/session", {}, b"")[0]:
            return server, port
        time.sleep(0.2)
    raise SystemExit("the server does not answer")


def main() -> None:
    """Print what was answered, and end with status 1 where something was not as it should be."""
    parse = argparse.ArgumentParser()
    parse.add_argument("--each", type=int, default=500)
    parse.add_argument("--seed", type=int, default=1)
    parse.add_argument("--all", action="store_true")
    parse.add_argument("--warm", type=int, default=3)
    given = parse.parse_args()
    with tempfile.TemporaryDirectory(prefix="setwright-fuzz-") as scratch:
        server, port = serve(Path(scratch) / "record")
        try:
            _run(server.pid, port, given)
        finally:
            server.terminate()
            server.wait(timeout=60)


def _run(process: int, port: int, given: argparse.Namespace) -> None:
    draw = random.Random(given.seed)
    clients = {name: Client(port, name) for name in ROLES}
    for asked in asked_of(random.Random(0), given.warm):
        clients["Sam"].ask(asked)
    before, began = held_bytes(process), time.monotonic()
    context = multiprocessing.get_context("spawn")
    own, other = context.Pipe()
    beside = context.Process(target=tablet, args=(port, other), daemon=True)
    beside.start()
    statuses: Counter[int] = Counter()
    faults = []
    most = before
    for number, asked in enumerate(asked_of(draw, given.each)):
        for name in ROLES if given.all else (draw.choice(list(ROLES)),):
            status, body = clients[name].ask(asked)
            statuses[status] += 1
            if status in (0, 500):
                said = f"{status} {name or 'nobody'}: {asked.method} {asked.path[:120]} {asked.body[:120]!r}"
                faults.append(f"{said}: {body[:200]!r}")
                print(faults[-1], flush=True)
        if number % 200 == 0:
            most = max(most, held_bytes(process))
    own.send("stop")
    polled: list[tuple[float, int, bytes]] = own.recv()
    took = sorted(lasted for lasted, _, _ in polled)
    late = took[int(0.95 * len(took))]
    grown = (held_bytes(process) - before) / 1e6
    print(f"{statuses.total():,} requests in {time.monotonic() - began:.0f} s, load {os.getloadavg()[0]:.1f}; "
          f"answers {dict(sorted(statuses.items()))}; {len(faults)} faults")  # fmt: skip
    bad = sum(status != 200 for _, status, _ in polled)
    print(f"grown by {grown:.0f} MB, at the most {(most - before) / 1e6:.0f} MB above {before / 1e6:.0f} MB; "
          f"tablet: {len(took)} answers, {bad} not good, 95th of a hundred {1000 * late:.0f} ms")  # fmt: skip
    sys.exit(bool(faults) or grown > 300.0 or late > 0.5)


if __name__ == "__main__":
    main()
