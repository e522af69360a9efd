"""Speed of the slip study: against one proof of the same setup, and of a long program; prints one table.

    python benchmarks/hover/bench_hover.py [demo|long|all] [BLOCKS]

`demo`: the bundled bearing cap, first side, at its working pitch: every slip of the catalogue against one proof, and the first
stage of a what-if (holding only). `long`: a ball mill over a wavy surface in BLOCKS blocks (100,000), the whole study. Processor
seconds are those of this process and its copies. The ratio is of seconds by the clock, as both use every core; the best of
several runs of each, after a first one that is not counted, so a busy machine shows least. For the long program one run of each.
"""

from __future__ import annotations

import math
import os
import sys
import tempfile
import time
from pathlib import Path

import setwright.demo
from setwright.hover.consequence import contact_of
from setwright.hover.study import study
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.prove.station import prove
from setwright.slips.world import as_set, offset_moved

MACHINE = """
name = "Mill"
travel = { x = [-800, 0], y = [-500, 0], z = [-500, 0] }
table = { x = [-900, 100], y = [-550, 50], z = -600 }
spindle = { max_speed = "12000 rpm" }
"""
VISE = 'name = "vise"\nvise = { jaw_width = 150, jaw_height = 40, opening = 160, bed_height = 60, body_length = 300 }\n'
BALL = 'name = "ball 10"\nkind = "ball mill"\ndiameter = 10\nflute_length = 30\nholder = [{ diameter = 30, length = 60 }]\n'
JOB = """
format = 1
units = "mm"
job = { title = "Wavy" }
[[setup]]
name = "top"
machine = "mill"
programs = ["wavy.nc"]
blank = { box = [100, 100, 40], corner = [0, 0, -40], varies = [0.5, 0.5, 0.5] }
holding = { use = "vise", parallels = 22, place = { x = -500, y = -350 }, fixed_jaw = { against = "back" } }
datum = { x = "left", y = "front", z = { face = "top" } }
tool = [{ station = 1, use = "ball10", stickout = 45, preset = { length = 105 } }]
face = [{ name = "mid", flat = { facing = "+Z", at = [50, 50, -5], size = [0.2, 0.2] } }]
"""


def wavy(at: Path, blocks: int) -> None:
    """A job folder with a finishing program of about so many blocks."""
    for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "ball10", BALL)):
        (at / "shop" / kind).mkdir(parents=True)
        (at / "shop" / kind / f"{name}.toml").write_text(text)
    (at / "job.toml").write_text(JOB)
    rows = round(math.sqrt(blocks / 2))
    columns = blocks // rows
    lines = ["%", "O1", "G21 G17 G90 G94 G54", "T1 M6", "S10000 M3", "G0 G43 H1 Z50.", "X0. Y0.", "Z5.", "F3000."]
    for row in range(rows):
        for column in range(columns):
            x = 100.0 * (column if row % 2 == 0 else columns - 1 - column) / (columns - 1)
            y = 100.0 * row / (rows - 1)
            z = -5.0 + 2.0 * math.sin(x / 15.0) * math.cos(y / 20.0)
            lines.append(f"G1 X{x:.3f} Y{y:.3f} Z{z:.3f}")
    (at / "wavy.nc").write_text("\n".join([*lines, "G0 Z50.", "M5", "M30", "%", ""]))


def measured(work, *, times):
    """Result, processor seconds and seconds by the clock of work(): the best of several runs, after one that does not count."""
    if times > 1:
        work()
    found = []
    for _ in range(times):
        cpu, clock = sum(os.times()[:4]), time.perf_counter()
        result = work()
        found.append((time.perf_counter() - clock, sum(os.times()[:4]) - cpu))
    clock, cpu = min(found)
    return result, cpu, clock


def bench(name: str, folder: Path, setup: str, *, warm: bool) -> None:
    loaded = load_job(folder)
    together = kit(loaded, loaded.job.setup_named(setup))
    truth = nominal_truth(together)
    world = as_set(together, truth)
    _, proof_cpu, proof_clock = measured(lambda: prove(together, truth, blank=world.metal), times=7 if warm else 1)
    found, study_cpu, study_clock = measured(lambda: study(world), times=3 if warm else 1)
    low = offset_moved(world, together.setup.offset, (0.0, 0.0, -1.0))
    _, hit_cpu, hit_clock = measured(lambda: contact_of(low), times=3)
    print(f"{name}: one proof {proof_cpu:.2f} s processor, {proof_clock:.2f} s by the clock")
    print(f"{name}: study of {len(found.slips)} slips ({found.followed} different worlds) {study_cpu:.1f} s processor, "
          f"{study_clock:.1f} s by the clock = {study_clock / proof_clock:.1f} proofs; 60 slips = "
          f"{60.0 / len(found.slips) * study_clock / proof_clock:.1f} proofs")  # fmt: skip
    print(f"{name}: what if, holding only {hit_cpu:.2f} s processor, {hit_clock:.2f} s by the clock")


def main() -> None:
    which = sys.argv[1] if len(sys.argv) > 1 else "all"
    blocks = int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
    if which in ("demo", "all"):
        bench("bearing cap", Path(setwright.demo.__file__).parent / "bearing-cap", "first side", warm=True)
    if which in ("long", "all"):
        with tempfile.TemporaryDirectory() as room:
            wavy(Path(room), blocks)
            bench(f"{blocks} blocks", Path(room), "top", warm=False)


if __name__ == "__main__":
    main()
