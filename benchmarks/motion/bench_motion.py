"""Time along a million motions: seconds and motions a second, trapezoid and jerk-limited.

Run: python benchmarks/motion/bench_motion.py [motions]
"""

from __future__ import annotations

import sys
import time

import numpy as np

from setwright.geometry.moves import MoveKind, Moves
from setwright.motion import Dynamics, time_along


def surfacing(count: int) -> Moves:
    """Short lines over a wavy surface, a rapid at every ten thousandth."""
    t = np.arange(count + 1) * 0.3
    at = np.stack([60 * np.sin(t / 60), t * 0.001, 5 * np.cos(t / 7)], axis=1)
    kind = np.where(np.arange(count) % 10000 == 0, MoveKind.RAPID, MoveKind.LINE).astype(np.uint8)
    return Moves(kind, at[:-1], at[1:], np.zeros((count, 3)), np.full(count, 2, np.uint8), np.zeros(count),
                 np.zeros(count, np.int32), np.ones(count, np.bool_), np.arange(count, dtype=np.int32))  # fmt: skip


def main() -> None:
    """Print one line a profile."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    moves, feed = surfacing(count), np.full(count, 3000.0)
    for name, jerk in (("trapezoid", None), ("jerk-limited", (50000.0,) * 3)):
        dynamics = Dynamics(rapid_mm_min=(30000.0,) * 3, accel_mm_s2=(3000.0, 3000.0, 2000.0), jerk_mm_s3=jerk)
        time_along(moves[:100], feed[:100], dynamics)
        start = time.perf_counter()
        total = time_along(moves, feed, dynamics).total_s
        taken = time.perf_counter() - start
        print(f"{name}: {taken:.2f} s, {count / taken:,.0f} motions/s, program {total:.0f} s")


if __name__ == "__main__":
    main()
