"""A small shop and jobs for the tests of Touch: a vise or a plate, a block, and readings made from a known place of the part."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from setwright.jobfolder.load import load_job
from setwright.kit.station import Kit, kit
from setwright.model.reading import Readings, Registers

MACHINE = """
name = "Mill 2"
travel = {{ x = [-610, 0], y = [-460, 0], z = [-480, 0] }}
table = {{ x = [-650, 50], y = [-500, 50], z = -600 }}
spindle = {{ max_speed = "9000 rpm" }}
[control]
lengths = "{lengths}"
reference_tool = 1
radius_register = "{radius}"
[accuracy]
repeatability = 0.003
backlash = {backlash}
scale = 0.00001
"""
VISE = """
name = "Vise 150"
[vise]
jaw_width = 150
jaw_height = 40
opening = 160
bed_height = 70
body_length = 380
tram = "0.3 mrad"
"""
FINDER = """
name = "finder"
kind = "mechanical edge finder"
tip_diameter = 10
repeatability = 0.004
tip_uncertainty = 0.003
rated_speed = "1000 rpm"
"""
PROBE = """
name = "probe"
kind = "touch-trigger probe"
tip_diameter = 6
repeatability = 0.001
tip_uncertainty = 0.004
length = 140
stands_still = true
read = "trigger"
"""
SETTER = """
name = "setter"
kind = "height setter"
height = 50
height_uncertainty = 0.002
repeatability = 0.003
"""
MILL = """
name = "end mill 16"
kind = "end mill"
diameter = 16
flute_length = 32
length = 90
holder = [{ diameter = 40, length = 89.482 }]
"""
SMALL_MILL = MILL.replace("end mill 16", "end mill 12").replace("diameter = 16", "diameter = 12").replace("89.482", "60")
JOB = """
format = 1
units = "mm"
[job]
title = "Test block"
[[setup]]
name = "first"
machine = "mill-2"
programs = ["p.nc"]
offset = "G54"
{setup}
[setup.blank]
box = [124, 84, 32]
corner = [-62, -42, -31]
varies = [0.5, 0.5, 0.3]
[[setup.face]]
name = "bore A"
made = false
bore = {{ centre = [0, 0], diameter = 30, from = 1, to = -31 }}
[[setup.face]]
name = "bore B"
made = false
bore = {{ centre = [40, 0], diameter = 12, from = 1, to = -31 }}
{faces}
[setup.holding]
use = "vise-150"
fixed_jaw = {{ against = "back" }}
end_stop = {{ against = "left" }}
parallels = 22
place = {{ x = -375, y = -173, varies = 2 }}
[setup.datum]
x = "{x}"
y = "{y}"
angle = "{angle}"
z = {{ face = "{z}", is = 1.0 }}
[[setup.tool]]
station = 1
use = "end-mill-16"
stickout = 42
preset = {{ {preset1} }}
[[setup.tool]]
station = 2
use = "end-mill-12"
stickout = 58.25
preset = {{ {preset2} }}
"""


def kit_of(folder: Path, *, x="bore A", y="bore A", angle="fixed jaw", z="top", lengths="from gauge line", radius="radius",
          preset1="length = 131.482, radius = 7.995, varies = 0.01", preset2="", setup="", backlash=0.004, faces="",
          registers: dict | None = None) -> Kit:  # fmt: skip
    """The kit of a job folder written to disk and read back."""
    files = {
        "machines/mill-2.toml": MACHINE.format(lengths=lengths, radius=radius, backlash=backlash), "holding/vise-150.toml": VISE,
        "tools/end-mill-16.toml": MILL,
        "tools/end-mill-12.toml": SMALL_MILL, "instruments/finder.toml": FINDER, "instruments/probe.toml": PROBE,
        "instruments/setter.toml": SETTER,
    }  # fmt: skip
    for name, text in files.items():
        path = folder / "shop" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    job = JOB.format(x=x, y=y, angle=angle, z=z, preset1=preset1, preset2=preset2, setup=setup, faces=faces)
    (folder / "job.toml").write_text(job)
    (folder / "p.nc").write_text("G21 G90 G54\nM30\n")
    loaded = load_job(folder)
    if registers is not None:
        held = Registers.model_validate(registers)
        loaded = type(loaded)(**{f: getattr(loaded, f) for f in loaded.__dataclass_fields__}
                              | {"job": loaded.job.model_copy(update={"registers": held})})  # fmt: skip
    return kit(loaded, loaded.job.setup[0])


def readings(*contacts: dict, lengths: tuple[dict, ...] = ()) -> Readings:
    """Readings of setup "first"."""
    return Readings.model_validate({"contact": [{"setup": "first"} | c for c in contacts],
                                    "tool_length": [{"setup": "first"} | r for r in lengths]})  # fmt: skip


def machine_of(place, work) -> np.ndarray:
    """The plain transform: turn about Z by place[3] rad, then shift."""
    c, s = np.cos(place[3]), np.sin(place[3])
    return np.array([c * work[0] - s * work[1] + place[0], s * work[0] + c * work[1] + place[1], work[2] + place[2]])


def contact(on, toward, at, *, instrument="finder", **more) -> dict:
    """A contact with the machine position `at` (nan: not read)."""
    shown = {axis: float(v) for axis, v in zip("xyz", at, strict=True) if not np.isnan(v)}
    return {"on": on, "with": instrument, "toward": toward, "display": shown} | more
