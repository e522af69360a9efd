"""What habits of correcting lose over twenty pieces, on 5,000 seeded processes, and how long the influence of registers takes.

    .venv/bin/python benchmarks/piece/bench_piece.py [PITCH_MM]
    .venv/bin/python benchmarks/piece/bench_piece.py rule [CASES]

The table is the sum of the squared distances from the middle over the pieces 2 to 20 in units of the variance of a piece, by how
far the setting was off before the first piece. `rule` has the station's whole rule in the same table, which also weighs whether a
value is misread, a register grossly off or the process drifting; some milliseconds a piece, its standard error stands below it.
"""

from __future__ import annotations

import sys
import time
from importlib import resources
from pathlib import Path

import numpy as np

from setwright.estimate.adjustment import Habit, adjusted, gains
from setwright.estimate.least_squares import Array
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.piece.belief import Values, believe
from setwright.piece.influence import influence_of
from setwright.slips.world import as_set

CASES, PIECES, SEED = 5000, 20, 20260401
OFF = (0, 1, 2, 3, 4)
HABITS = (
    ("no adjustment", Habit.NEVER, {}), ("full correction every piece", Habit.FULL, {}), ("fixed share 0.3", Habit.SHARE, {}),
    ("harmonic", Habit.HARMONIC, {}), ("advice, prior as wide as a piece", Habit.PRIOR, {"ratio": 1.0}),
    ("advice, prior twice as wide", Habit.PRIOR, {"ratio": 4.0}),
)  # fmt: skip


def losses() -> None:
    """The table of habits."""
    print(f"{'habit':36}" + "".join(f"{f'd = {d} sigma':>12}" for d in OFF))
    for name, habit, figure in HABITS:
        row = []
        for d in OFF:
            errors = np.random.default_rng(SEED + d).standard_normal((CASES, PIECES - 1))
            at = adjusted(np.full(CASES, float(d)), errors, gains(habit, PIECES - 1, **figure))
            row.append(float((at**2).sum(axis=1).mean()))
        print(f"{name:36}" + "".join(f"{value:12.2f}" for value in row))


def rule(cases: int) -> None:
    """The row of the station's own belief, its prior as wide as a piece, what it says typed in full after each piece."""
    sigma, means, errors = 0.003, [], []
    for d in OFF:
        lost = np.empty(cases)
        for case, seen in enumerate(sigma * (d + np.random.default_rng(SEED + d).standard_normal((cases, PIECES - 1)))):
            lost[case] = sum((d - _believed(seen[:count], sigma) / sigma) ** 2 for count in range(1, PIECES))
        means.append(float(lost.mean()))
        errors.append(float(lost.std(ddof=1)) / cases**0.5)
    for name, row in ((f"the station's rule, {cases} cases", means), ("standard error", errors)):
        print(f"{name:36}" + "".join(f"{value:12.2f}" for value in row))


def _believed(seen: Array, sigma: float) -> float:
    """How far the register is off after these values of one feature, mm; pieces scatter by `sigma`, the gauge hardly at all."""
    count = seen.size
    values = Values(np.ones((count, 1)), seen, np.full(count, sigma / 1000.0), range(count), [0] * count, [0] * count,
                    range(1, count + 1))  # fmt: skip
    return float(believe(values, np.array([sigma]), between_mm=sigma).mean[0])


def influence(pitch_mm: float) -> None:
    """Seconds for the influence of every register of the bundled jobs, the second time in one process."""
    for name in ("bearing-cap", "pintle", "spacers"):
        folder = load_job(Path(str(resources.files("setwright.demo") / name)))
        here = kit(folder, folder.job.setup[0])
        world = as_set(here, nominal_truth(here))
        influence_of(world, pitch_mm=pitch_mm)
        began = time.perf_counter()
        found = influence_of(world, pitch_mm=pitch_mm)
        print(f"{name:12} {len(found.places):3} features x {len(found.causes):3} causes {time.perf_counter() - began:6.1f} s")


if __name__ == "__main__":
    losses()
    if sys.argv[1:2] == ["rule"]:
        rule(int(sys.argv[2]) if len(sys.argv) > 2 else 200)
    else:
        influence(float(sys.argv[1]) if len(sys.argv) > 1 else 0.5)
