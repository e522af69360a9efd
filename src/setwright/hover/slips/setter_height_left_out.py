"""The height of the tool setter is left out of every length.

What happens
    The tools are brought down on a setter on the table, and its height is not taken into account.

What it changes
    All lengths are off by the setter's height, alike.

How often
    Some times in a thousand setups.

Where it can occur
    Setups whose tools are measured on a setter in the machine.

What gives it away
    The first tip over the top face; all tools are off by the same.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World
from setwright.touch.instrument import find_instrument

__all__ = ["META", "occurrences"]

META = SlipMeta("setter-height-left-out", 0.003, "a setup", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One for each setter the tools of this setup were measured on."""
    folder, lengths = case.kit.folder, case.lengths
    names = dict.fromkeys(r.with_ for r in folder.job.readings.tool_length if r.setup == case.kit.setup.name)
    for name in names if lengths else ():
        height = find_instrument(folder.job.shop.instruments, name).height

        def change(world: World, height: float = height) -> World:
            for typed in lengths:
                world = typed.holding(typed.value + height)(world)
            return world

        words = f"all lengths are {case.length(height)} too great: the height of the {name} was left out"
        yield Occurrence(META.slug, words, META.rate, "all lengths", f"take {case.length(height)} off every length", change, height)
