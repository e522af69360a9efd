"""How fast a program is read: `.venv/bin/python benchmarks/read/bench_read.py [BLOCKS]`.

Prints, from one run on this machine: the time to read a plain surfacing program whole (bytes to path), the time pandas.read_csv
needs for the same numbers, their ratio, the memory of the path per motion and at the peak, and the rate of a macro loop. Writes
nothing else.
"""

from __future__ import annotations

import io
import resource
import sys
import time
from collections.abc import Callable

import numpy as np
import pandas as pd

from setwright.program.interpret import Interpreted, interpret
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.source import Source

_REPEATS = 3
_PER_PASS = 2000


def surfacing(blocks: int, *, seed: int = 1) -> bytes:
    """A plain surfacing program of `blocks` motion blocks: three coordinates of four decimals each, in mm."""
    rng = np.random.default_rng(seed)
    k = np.arange(blocks)
    passes, along = np.divmod(k, _PER_PASS)
    x = np.where(passes % 2 == 0, along, _PER_PASS - 1 - along) * 0.05
    y = passes * 0.1
    z = np.sin(x / 7.0) * np.cos(y / 5.0) * 3.0 + rng.normal(0.0, 0.001, blocks)
    body = "\n".join(f"X{a:.4f} Y{b:.4f} Z{c:.4f}" for a, b, c in zip(x.tolist(), y.tolist(), z.tolist(), strict=True))
    head = "%\nO0100\nG17 G21 G90 G40 G49 G80\nT1 M6\nG54\nS12000 M3\nG0 X0. Y0.\nG43 Z50. H1\nG1 Z1. F2000.\n"
    return f"{head}{body}\nG0 Z50.\nM30\n%\n".encode()


def numbers_only(program: bytes) -> bytes:
    """The same numbers as comma-separated text."""
    rows = [line for line in program.decode().splitlines() if line.startswith("X")]
    return "\n".join(row[1:].replace(" Y", ",").replace(" Z", ",") for row in rows).encode()


def macro_loop(turns: int) -> bytes:
    """A loop of four blocks: a condition, two of arithmetic or motion, and the end of the loop."""
    return (f"%\nO0200\nG21 G17 G90\nT1 M6\nS5000 M3\nG0 X0. Y0. Z5.\nG1 Z0. F500.\n#1=0\nWHILE[#1 LT {turns}] DO1\n"
            "G1 X[10.*COS[#1]] Y[10.*SIN[#1]]\n#1=#1+1\nEND1\nG0 Z50.\nM30\n%\n").encode()  # fmt: skip


def _read(text: bytes) -> Interpreted:
    return interpret([Source("bench.nc", text)], profile=Profile(), registers=Registers.nominal())


def _best(work: Callable[[], object]) -> float:
    best = float("inf")
    for _ in range(_REPEATS):
        begin = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begin)
    return best


def main() -> None:
    """Run and print."""
    blocks = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    program = surfacing(blocks)
    table = numbers_only(program)
    _read(surfacing(5000))
    csv = _best(lambda: pd.read_csv(io.BytesIO(table), header=None))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    ours = _best(lambda: _read(program))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    result = _read(program)
    path = result.path
    held = sum(getattr(path, name).nbytes for name in ("kind", "start", "end", "arc", "feed", "line", "file", "state", "frame"))
    print(f"plain blocks        {blocks:>12,}   {len(program) / 1e6:.1f} MB of text")
    print(f"read whole          {ours:>12.3f} s   {blocks / ours:,.0f} blocks/s")
    print(f"pandas.read_csv     {csv:>12.3f} s   the same numbers")
    print(f"ratio               {ours / csv:>12.2f}")
    print(f"path per motion     {held / len(path):>12.0f} bytes")
    print(f"peak per motion     {(peak - before) * 1024 / blocks:>12.0f} bytes beyond what pandas had used")
    turns = 100_000
    text = macro_loop(turns)
    before_cpu = time.process_time()
    loop = _best(lambda: _read(text))
    cpu = (time.process_time() - before_cpu) / _REPEATS
    print(f"macro loop          {4 * turns / loop:>12,.0f} blocks/s, {4 * turns / cpu:,.0f} per second of processor time")


if __name__ == "__main__":
    main()
