"""How often the stated 95 % interval holds the true place: seeded touch-offs of every datum scheme on a simulated machine.

    python -m benchmarks.touch.coverage [trials] [scheme words]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from tests.touch.simulate import SCHEMES, World
from tests.touch.workshop import kit_of, readings

from setwright.touch.conditions import Conditions
from setwright.touch.setting import prepare
from setwright.touch.solution import solve

NUMBERS = ("x", "y", "z", "angle")


def coverage(name: str, trials: int, *, seed: int = 20, every: int = 50) -> dict[str, float]:
    """Share of trials in which ± U holds the truth, by number. U is worked out anew in every `every`-th trial: it hardly varies."""
    contacts, datum, exact, middle = SCHEMES[name]
    inside = dict.fromkeys(NUMBERS, 0)
    with tempfile.TemporaryDirectory() as folder:
        kit = kit_of(Path(folder), **datum)
        for trial in range(trials):
            world = World(np.random.default_rng([seed, trial]), exact, middle)
            setting = prepare(kit, readings(*contacts(world)), Conditions())
            solution = solve(setting.rows, setting.basis.unknowns)
            if trial % every == 0:
                half = {number: solution.estimate({number: 1.0}).expanded for number in NUMBERS}
            for number, true in zip(NUMBERS, world.place, strict=True):
                inside[number] += abs(solution.value(number) - true) <= half[number]
    return {number: count / trials for number, count in inside.items()}


def main() -> None:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    wanted = " ".join(sys.argv[2:])
    for name in SCHEMES:
        if wanted in name:
            began = time.perf_counter()
            found = coverage(name, trials)
            shares = "  ".join(f"{number} {100 * share:5.2f} %" for number, share in found.items())
            print(f"{name:28s} {shares}   {trials} trials, {time.perf_counter() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
