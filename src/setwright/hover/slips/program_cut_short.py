"""The program in the control is not whole.

What happens
    The transfer broke off; what came is run.

What it changes
    The program ends in the middle of a tool.

How often
    Some times in a thousand transfers over an old line.

Where it can occur
    Every program.

What gives it away
    The last line in the control, the length of the file.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("program-cut-short", 0.001, "a transfer", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One: the first program ends after two thirds of its lines."""
    name = case.kit.setup.programs[0]
    lines = case.world.sources[name].splitlines(keepends=True)
    kept = 2 * len(lines) // 3

    def change(world: World) -> World:
        return replace(world, sources={**world.sources, name: b"".join(lines[:kept])})

    words = f"{name} ends in line {kept} of {len(lines)}: the transfer broke off"
    yield Occurrence(META.slug, words, META.rate, name, "transfer it again and compare its last line", change)
