"""Which slip is named first when one was seeded: a confusion table, and false alarms where none was.

    OPENBLAS_NUM_THREADS=1 python -m benchmarks.touch.slips [trials per slip]

A slip counts where its effect exceeds six standard uncertainties of what would show it: of the readings and the kit's statements
for one made at the machine (root of what it adds to chi-square), of the registers for one made in typing. The first lines of the
table, one bad reading among six, take blunders between one and four times the least detectable one. Two processes share the work.
"""

from __future__ import annotations

import math
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.touch.slipped import (
    BOTH_SIDES,
    DATUM,
    DATUM_BOTH,
    READINGS,
    REGISTERS,
    Case,
    honest,
    kit_of,
    kit_with,
    readings,
    two_sided,
)

from setwright.estimate.outliers import check
from setwright.kit.station import Kit
from setwright.touch.conditions import Conditions
from setwright.touch.doubts import outliers
from setwright.touch.registers import Entry, entries
from setwright.touch.setting import Setting, prepare
from setwright.touch.slips import Traces, diagnose, traces
from setwright.touch.solution import Solution, solve

SEED = 7
ENOUGH = 6.0
Solved = tuple[Setting, Solution, tuple[Entry, ...]]


def solved(kit: Kit, case: Case) -> Solved:
    """The touch-off solved, with its numbers to type."""
    setting = prepare(kit, readings(*case.contacts, lengths=case.lengths), Conditions())
    solution = solve(setting.rows, setting.basis.unknowns)
    return setting, solution, tuple(entries(kit, solution, kit.folder.job.registers))


def holding(solution: Solved, typed: dict[str, float]) -> Solved:
    """The same touch-off while the control holds `typed`."""
    setting, found, numbers = solution
    held = replace(setting, kit=kit_with(setting.kit, typed))
    return held, found, tuple(replace(entry, now=typed.get(entry.name)) for entry in numbers)


def named_first(solution: Solved, seen: Traces | None = None) -> str:
    """The slug named first, "none" when no slip is likelier than that."""
    diagnosis = diagnose(*solution, seen=seen)
    kinds: Counter[str] = Counter()
    for suspected in diagnosis.ranked:
        kinds[suspected.slug] += suspected.probability
    return kinds.most_common(1)[0][0] if diagnosis.none < 0.5 and kinds else "none"


def off_by(numbers: tuple[Entry, ...]) -> float:
    """How far registers are off, in their uncertainties, root of the squares."""
    offs = [(e.now - e.rounded) / math.hypot(e.estimate.standard, e.step) for e in numbers if e.now is not None]
    return math.sqrt(math.fsum(off * off for off in offs))


def in_registers(trials: range) -> dict[str, list[tuple[str, float]]]:
    """Slug -> (named first, effect) of touch-offs with a slip in typing; "none" without one. All slips share each touch-off."""
    found: dict[str, list[tuple[str, float]]] = {slug: [] for slug in ("none", *REGISTERS)}
    with tempfile.TemporaryDirectory() as folder:
        kit = kit_of(Path(folder), **DATUM)
        for trial in trials:
            straight = solved(kit, honest([SEED, trial]))
            right, seen = {entry.name: entry.rounded for entry in straight[2]}, traces(*straight)
            found["none"].append((named_first(holding(straight, right), seen), math.inf))
            for number, (slug, slip) in enumerate(REGISTERS.items()):
                typed = dict(right)
                slip(typed, np.random.default_rng([SEED, trial, number]))
                held = holding(straight, typed)
                found[slug].append((named_first(held, seen), off_by(held[2])))
    return found


def in_readings(trials: range) -> dict[str, list[tuple[str, float]]]:
    """The same for slips made at the machine."""
    found: dict[str, list[tuple[str, float]]] = {}
    for slips, datum, make, note in ((READINGS, DATUM, honest, ""), (BOTH_SIDES, DATUM_BOTH, two_sided, ", both sides")):
        with tempfile.TemporaryDirectory() as folder:
            kit = kit_of(Path(folder), **datum)
            for trial in trials:
                straight = solved(kit, make([SEED, trial]))[1].tied.chi_square
                for number, (slug, slip) in enumerate(slips.items()):
                    case = make([SEED, trial])
                    slip(case, np.random.default_rng([SEED, trial, number]))
                    slipped = solved(kit, case)
                    held = holding(slipped, {entry.name: entry.rounded for entry in slipped[2]})
                    effect = math.sqrt(max(slipped[1].tied.chi_square - straight, 0.0))
                    found.setdefault(slug + note, []).append((named_first(held), effect))
    return found


def line(where: str, said: str, found: list[tuple[str, float]]) -> str:
    """One slip's line of the table."""
    slug = said.split(",")[0]
    strong = [name for name, effect in found if effect > ENOUGH]
    wrong = Counter(name for name in strong if name != slug)
    others = ", ".join(f"{other} {count}" for other, count in wrong.most_common(3)) or "-"
    share = f"{(len(strong) - wrong.total()) / len(strong):7.1%}" if strong else "      -"
    every = sum(name == slug for name, _ in found) / len(found)
    effects = sorted(effect for _, effect in found)
    return f"{where:9s} {said:32s} {effects[len(effects) // 2]:9.1f} {len(strong):5d} {share} {every:7.1%}  {others}"


def bad_of_six(trials: range) -> list[tuple[float, str]]:
    """(size in least detectable blunders, "named", "one of several" or "missed") of one bad reading among six along a jaw."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        kit = kit_of(Path(folder), **DATUM)
        for trial in trials:
            rng, case = np.random.default_rng([SEED, trial, 2]), honest([SEED, trial])
            jaw = [case.world.touch("fixed jaw", "+Y", (x, 42)) for x in (-58, -35, -12, 12, 35, 58)]
            case.contacts = [*jaw, case.contacts[0], case.contacts[6]]
            bad, factor = int(rng.integers(6)), float(rng.uniform(1.0, 4.0))
            least = check(solved(kit, case)[1].fit).least_found[bad]
            case.contacts[bad]["display"]["y"] += float(rng.choice([-1.0, 1.0]) * factor * least)
            named = outliers(solved(kit, case)[1])
            first = named[0] if named else None
            if first is None or bad not in {first.reading, *first.rivals}:
                found.append((factor, "missed"))
            else:
                found.append((factor, "one of several" if first.rivals else "named"))
    return found


def six_lines(found: list[tuple[float, str]]) -> list[str]:
    """Lines of the table by the size of the blunder."""
    lines = []
    for low, high in ((1.0, 1.25), (1.25, 1.5), (1.5, 2.0), (2.0, 4.0), (1.0, 4.0)):
        own = [verdict for factor, verdict in found if low <= factor <= high]
        shares = "  ".join(f"{word} {own.count(word) / max(len(own), 1):.1%}" for word in ("named", "one of several", "missed"))
        lines.append(f"one bad reading of six, {low:.2f} to {high:.2f} x the least detectable  {shares}  of {len(own)}")
    return lines


def main() -> None:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    head = f"{'where':9s} {'slip':32s} {'effect':>9s} {'> 6':>5s} {'named':>7s} {'of all':>7s}  named instead, beyond 6"
    halves = [range(trials // 2), range(trials // 2, trials)]
    with ProcessPoolExecutor(2) as pool:
        print(f"{trials} touch-offs a slip, seed {SEED}", flush=True)
        six = [one for part in pool.map(bad_of_six, halves) for one in part]
        print("\n".join(six_lines(six)), flush=True)
        print(head, flush=True)
        for where, job in (("readings", in_readings), ("registers", in_registers)):
            first, second = pool.map(job, halves)
            for slug in first:
                print(line("" if slug == "none" else where, slug, first[slug] + second[slug]), flush=True)


if __name__ == "__main__":
    main()
