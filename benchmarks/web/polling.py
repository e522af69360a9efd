"""Tablets polling one server: how long an answer takes, the median and the 95th of a hundred.

Each tablet asks once a second for one of the documents its page lives from (the job, its statements, its findings, the solution of
the readings) and keeps the stream of the job's changes open. The job has been proved, and somebody adds a remark every two seconds,
so that what the tablets ask for keeps changing. The server runs in a process of its own, with a record in a scratch folder.

Run: python -m benchmarks.web.polling [tablets] [seconds]
"""

from __future__ import annotations

import asyncio
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2
import numpy as np

from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job
from setwright.record.store import open_record

DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo" / "bearing-cap"
COMMAND = "import typer; from setwright.cli import serve; typer.run(serve.command)"
PATHS = ("/api/jobs/cap", "/api/jobs/cap/statements", "/api/jobs/cap/findings", "/api/jobs/cap/touch")
EACH_S = 1.0
REMARK_EACH_S = 2.0
STARTS_WITHIN_S = 60.0
PROVED_WITHIN_S = 600.0


async def tablet(number: int, url: str, ends: float, took: list[float]) -> None:
    """One tablet, until the time is over; its first answers are not counted."""
    async with httpx2.AsyncClient(base_url=url, timeout=60.0) as client:
        await asyncio.sleep(EACH_S * (number % 50) / 50)
        stream = asyncio.create_task(listen(client))
        turn = number
        while (begun := time.perf_counter()) < ends:
            answer = await client.get(PATHS[turn % len(PATHS)])
            answer.raise_for_status()
            lasted = time.perf_counter() - begun
            if turn > number + 1:
                took.append(lasted)
            turn += 1
            await asyncio.sleep(max(0.0, EACH_S - lasted))
        stream.cancel()


async def listen(client: httpx2.AsyncClient) -> None:
    """The stream of changes, read as a browser reads it."""
    async with client.stream("GET", "/api/jobs/cap/events") as stream:
        async for _ in stream.aiter_lines():
            pass


async def remarks(url: str, ends: float) -> None:
    """Somebody who adds a remark every now and then."""
    async with httpx2.AsyncClient(base_url=url, timeout=60.0) as client:
        headers = await token(client)
        while time.perf_counter() < ends:
            said = await client.post("/api/jobs/cap/remarks", json={"text": "the vise is clean"}, headers=headers)
            said.raise_for_status()
            await asyncio.sleep(REMARK_EACH_S)


async def token(client: httpx2.AsyncClient) -> dict[str, str]:
    """The headers of a change to the first revision."""
    return {"x-setwright-token": (await client.get("/api/session")).json()["token"], "if-match": '"1"'}


async def proved(url: str) -> None:
    """Prove the job once; an error when that does not succeed."""
    async with httpx2.AsyncClient(base_url=url, timeout=60.0) as client:
        headers = await token(client)
        asked = await client.post("/api/jobs/cap/calculations", json={"station": "prove", "pitch_mm": 2.0}, headers=headers)
        asked.raise_for_status()
        until = time.monotonic() + PROVED_WITHIN_S
        while (now := (await client.get(f"/api/calculations/{asked.json()['id']}")).json())["state"] in ("waiting", "working"):
            if time.monotonic() > until:
                raise SystemExit(f"the proof took longer than {PROVED_WITHIN_S:.0f} s")
            await asyncio.sleep(0.5)
        if now["state"] != "done":
            raise SystemExit(f"the proof ended as {now['state']}")


async def polled(url: str, tablets: int, seconds: float) -> list[float]:
    """How long each answer took, s."""
    took: list[float] = []
    ends = time.perf_counter() + seconds
    await asyncio.gather(remarks(url, ends), *(tablet(number, url, ends, took) for number in range(tablets)))
    return took


def wait_for(server: subprocess.Popen[bytes], url: str) -> None:
    """Until the server answers; an error when it ends instead, or takes longer than a minute."""
    until = time.monotonic() + STARTS_WITHIN_S
    while True:
        try:
            httpx2.get(url + "/api/session", timeout=5.0)
        except httpx2.TransportError as error:
            if server.poll() is not None:
                raise SystemExit(f"the server ended with status {server.returncode} before it answered") from error
            if time.monotonic() > until:
                raise SystemExit(f"the server did not answer within {STARTS_WITHIN_S:.0f} s") from error
            time.sleep(0.2)
        else:
            return


@contextmanager
def served(place: Path) -> Iterator[tuple[str, int]]:
    """The command's server on a record: its address and process number."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    url = f"http://127.0.0.1:{port}"
    server = subprocess.Popen([sys.executable, "-c", COMMAND, "--record", str(place), "--port", str(port)])
    try:
        wait_for(server, url)
        yield url, server.pid
    finally:
        server.terminate()
        server.wait(timeout=60)


def main() -> None:
    """Print one line."""
    tablets = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    before = os.getloadavg()[0]
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 30.0
    with tempfile.TemporaryDirectory(prefix="setwright-polling-") as scratch:
        with open_record(Path(scratch) / "record") as record:
            add_job(record, gather_folder(DEMO), name="cap", by="Ada")
        with served(Path(scratch) / "record") as (url, _):
            asyncio.run(proved(url))
            took = np.array(asyncio.run(polled(url, tablets, seconds)))
    middle, late = np.percentile(took, [50, 95])
    print(
        f"{tablets} tablets, {took.size} answers: median {1000 * middle:.0f} ms, 95th of a hundred {1000 * late:.0f} ms, "
        f"slowest {1000 * took.max():.0f} ms; others kept {before:.1f} cores busy before"
    )


if __name__ == "__main__":
    main()
