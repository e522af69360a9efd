"""Which slip is named first when one was seeded: a confusion table, and false alarms where none was.

    python -m benchmarks.touch.slips [trials per slip]
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
from tests.touch.slipped import DATUM, READINGS, REGISTERS, honest, kit_of, kit_with, readings

from setwright.touch.conditions import Conditions
from setwright.touch.registers import entries
from setwright.touch.setting import prepare
from setwright.touch.slips import diagnose
from setwright.touch.solution import solve


def named_first(kit, slug: str, seed: list[int]) -> str:
    """The slug named first for one seeded touch-off ("none" without a slip), "none" when no slip is likelier than that."""
    case, rng = honest(seed), np.random.default_rng([*seed, 1])
    if slug.startswith("readings: "):
        READINGS[slug.removeprefix("readings: ")](case, rng)
    setting = prepare(kit, readings(*case.contacts), Conditions())
    solution = solve(setting.rows, setting.basis.unknowns)
    numbers = entries(kit, solution, kit.folder.job.registers)
    typed = {entry.name: entry.rounded for entry in numbers}
    if slug.startswith("registers: "):
        REGISTERS[slug.removeprefix("registers: ")](typed, rng)
    held = kit_with(kit, typed)
    setting = prepare(held, readings(*case.contacts), Conditions())
    solution = solve(setting.rows, setting.basis.unknowns)
    diagnosis = diagnose(setting, solution, tuple(entries(held, solution, held.folder.job.registers)))
    kinds: Counter[str] = Counter()
    for suspected in diagnosis.ranked:
        kinds[suspected.slug] += suspected.probability
    return kinds.most_common(1)[0][0] if diagnosis.none < 0.5 and kinds else "none"


def main() -> None:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    wanted = sys.argv[2] if len(sys.argv) > 2 else ""
    cases = ["none", *(f"readings: {slug}" for slug in READINGS), *(f"registers: {slug}" for slug in REGISTERS)]
    with tempfile.TemporaryDirectory() as folder:
        kit = kit_of(Path(folder), **DATUM)
        for slug in cases:
            if wanted not in slug:
                continue
            named = Counter(named_first(kit, slug, [len(slug), trial]) for trial in range(trials))
            wrong = Counter(named)
            right = wrong.pop(slug.split(": ")[-1], 0) / trials
            others = ", ".join(f"{other} {count / trials:.1%}" for other, count in wrong.most_common())
            print(f"{slug:34s} named {right:7.1%}   {others}", flush=True)


if __name__ == "__main__":
    main()
