"""Two tools are in each other's pockets.

What happens
    The magazine was loaded from a tray, and two neighbours were exchanged.

What it changes
    Each of the two programs runs with the other tool: shape, length and radius.

How often
    Some times in a thousand setups, whichever the pair.

Where it can occur
    Setups with two tools or more; followed are neighbours in the order of the program.

What gives it away
    A look at every tool when it comes up; the rule on it.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World, tool_hung
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("tools-exchanged", RATES["tools-exchanged"], "a setup", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Neighbours."""
    pairs = list(pairwise(tool.station for tool in case.used))
    for a, b in pairs:
        words = f"T{a} {case.kit.tools[a].tool.name} and T{b} {case.kit.tools[b].tool.name} are in each other's pockets"
        yield Occurrence(META.slug, words, split(META.rate, len(pairs)), f"T{a}, T{b}", f"exchange T{a} and T{b}", _exchanged(a, b))


def _exchanged(a: int, b: int) -> Callable[[World], World]:
    def change(world: World) -> World:
        of_a, of_b = world.kit.tools[a], world.kit.tools[b]
        lengths, radii = world.truth.lengths, world.truth.radii
        there = replace(of_b, length=lengths[b], radius=radii[b]), replace(of_a, length=lengths[a], radius=radii[a])
        return tool_hung(tool_hung(world, a, there[0]), b, there[1])

    return change
