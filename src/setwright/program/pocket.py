"""Circular pockets in one block, G12 and G13: down at the centre, circles outward to the wall, back to the centre.

G12 goes round clockwise, G13 counter-clockwise. I is the radius of the pocket; with K it is that of the first circle, K that of the
pocket and Q the step between circles. D takes the tool's radius off every circle; Z is the depth, L how often the block is
repeated (under G91 deeper by Z each time). The way out to a circle, and back at the end, leads along +X.
"""

from __future__ import annotations

import math
from itertools import pairwise

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.program.machine import Machine, Triple
from setwright.program.settings import radius_register
from setwright.program.words import Words

__all__ = ["mill_circle"]

_MOST_CIRCLES = 10_000


def mill_circle(machine: Machine, words: Words, *, clockwise: bool) -> None:
    """Carry out a G12 or G13 block. Raises Stop where the profile does not have it or the tool does not fit."""
    name = "G12" if clockwise else "G13"
    if machine.profile.pocket_circle == "refuse":
        raise machine.stop(f"{name} is not understood", why="a circular pocket to some controls, something else to others",
                           remedy="write the circles out, or choose a profile that reads it", key=name,
                           behaviour="pocket_circle")  # fmt: skip
    machine.assume("pocket_circle", f"{name} mills a circular pocket, {machine.profile.pocket_circle}", key=name)
    if machine.modal.plane != 0:
        raise machine.stop(f"{name} outside G17", remedy="write G17 before it", key=name)
    odd = next((letter for letter in "XYJR" if letter in words), "")
    if odd:
        raise machine.stop(f"{odd} in {name} is not understood", why="the pocket is milled about where the tool stands",
                           remedy="go to its centre in a block before", key=odd)  # fmt: skip
    machine.close_chain(f"{name} begins")
    machine.check_stated()
    radius_register(machine, words)
    radii = _circles(machine, words, name)
    count = words.integer("L", "number of repeats") if "L" in words else 1
    for _ in range(count):
        machine.check_rows()
        centre = machine.prog
        machine.line_to((centre[0], centre[1], words.target()[2]), rapid=False)
        _one_level(machine, radii, -1.0 if clockwise else 1.0)


def _circles(machine: Machine, words: Words, name: str) -> list[float]:
    """Radii of the tool centre's circles, mm, the last one at the wall."""
    if "I" not in words:
        raise machine.stop(f"{name} has no I", remedy="write I with the radius of the pocket", key=name)
    first = words.length("I")
    last = words.length("K") if "K" in words else first
    radii = [first]
    if last > first + COORDINATE_ROUND_OFF_MM:
        step = words.length("Q") if "Q" in words else 0.0
        if step <= 0.0 or (last - first) / step > _MOST_CIRCLES:
            raise machine.stop(f"{name} has no step to go from {machine.shown(first)} to {machine.shown(last)}",
                               remedy="write Q with the step between circles", key="Q" if "Q" in words else name)  # fmt: skip
        count = math.ceil((last - first) / step - COORDINATE_ROUND_OFF_MM)
        radii = [first + k * step for k in range(count)] + [last]
    elif last < first - COORDINATE_ROUND_OFF_MM:
        raise machine.stop(f"the pocket's radius K {machine.shown(last)} is less than that of its first circle", key="K")
    tool = machine.radius()
    if radii[0] - tool <= COORDINATE_ROUND_OFF_MM:
        raise machine.stop(f"the tool radius {machine.shown(tool)} does not fit a circle of radius {machine.shown(radii[0])}",
                           remedy="use a smaller tool, or check the D register", key="I")  # fmt: skip
    return [radius - tool for radius in radii]


def _one_level(machine: Machine, radii: list[float], way: float) -> None:
    """The circles at one depth, outward, and back to the centre; `way` +1 is counter-clockwise."""
    x, y, z = machine.prog
    half = machine.profile.pocket_circle == "half circle in"

    def across(start: float, end: float) -> None:
        target: Triple = (x + end, y, z)
        if half:
            machine.arc_to(target, (x + (start + end) / 2.0, y), way * math.pi, target)
        else:
            machine.line_to(target, rapid=False)

    across(0.0, radii[0])
    for _radius, following in pairwise([*radii, 0.0]):
        at = machine.prog
        machine.arc_to(at, (x, y), way * 2.0 * math.pi, at)
        if following:
            machine.line_to((x + following, y, z), rapid=False)
    across(radii[-1], 0.0)
