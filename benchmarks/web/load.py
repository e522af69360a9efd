"""Half an hour of a shop on one server: 50 tablets polling, 2 people uploading programs that are proved, 2,000 jobs on the board.

Prints how long answers took (tablets, board, an upload with its draft), and the memory of the server and of all its processes after
the first fifth of the time and in the last. The server runs in a process of its own, with a record in a scratch folder.

Run: python -m benchmarks.web.load [minutes] [tablets]
     python -m benchmarks.web.load board              the board alone, asked one time after the other: its pages, and searches in it
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from pathlib import Path

import httpx2
import numpy as np
from benchmarks.web.polling import DEMO, proved, remarks, served, tablet, token
from tests.web.fuzz import held_bytes

from setwright.record.folder import JobFiles, gather_folder
from setwright.record.jobs import add_job
from setwright.record.store import open_record

JOBS = 2000
UPLOADERS = 2
UPLOAD_EACH_S = 30.0
BOARD_EACH_S = 5.0
BOARD_TIMES = 100
MEMORY_EACH_S = 10.0


def filled(place: Path) -> None:
    """A record with so many jobs; the first one is read, the others have its files under other names."""
    with open_record(place) as record:
        given = gather_folder(DEMO)
        first = add_job(record, given, name="cap", by="Ada")

        def read(files: JobFiles, name: str) -> tuple[str, str]:
            del files, name
            return first.title, first.document

        for number in range(1, JOBS):
            add_job(record, given, name=f"cap-{number:04}", by="Ada", read=read)


async def uploader(number: int, url: str, ends: float, took: list[float]) -> None:
    """Somebody who drops a program on the board, waits for the proof, and drops the next one."""
    program = (DEMO / "cap-1.nc").read_bytes()
    async with httpx2.AsyncClient(base_url=url, timeout=600.0) as client:
        headers = await token(client)
        turn = 0
        await asyncio.sleep(UPLOAD_EACH_S * number / UPLOADERS)
        while (begun := time.perf_counter()) < ends:
            turn += 1
            text = program.replace(b"\n", f"\n(UPLOAD {number} {turn})\n".encode(), 1)
            made = await client.post("/api/jobs", files={"programs": (f"up-{number}-{turn}.nc", text)}, headers=headers)
            made.raise_for_status()
            took.append(time.perf_counter() - begun)
            calculation = made.json()["calculation"]["id"]
            while (await client.get(f"/api/calculations/{calculation}")).json()["state"] in ("waiting", "working"):
                await asyncio.sleep(1.0)
            await asyncio.sleep(max(0.0, UPLOAD_EACH_S - (time.perf_counter() - begun)))


async def board(url: str, ends: float, took: list[float]) -> None:
    """Somebody who looks at the first page of the board and at a late one."""
    async with httpx2.AsyncClient(base_url=url, timeout=60.0) as client:
        page = 1
        while (begun := time.perf_counter()) < ends:
            (await client.get("/api/jobs", params={"page": page})).raise_for_status()
            took.append(time.perf_counter() - begun)
            page = 38 if page == 1 else 1
            await asyncio.sleep(BOARD_EACH_S)


async def memory(process: int, ends: float, held: list[tuple[float, float, float, float]]) -> None:
    """Time (s), MB of the server alone and of all its processes, load."""
    began = time.perf_counter()
    while time.perf_counter() < ends:
        await asyncio.sleep(MEMORY_EACH_S)
        alone = int(Path(f"/proc/{process}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
        held.append((time.perf_counter() - began, alone / 1e6, held_bytes(process) / 1e6, os.getloadavg()[0]))


async def loaded(url: str, process: int, minutes: float, tablets: int) -> None:
    """Everything at once, until the time is over."""
    await proved(url)
    polled: list[float] = []
    uploads: list[float] = []
    looked: list[float] = []
    held: list[tuple[float, float, float, float]] = []
    ends = time.perf_counter() + 60.0 * minutes
    await asyncio.gather(
        remarks(url, ends), board(url, ends, looked), memory(process, ends, held),
        *(uploader(number, url, ends, uploads) for number in range(UPLOADERS)),
        *(tablet(number, url, ends, polled) for number in range(tablets)),
    )  # fmt: skip
    for name, took in (("tablets", polled), (f"board of {JOBS} jobs and more", looked), ("uploads with their draft", uploads)):
        middle, late = np.percentile(took, [50, 95])
        print(f"{name}: {len(took):,} answers, median {1000 * middle:.0f} ms, 95th of a hundred {1000 * late:.0f} ms, "
              f"slowest {1000 * max(took):.0f} ms")  # fmt: skip
    rows = np.array(held)
    fifth = max(1, len(rows) // 5)
    for name, column in (("server alone", 1), ("all processes", 2)):
        warm, end = np.median(rows[fifth : 2 * fifth, column]), np.median(rows[-fifth:, column])
        print(f"memory, {name}: {warm:.0f} MB after warm-up, {end:.0f} MB at the end ({100 * (end / warm - 1):+.1f} %)")
    print(f"load of the machine: {rows[:, 3].mean():.1f} on average, {rows[:, 3].max():.1f} at the most")


def board_alone(url: str) -> None:
    """Print how long pages of the board and searches take, each asked so often while nobody else asks."""
    asked: dict[str, dict[str, str | int]] = {
        "first page": {}, "last page": {"page": JOBS // 50}, "search, one found": {"find": f"cap-{JOBS - 1:04}"},
        "search, all found": {"find": "bearing"}, "search, none found": {"find": "flange"},
    }  # fmt: skip
    with httpx2.Client(base_url=url, timeout=60.0) as client:
        for name, params in asked.items():
            took = []
            for _ in range(BOARD_TIMES):
                begun = time.perf_counter()
                answer = client.get("/api/jobs", params=params)
                took.append(time.perf_counter() - begun)
                answer.raise_for_status()
            middle, late = np.percentile(took, [50, 95])
            print(f"board of {JOBS} jobs, {name}: {answer.json()['in_all']:,} jobs, median {1000 * middle:.0f} ms, "
                  f"95th of a hundred {1000 * late:.0f} ms, load {os.getloadavg()[0]:.1f}")  # fmt: skip


def main() -> None:
    """Print the figures."""
    if sys.argv[1:] == ["board"]:
        with tempfile.TemporaryDirectory(prefix="setwright-load-") as scratch:
            filled(Path(scratch) / "record")
            with served(Path(scratch) / "record") as (url, _):
                board_alone(url)
        return
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 30.0
    tablets = int(sys.argv[2]) if len(sys.argv) > 2 else 50
    with tempfile.TemporaryDirectory(prefix="setwright-load-") as scratch:
        filled(Path(scratch) / "record")
        with served(Path(scratch) / "record") as (url, pid):
            asyncio.run(loaded(url, pid, minutes, tablets))


if __name__ == "__main__":
    main()
