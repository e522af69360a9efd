"""Touch-offs with one mistake each: made in the readings, at the machine, or when typing the registers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from tests.touch.simulate import World
from tests.touch.workshop import kit_of, readings

DATUM = {"x": "left", "y": "fixed jaw", "preset1": "length = 131.482, radius = 8.0", "preset2": "length = 118.25, radius = 6.0"}
EXACT = ("left", "fixed jaw", "back", "end stop")


@dataclass
class Case:
    """One touch-off: the world, its contacts, and what the control is made to hold (mm, by register and axis)."""

    world: World
    contacts: list[dict]
    typed: dict[str, float] = field(default_factory=dict)
    lengths: tuple[dict, ...] = ()


def honest(seed) -> Case:
    world = World(np.random.default_rng(seed), EXACT)
    world.length = 131.482 + world.rng.normal(0, 0.01)
    lefts = [world.touch("left", "+X", (-62, y)) for y in (-25, 0, 25)]
    jaws = [world.touch("fixed jaw", "+Y", (x, 42)) for x in (-58, 0, 58)]
    tops = []
    for at in ((-50, -35), (50, -35), (0, 38)):
        point = world.turn([*at, 1.0])
        tops.append(world.top() | {"display": world.top()["display"] | {"x": float(point[0]), "y": float(point[1])}})
    return Case(world, [*lefts, *jaws, *tops], lengths=(world.on_table(2),))


def two_sided(seed) -> Case:
    """Both sides of the part touched: its width says whether the radius was counted as it should be."""
    world = World(np.random.default_rng(seed), ("fixed jaw", "back"), ("left", "right"), loose=0.2)
    sides = [world.touch(on, toward, (x, y)) for on, toward, x in (("left", "+X", -62), ("right", "-X", 62)) for y in (-20, 20)]
    jaws = [world.touch("fixed jaw", "+Y", (x, 42)) for x in (-58, 0, 58)]
    return Case(world, [*sides, *jaws, world.top(), world.top()], lengths=(world.on_table(2),))


def _display(case, i, **change):
    case.contacts[i] = case.contacts[i] | {"display": case.contacts[i]["display"] | {a: float(v) for a, v in change.items()}}


def _burr(case, rng):
    _display(case, 1, x=case.contacts[1]["display"]["x"] - rng.uniform(0.06, 0.15))


def _wrong_reading(case, rng):
    _display(case, 4, y=case.contacts[4]["display"]["y"] + rng.choice([-1, 1]) * rng.uniform(2, 9))


def _radius_taken(case, rng):
    for i in (0, 1, 2):
        _display(case, i, x=case.contacts[i]["display"]["x"] + 5.0)
    for i in (3, 4, 5):
        _display(case, i, y=case.contacts[i]["display"]["y"] + 5.0)


def _radius_taken_both(case, rng):
    for i, shift in enumerate((5.0, 5.0, -5.0, -5.0)):
        _display(case, i, x=case.contacts[i]["display"]["x"] + shift)
    for i in (4, 5, 6):
        _display(case, i, y=case.contacts[i]["display"]["y"] + 5.0)


def _other_face(case, rng):
    for i in (3, 4, 5):
        _display(case, i, y=case.contacts[i]["display"]["y"] - 84.0)


def _pulled_out(case, rng):
    (read,) = case.lengths
    shift = rng.choice([-1, 1]) * rng.uniform(0.3, 3.0)
    case.lengths = (read | {"display": {"z": float(read["display"]["z"] + shift)}},)


def _exchanged(case, rng):
    for i in range(6):
        shown = case.contacts[i]["display"]
        _display(case, i, x=shown["y"], y=shown["x"])


def _inches(case, rng):
    for i in range(6):
        _display(case, i, **{a: v / 25.4 for a, v in case.contacts[i]["display"].items()})


def _chip_under(case, rng):
    _display(case, 8, z=case.contacts[8]["display"]["z"] + rng.uniform(0.2, 0.4))


def _elsewhere(case, rng):
    shift = rng.choice([-1, 1]) * rng.uniform(15, 40)
    for i in (0, 1, 2, 3, 4, 5, 6, 7, 8):
        _display(case, i, x=case.contacts[i]["display"]["x"] + shift)


def _not_true(case, rng):
    turn = rng.choice([-1, 1]) * rng.uniform(0.004, 0.008)
    for i in range(6):
        shown = case.contacts[i]["display"]
        dx, dy = shown["x"] - case.world.place[0], shown["y"] - case.world.place[1]
        _display(case, i, x=shown["x"] - turn * dy, y=shown["y"] + turn * dx)


READINGS: dict[str, Callable] = {
    "burr-under-finder": _burr, "reading-wrong": _wrong_reading, "radius-in-readings": _radius_taken, "axes-exchanged": _exchanged,
    "inch-for-mm": _inches, "chip-under-part": _chip_under, "holding-moved": _elsewhere, "holding-not-true": _not_true,
    "wrong-face": _other_face, "tool-pulled-out": _pulled_out,
}  # fmt: skip
"""Slug -> what it does to the readings."""

BOTH_SIDES: dict[str, Callable] = {"radius-in-readings": _radius_taken_both}
"""Slug -> what it does to the readings of a part touched on both sides."""

DATUM_BOTH = DATUM | {"x": "left and right"}


def _set(name, shift):
    def change(held, rng):
        held[name] += shift(held, rng) if callable(shift) else shift

    return change


def _swap(a, b):
    def change(held, rng):
        held[a], held[b] = held[b], held[a]

    return change


def _transpose(held, rng):
    text = f"{held['G54 Y']:.3f}"
    places = [i for i, c in enumerate(text) if c.isdigit()]
    pairs = [(a, b) for a, b in pairwise(places) if text[a] != text[b]]
    # the last place is at the noise of another touch-off and cannot be told from it
    a, b = pairs[rng.integers(0, max(len(pairs) - 1, 1))]
    letters = list(text)
    letters[a], letters[b] = letters[b], letters[a]
    held["G54 Y"] = float("".join(letters))


def _before(held, rng):
    for axis in "XYZ":
        held[f"G54 {axis}"] = -rng.uniform(20, 400)


def _into_another(held, rng):
    for axis in "XYZ":
        held[f"G55 {axis}"] = held[f"G54 {axis}"]
    _before(held, rng)


def _other_reference(held, rng):
    shift = rng.choice([-1, 1]) * rng.uniform(2, 40)
    for name in ("length 1", "length 2"):
        held[name] += shift


REGISTERS: dict[str, Callable] = {
    "radius-not-applied": _set("G54 X", -5.0), "radius-twice": _set("G54 X", 5.0), "radius-wrong-side": _set("G54 X", -10.0),
    "sign-lost": _set("G54 Z", lambda held, rng: -2 * held["G54 Z"]),
    "inch-for-mm": _set("G54 X", lambda held, rng: held["G54 X"] * (1 / 25.4 - 1)),
    "decimal-point": _set("G54 Y", lambda held, rng: -0.9 * held["G54 Y"]), "digits-exchanged": _transpose,
    "axes-exchanged": _swap("G54 X", "G54 Y"), "left-from-before": _before, "height-not-applied": _set("G54 Z", 50.0),
    "height-twice": _set("G54 Z", -50.0), "tools-exchanged": _swap("length 1", "length 2"),
    "length-of-another-tool": _set("length 2", lambda held, rng: held["length 1"] - held["length 2"]),
    "length-convention": _set("length 1", lambda held, rng: held["G54 Z"]), "diameter-for-radius": _set("radius 1", 8.0),
    "mistyped": _set("G54 Y", lambda held, rng: rng.choice([-1, 1]) * rng.uniform(11.3, 40)),
    "handwheel-zero-lost": _set("G54 Y", lambda held, rng: rng.choice([-1.0, 1.0])),
    "wrong-register": _into_another, "reference-tool-changed": _other_reference,
}  # fmt: skip
"""Slug -> what it does to the registers, typed otherwise as they should be."""


def kit_with(kit, typed):
    """The same kit, the control holding `typed` ("G54 X" -> mm, "length 1" -> mm)."""
    held = {"offset": {}, "tool": {}}
    for name, value in typed.items():
        if name.startswith("G5"):
            held["offset"].setdefault(name[:3], {})[name[-1].lower()] = float(value)
        else:
            what, number = name.split()
            held["tool"].setdefault(number, {})[what] = float(value)
    registers = type(kit.folder.job.registers).model_validate(held)
    job = kit.folder.job.model_copy(update={"registers": registers})
    folder = type(kit.folder)(**{f: getattr(kit.folder, f) for f in kit.folder.__dataclass_fields__} | {"job": job})
    return type(kit)(**{f: getattr(kit, f) for f in kit.__dataclass_fields__} | {"folder": folder})


__all__ = ["BOTH_SIDES", "DATUM", "DATUM_BOTH", "READINGS", "REGISTERS", "honest", "kit_of", "kit_with", "readings", "two_sided"]
