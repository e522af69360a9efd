"""Two places of a pallet are exchanged in the offsets.

What happens
    The numbers of place 2 are typed into the register of place 3, and the other way round.

What it changes
    Two work offsets are exchanged; where all places hold alike parts it costs nothing, else it meets the wrong one.

How often
    Once or twice in a thousand pallets.

Where it can occur
    Setups with several work offsets.

What gives it away
    The registers read back against the sheet.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World
from setwright.program.registers import Registers

__all__ = ["META", "occurrences"]

META = SlipMeta("places-exchanged", 0.002, "a pallet", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Neighbours in the order of the sheet."""
    names = [case.kit.setup.offset, *case.kit.setup.shifts]
    pairs = list(pairwise(names))
    for a, b in pairs:
        yield Occurrence(META.slug, f"{a} and {b} are exchanged", split(META.rate, len(pairs)), f"{a}, {b}",
                         f"type {a} and {b} anew and read them back", _exchanged(a, b))  # fmt: skip


def _exchanged(a: str, b: str) -> Callable[[World], World]:
    def swap(registers: Registers) -> Registers:
        offsets = dict(registers.offsets)
        offsets[a], offsets[b] = offsets[b], offsets[a]
        return replace(registers, offsets=offsets)

    return lambda world: world.with_registers(swap)
