"""A touch-off from the shop's side: true things, what the display shows of them, and what the registers must hold.

Plain arithmetic of the trade, nothing of the package: the control adds external shift, offset, length and wear, and the tip then
stands where the program says. So what must be typed follows from where the datum and each tip truly are.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.touch.simulate import SCHEMES, World, world_of

HABITS = ("from gauge line", "tip on datum", "reference tool")
_INCH = 25.4
_TABLE_HALF = 0.02


@dataclass
class Case:
    """One touch-off. `contacts`, `lengths`: as read, numbers with their unit; `held`: external shift and wear in the control;
    `truth`: by register ("G54 X", "length 2") what it must hold, mm."""

    scheme: str
    habit: str
    inch: bool
    world: World
    contacts: list[dict]
    lengths: list[dict]
    held: dict
    truth: dict[str, float] = field(default_factory=dict)


def case(number: int, *, seed: int = 1) -> Case:
    """The touch-off of that number: every datum with every habit of holding lengths, in mm and in inches, over and over."""
    schemes = list(SCHEMES)
    scheme, rest = schemes[number % len(schemes)], number // len(schemes)
    habit, inch = HABITS[rest % 3], bool((rest // 3) % 2)
    world = world_of(scheme, [seed, number], digit=0.0001 * _INCH if inch else 0.001)
    rng = world.rng
    contacts = SCHEMES[scheme][0](world)
    if habit == "from gauge line":
        table = rng.uniform(-_TABLE_HALF, _TABLE_HALF)  # the machine's file is not exact about it
        read = world.on_table(2, step=0.01)
        lengths = [read | {"display": {"z": read["display"]["z"] + table}}]
    else:
        lengths = []
        contacts.append(world.top(tool=2, step=0.01, on=next(c["on"] for c in contacts if c["toward"] == "-Z")))
    external = rng.uniform(-5.0, 5.0, 3).round(3)
    wear = rng.uniform(-0.2, 0.2, 2).round(3)
    held = {"external": dict(zip("xyz", external.tolist(), strict=True)),
            "tool": {str(tool): {"length_wear": float(wear[tool - 1])} for tool in (1, 2)}}  # fmt: skip
    made = Case(scheme, habit, inch, world, [_read(c, inch=inch) for c in contacts], [_read(r, inch=inch) for r in lengths], held)
    made.truth = _registers(world, habit, external, wear)
    return made


def _read(reading: dict, *, inch: bool) -> dict:
    """The reading as it is written down: each number with the unit of the display."""

    def said(mm: float) -> str:
        return f"{mm / _INCH:.4f} in" if inch else f"{mm:.3f} mm"

    step = {"last_step": said(reading["last_step"])} if reading.get("last_step") else {}
    return reading | {"display": {axis: said(mm) for axis, mm in reading["display"].items()}} | step


def _registers(world: World, habit: str, external: np.ndarray, wear: np.ndarray) -> dict[str, float]:
    """What must stand in each register so that external shift, offset, length and wear together bring the tip to the datum."""
    x, y, z = (float(value) for value in world.place[:3])
    share = {"from gauge line": 0.0, "tip on datum": -z, "reference tool": world.lengths[1]}[habit]
    found = {"G54 X": x - external[0], "G54 Y": y - external[1], "G54 Z": z + share - external[2]}
    for tool in (1, 2):
        found[f"length {tool}"] = world.lengths[tool] - share - wear[tool - 1]
    return {name: float(value) for name, value in found.items()}
