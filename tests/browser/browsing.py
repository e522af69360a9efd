"""What the tests in a browser share: a real server with the three bundled jobs proved, a real browser, a person who uses it."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import httpx2
from axe_playwright_python.sync_playwright import Axe
from hatch_build import pages_fit
from playwright.sync_api import Browser, Locator, Page, Playwright, expect

from setwright.record.calculations import calculations
from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job
from setwright.record.store import open_record

ROOT: Final = Path(__file__).resolve().parents[2]
DEMOS: Final = ROOT / "src" / "setwright" / "demo"
COMMAND: Final = "import typer; from setwright.cli import serve; typer.run(serve.command)"
ARGUMENTS: Final = [
    "--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run",
]  # fmt: skip
LONG_MS: Final = 60_000
_CHOSEN: Final = ("SETWRIGHT_BROWSER", "chromium", "chromium-browser")


def browser_path() -> str | None:
    """The browser of this machine; None if there is none."""
    stated = os.environ.get(_CHOSEN[0])
    return stated or next((found for found in map(shutil.which, _CHOSEN[1:]) if found), None)


def why_not() -> str:
    """Why the tests in a browser cannot run here; empty if they can."""
    if browser_path() is None:
        return "no Chromium on this machine (Debian: apt-get install chromium)"
    if not pages_fit():
        return "the pages are not built from these sources: python hatch_build.py"
    return ""


def free_port() -> int:
    """A port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Server:
    """The command in a process of its own, which can be killed and started again at the same address."""

    def __init__(self, place: Path, *options: str) -> None:
        self.place, self.options, self.port = place, options, free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None
        self.log = place.parent / f"{place.name}.log"

    def start(self) -> None:
        """Start it and wait until it answers."""
        command = [sys.executable, "-c", COMMAND, "--record", str(self.place), "--port", str(self.port), *self.options]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(command, stdout=log, stderr=log, cwd=self.place.parent)
        ends = time.monotonic() + 120
        while time.monotonic() < ends and self.process.poll() is None:
            with contextlib.suppress(httpx2.TransportError):
                httpx2.get(self.url + "/api/session", timeout=5)
                return
        raise AssertionError(self.log.read_text(encoding="utf-8"))

    def kill(self) -> None:
        """As a power cut would."""
        if self.process is not None:
            self.process.kill()
            self.process.wait(timeout=60)

    def ask(self, method: str, path: str, **rest: Any) -> httpx2.Response:
        """One request of another program, with the token of this server."""
        token = httpx2.get(self.url + "/api/session", timeout=30).json().get("token", "")
        headers = {"x-setwright-token": token} | rest.pop("headers", {})
        return httpx2.request(method, self.url + path, headers=headers, timeout=120, **rest)

    def prove(self, job: str, *, patience_s: float = 600, pitch_mm: float | None = None) -> None:
        """Prove a job, with rays so far apart or as it chooses, and wait for the end."""
        self.work(job, "prove", patience_s=patience_s, **({} if pitch_mm is None else {"pitch_mm": pitch_mm}))

    def work(self, job: str, station: str, *, patience_s: float = 600, **options: Any) -> None:
        """Start the long work of a station on a job, and wait for the end."""
        number = self.ask("POST", f"/api/jobs/{job}/calculations", json={"station": station} | options).json()["id"]
        with httpx2.stream("GET", f"{self.url}/api/calculations/{number}/events", timeout=patience_s) as stream:
            lines = [line for line in stream.iter_lines() if line.startswith("data: ")]
        ended = json.loads(lines[-1].removeprefix("data: "))
        assert ended["state"] == "done", ended


@contextlib.contextmanager
def serving(place: Path, *options: str, jobs: dict[str, Path] | None = None) -> Iterator[Server]:
    """A server on a record that holds the given job folders; ended at the end."""
    with open_record(place) as record:
        for name, folder in (jobs or {}).items():
            add_job(record, gather_folder(folder), name=name, by="Ada")
            assert calculations(record, name) == []
    server = Server(place, *options)
    try:
        server.start()
        yield server
    finally:
        server.kill()


def launched(playwright: Playwright) -> Browser:
    """A browser without window that draws in three dimensions by software. What is expected of its pages may take a while: the
    machine may be busy with other tests."""
    expect.set_options(timeout=LONG_MS / 2)
    return playwright.chromium.launch(executable_path=browser_path(), args=ARGUMENTS)


class Watch:
    """Keeps what a page complains about."""

    def __init__(self, page: Page) -> None:
        self.said: list[str] = []
        self.allowed: tuple[str, ...] = ()
        page.on("console", lambda message: self._note(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: self._note(str(error)))

    def _note(self, text: str) -> None:
        self.said.append(text)

    def complaints(self) -> list[str]:
        """Errors but those that were to be expected."""
        return [one for one in self.said if not any(word in one for word in self.allowed)]


def barriers(page: Page) -> list[str]:
    """What an accessibility scan of the page as it is finds: rules of WCAG 2.2 A and AA and good practice, each with its place."""
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {node['target']} {node.get('failureSummary', '')}" for one in found for node in one["nodes"]]


def small_targets(page: Page, *, least: float = 44.0) -> list[str]:
    """Buttons, fields and links beside text that are smaller than a thumb needs."""
    wanted = "button, input:not([hidden]), select, textarea, summary, [role=slider], nav a"
    script = """([wanted, least]) => [...document.querySelectorAll(wanted)]
      .filter(one => one.offsetParent !== null)
      .map(one => [one.outerHTML.slice(0, 90), one.getBoundingClientRect()])
      .filter(([, box]) => box.width > 0 && (box.width < least - 0.5 || box.height < least - 0.5))
      .map(([text, box]) => `${text} ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`)"""
    found: list[str] = page.evaluate(script, [wanted, least])
    return found


def bench_of(page: Page) -> Locator:
    """The bench on the page."""
    return page.locator("canvas.bench-canvas")


def shown(page: Page) -> dict[str, Any]:
    """What the bench says it shows."""
    told: dict[str, Any] = json.loads(bench_of(page).get_attribute("data-shown") or "{}")
    return told


def until_shown(page: Page, wanted: str, *, timeout: float = LONG_MS) -> dict[str, Any]:
    """What the bench shows once `wanted`, an expression of JavaScript over `shown`, holds."""
    page.wait_for_function(
        f"() => {{ const bench = document.querySelector('canvas.bench-canvas');"
        f" if (!bench || !bench.dataset.shown) return false; const shown = JSON.parse(bench.dataset.shown); return {wanted}; }}",
        timeout=timeout,
    )  # fmt: skip
    return shown(page)
