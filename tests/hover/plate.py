"""A plate with one slot, small enough to know by heart what every slip does to it."""

from __future__ import annotations

from pathlib import Path

from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.slips.world import World, as_set
from tests.jobfolder.test_jobfolder_load import MACHINE, TOOL, VISE

__all__ = ["LINES", "plate"]

JOB = """\
format = 1
units = "mm"
job = { title = "Plate" }

[[setup]]
name = "first side"
machine = "mill"
programs = ["plate.nc"]
blank = { box = [60, 40, 20], corner = [0, 0, -20], varies = [0.5, 0.5, 0.5] }
holding = { use = "vise", parallels = 30, place = { x = -400, y = -250 }, fixed_jaw = { against = "back" } }
datum = { x = "left", y = "front", z = { face = "top" } }
tool = [{ station = 1, use = "em10", stickout = 40 }]
face = [
  { name = "floor", flat = { facing = "+Z", at = [30, 20, -5], size = [20, 6] } },
  { name = "back wall", flat = { facing = "-Y", at = [30, 25, -2.5], size = [20, 3] } },
]
requirement = [
  { name = "depth", between = ["floor", "top"], size = "5.0 ±0.05" },
  { name = "wall to front", between = ["back wall", "front"], size = "25.0 ±0.1" },
]
"""
"""Gripped 10 mm high; jaw tops at Z-10, the fixed jaw behind at Y40, the moving one in front at Y0."""

LINES = ("%", "O1", "G21 G17 G90 G54", "T1 M6", "S5000 M3", "G0 G43 H1 Z50.", "X-10. Y20.", "Z-5.", "G1 X70. F500.", "G0 Z50.",
         "M30", "%")  # fmt: skip
"""A slot 10 wide and 5 deep along X, at Y15 to Y25; the rapid down in line 8 is beside the plate, the cut is line 9."""


def plate(at: Path, *, lines: tuple[str, ...] = LINES) -> World:
    """The plate as it should be."""
    for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "em10", TOOL)):
        (at / "shop" / kind).mkdir(parents=True, exist_ok=True)
        (at / "shop" / kind / f"{name}.toml").write_text(text)
    (at / "job.toml").write_text(JOB)
    (at / "plate.nc").write_text("\n".join(lines) + "\n")
    folder = load_job(at)
    together = kit(folder, folder.job.setup[0])
    return as_set(together, nominal_truth(together))
