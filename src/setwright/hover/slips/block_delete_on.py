"""The block-delete switch stands the other way.

What happens
    It was switched for the last job and stays so.

What it changes
    Blocks that begin with / are skipped though they should run.

How often
    Some times in a hundred setups whose program has such blocks.

Where it can occur
    Programs with / at the beginning of a block.

What gives it away
    The lamp or the line on the screen.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("block-delete-on", 0.01, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One, where the program has blocks to skip."""
    if any(line.startswith("/") for line in case.text.splitlines()):

        def change(world: World) -> World:
            return replace(world, skip_levels=frozenset({1}))

        yield Occurrence(META.slug, "the block-delete switch is on: blocks that begin with / are skipped", META.rate,
                         "block-delete switch", "switch block delete off", change)  # fmt: skip
