"""The external offset still holds something.

What happens
    It was raised for a run above the part, or lowered for one, and not taken back.

What it changes
    Every work offset is higher or lower; here by the blank's height up, or as far down again because it was taken back twice.

How often
    Some times in a thousand setups in shops that run above the part first.

Where it can occur
    Every setup.

What gives it away
    The external offset on the register page, read back.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World
from setwright.program.registers import Registers

__all__ = ["META", "occurrences"]

META = SlipMeta("external-offset-left", 0.003, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Up, and down."""
    height = float(case.kit.extent[1][2] - case.kit.extent[0][2])
    for by in (height, -height):

        def change(world: World, by: float = by) -> World:
            def moved(registers: Registers) -> Registers:
                x, y, z = registers.external
                return replace(registers, external=(x, y, z + by))

            return world.with_registers(moved)

        words = f"the external offset holds Z {case.length(by)}: it was not taken back after a run above the part"
        yield Occurrence(META.slug, words, split(META.rate, 2), "external offset", "set the external offset to 0", change, by)
