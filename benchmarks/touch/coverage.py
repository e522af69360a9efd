"""How often the stated 95 % interval holds the true number: seeded touch-offs of every way to take a datum, on a simulated machine.

    OPENBLAS_NUM_THREADS=1 python -m benchmarks.touch.coverage [trials] [scheme words]

Each touch-off takes its turn among the conventions of tool lengths and the units of the display, its contacts in any order. What
is judged is every number to type, as typed (rounded to the register's increment), and the angles. The last column is the worst
share of any one convention and unit. Two processes share the schemes.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.touch.simulate import FACES, SCHEMES, SHIFT, World, in_inches, world_of
from tests.touch.workshop import kit_of, readings

from setwright.estimate.least_squares import Array
from setwright.kit.station import Kit
from setwright.touch.conditions import Conditions
from setwright.touch.equations import Equations
from setwright.touch.many import Many, fit_many
from setwright.touch.registers import entries
from setwright.touch.setting import Setting, prepare
from setwright.touch.solution import Solution, solve

SEED = 20
BLOCK = 150
LEAST_OFF = 0.01
ANGLES = ("angle", "tilt about x", "tilt about y")
CELLS = [(lengths, units) for lengths in ("from gauge line", "tip on datum", "reference tool") for units in ("mm", "in")]


def truth(world: World, lengths: str) -> dict[str, float]:
    """What each register ought to hold, from the world alone."""
    x, y, z, angle = world.place.tolist()
    one, two = world.lengths[1], world.lengths[2]
    base = {"from gauge line": z, "tip on datum": 0.0, "reference tool": z + one}[lengths]
    return {
        "G54 X": x, "G54 Y": y, "G54 Z": base,
        "G55 X": x + SHIFT[0] * math.cos(angle), "G55 Y": y + SHIFT[0] * math.sin(angle), "G55 Z": base,
        "length 1": one + z - base, "length 2": two + z - base,
        "angle": angle, "tilt about x": world.tilt[0], "tilt about y": world.tilt[1],
    }  # fmt: skip


def touched(kit: Kit, scheme: str, trial: int, units: str) -> tuple[World, Setting]:
    """One touch-off: a world and its readings, in any order."""
    world = world_of(scheme, [SEED, trial], digit=0.001 if units == "mm" else 0.00254)
    contacts = SCHEMES[scheme][0](world)
    contacts = [contacts[i] for i in np.random.default_rng([SEED, trial // len(CELLS) // BLOCK]).permutation(len(contacts))]
    if units == "in":
        contacts = [in_inches(contact) for contact in contacts]
    return world, prepare(kit, readings(*contacts, lengths=(world.on_table(2, step=0.01),)), Conditions())


@dataclass
class Numbers:
    """What is judged of one block of touch-offs alike: value = weights · x + constant, rounded to `step` where it is typed."""

    weights: dict[str, Array]
    constant: dict[str, float]
    half: dict[str, float]
    step: dict[str, float]

    @classmethod
    def of(cls, kit: Kit, solution: Solution) -> Numbers:
        found = cls({}, {}, {}, {})
        typed = [(e.name, dict(e.weights), e.estimate, e.step) for e in entries(kit, solution, kit.folder.job.registers)
                 if e.estimate.standard > 0.0 and "radius" not in e.name]  # fmt: skip
        angles = [(name, {name: 1.0}, solution.estimate({name: 1.0}), 0.0) for name in ANGLES
                  if solution.unknowns.row(name) is not None]  # fmt: skip
        for name, weights, estimate, step in typed + angles:
            row = np.zeros(len(solution.unknowns))
            for unknown, weight in weights.items():
                at = solution.unknowns.row(unknown)
                if at is not None:
                    row[at] += weight
            found.weights[name], found.half[name], found.step[name] = row, estimate.expanded, step
            found.constant[name] = estimate.value - float(row @ solution.fit.x)
        return found

    def held(self, x: Array, truths: list[dict[str, float]]) -> dict[str, int]:
        """How many of the estimates x (T, n) hold the truth, by number."""
        count = {}
        for name, row in self.weights.items():
            said, step = x @ row + self.constant[name], self.step[name]
            said = np.round(said / step) * step if step else said
            true = np.array([truth[name] for truth in truths])
            count[name] = int(np.count_nonzero(np.abs(said - true) <= self.half[name]))
        return count


def block(kit: Kit, scheme: str, trials: range, cell: tuple[str, str]) -> tuple[dict[str, int], float]:
    """Counts of one block, and how far solving them together is from solving the last one alone (in standard uncertainties)."""
    made = [touched(kit, scheme, trial, cell[1]) for trial in trials]
    first = solve(made[0][1].rows, made[0][1].basis.unknowns)
    truths = [truth(world, cell[0]) for world, _ in made]
    if any(row.unread > 0.0 or row.unread_depth > 0.0 for row in first.rows) and scheme.startswith("tilt"):
        # what was not read weighs by how far the part is tilted: each touch-off has weights of its own
        alone = [solve(setting.rows, setting.basis.unknowns) for _, setting in made]
        each = [Numbers.of(kit, one).held(one.fit.x[None], [true]) for one, true in zip(alone, truths, strict=True)]
        return {name: sum(one[name] for one in each) for name in each[0]}, 0.0
    sets = Many.of([Equations.of(list(setting.rows), first.unknowns) for _, setting in made])
    x, settled = fit_many(sets, first.fit.x, noise=np.array([row.standard for row in first.rows]), prior=first.unknowns.prior,
                          readings=np.zeros((1, len(first.rows))), means=np.zeros((1, len(first.unknowns))))  # fmt: skip
    if not settled.all():
        raise RuntimeError(f"{scheme}: {np.count_nonzero(~settled)} touch-offs did not settle")
    alone = solve(made[-1][1].rows, made[-1][1].basis.unknowns)
    off = float(np.max(np.abs(x[-1] - alone.fit.x)[:4] / alone.fit.standard[:4]))
    return Numbers.of(kit, first).held(x, truths), off


def coverage(scheme: str, trials: int) -> tuple[dict[str, tuple[float, float]], float]:
    """Number -> share of touch-offs in which ± U holds the truth, and the least share of one convention and unit; and how far
    solving many at once is from solving alone. U is worked out once a block: within one convention it hardly varies."""
    inside: dict[str, dict[tuple[str, str], list[int]]] = defaultdict(lambda: {cell: [0, 0] for cell in CELLS})
    preset2 = "length = 118.25, radius = 6.0, varies = 0.01"
    furthest = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for number, cell in enumerate(CELLS):
            kit = kit_of(Path(folder) / str(number), faces=FACES, lengths=cell[0], preset2=preset2, **SCHEMES[scheme][1])
            own = range(number, trials, len(CELLS))
            for start in range(0, len(own), BLOCK):
                part = own[start : start + BLOCK]
                counts, off = block(kit, scheme, part, cell)
                furthest = max(furthest, off)
                for name, count in counts.items():
                    inside[name][cell][0] += count
                    inside[name][cell][1] += len(part)
    shares = {name: (sum(c[0] for c in cells.values()) / sum(c[1] for c in cells.values()),
                     min(c[0] / c[1] for c in cells.values() if c[1])) for name, cells in inside.items()}  # fmt: skip
    return shares, furthest


def line(job: tuple[str, int]) -> str:
    """One scheme's line of the table."""
    scheme, trials = job
    began = time.perf_counter()
    found, off = coverage(scheme, trials)
    shares = "  ".join(f"{name} {100 * share:.1f}" for name, (share, _) in found.items())
    worst = min(least for _, least in found.values())
    if off > LEAST_OFF:
        raise RuntimeError(f"{scheme}: solving many at once is {off:.1e} standard uncertainties from solving alone")
    return f"{scheme:32s} {shares}   worst cell {100 * worst:.1f}   {trials} trials, {time.perf_counter() - began:.0f} s"


def main() -> None:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    wanted = " ".join(sys.argv[2:])
    with ProcessPoolExecutor(2) as pool:
        for said in pool.map(line, [(scheme, trials) for scheme in SCHEMES if wanted in scheme]):
            print(said, flush=True)


if __name__ == "__main__":
    main()
