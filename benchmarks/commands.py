"""Whole commands against anchors measured in the same run: `python -m benchmarks.commands [start|read|prove|all] [MOTIONS]`.

`start`: processor seconds of `--version` and of reading a program of ten blocks, against importing numpy and numba. `read`:
processor seconds of reading 1,000,000 plain blocks beyond those of ten, against `pandas.read_csv` of the same numbers. `prove`:
processor seconds and seconds by the clock of proving MOTIONS (1,000,404) ball motions with rays 0.2 mm apart, beyond those of ten,
against the plainest height map of the same motions on one thread, and the most memory. The best of three runs of each, but one of
`prove`; kernels are compiled before. Times by the clock are those of everything that runs: see the load that is printed with them.
"""

from __future__ import annotations

import io
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
from benchmarks.hover.bench_hover import wavy as job_folder
from benchmarks.read.bench_read import numbers_only, surfacing
from benchmarks.removal.bench_removal import PITCH, RADIUS, SIZE, height_map, wavy

HEAD = ["%", "O1", "G21 G17 G90 G94 G54", "T1 M6", "S10000 M3", "G0 G43 H1 Z50.", "X0. Y0.", "Z5.", "F3000."]


def run(*words: str) -> tuple[float, float, float]:
    """Processor seconds, seconds by the clock, and greatest memory (GB) of a command."""
    before, begun = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    found = subprocess.run(words, capture_output=True, text=True, check=False)
    clock, after = time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN)
    if found.returncode not in (0, 1):
        raise RuntimeError(f"{' '.join(words)}: {found.stderr}")
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, clock, after.ru_maxrss / 1e6


def best(*words: str) -> float:
    """Least processor seconds of three runs, after one that does not count."""
    run(*words)
    return min(run(*words)[0] for _ in range(3))


def setwright(*words: str) -> tuple[str, ...]:
    """A command line of this very tree."""
    return (sys.executable, "-c", "from setwright.cli.main import main; main()", *words)


def start(room: Path) -> None:
    (room / "ten.nc").write_bytes(surfacing(10))
    anchor = best(sys.executable, "-c", "import numpy, numba")
    print(f"numpy and numba alone   {anchor:8.2f} s processor")
    for name, words in (("--version", ("--version",)), ("read of ten blocks", ("read", str(room / "ten.nc")))):
        taken = best(*setwright(*words))
        print(f"{name:24}{taken:8.2f} s processor = {taken / anchor:.2f} x")


def read(room: Path) -> None:
    (room / "ten.nc").write_bytes(surfacing(10))
    (room / "long.nc").write_bytes(surfacing(1_000_000))
    table = numbers_only((room / "long.nc").read_bytes())
    taken = []
    for _ in range(4):
        begun = time.process_time()
        pd.read_csv(io.BytesIO(table), header=None)
        taken.append(time.process_time() - begun)
    anchor = min(taken)
    beyond = best(*setwright("read", str(room / "long.nc"))) - best(*setwright("read", str(room / "ten.nc")))
    print(f"pandas.read_csv         {anchor:8.2f} s processor")
    print(f"read, 1,000,000 blocks  {beyond:8.2f} s processor beyond ten blocks = {beyond / anchor:.1f} x")


def prove(room: Path, motions: int) -> None:
    for name, count in (("few", 10), ("many", motions)):
        (room / name).mkdir()
        job_folder(room / name, 100)
        lines = [f"G1 X{x:.4f} Y{y:.4f} Z{z:.4f}" for x, y, z in wavy(count).end.tolist()]
        (room / name / "wavy.nc").write_text("\n".join([*HEAD, *lines, "G0 Z50.", "M5", "M30", "%", ""]))
    moves, cells = wavy(motions), round(SIZE / PITCH)
    height_map(np.zeros((cells, cells)), moves.start[:9], moves.end[:9], RADIUS, True)
    begun = time.process_time()
    height_map(np.zeros((cells, cells)), moves.start, moves.end, RADIUS, True)
    anchor = time.process_time() - begun
    asked = [setwright("prove", str(room / name), "--pitch", str(PITCH), "-q") for name in ("few", "many")]
    run(*asked[0])
    few, many = run(*asked[0]), run(*asked[1])
    print(f"height map              {anchor:8.2f} s processor, one thread")
    print(f"prove, {len(moves):,} motions {many[0] - few[0]:8.2f} s processor = {(many[0] - few[0]) / anchor:.1f} x, "
          f"{many[1] - few[1]:.1f} s by the clock, {many[2]:.2f} GB")  # fmt: skip


def main() -> None:
    which = sys.argv[1] if len(sys.argv) > 1 else "all"
    motions = int(sys.argv[2]) if len(sys.argv) > 2 else 1_000_000
    with tempfile.TemporaryDirectory() as scratch:
        for name, work in (("start", start), ("read", read), ("prove", lambda room: prove(room, motions))):
            if which in (name, "all"):
                (Path(scratch) / name).mkdir()
                work(Path(scratch) / name)
    print(f"load {os.getloadavg()[0]:.1f}, {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
