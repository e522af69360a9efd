"""The holding was taken off or moved after the zero was set.

What happens
    The vise was turned out of the way for another job and set back, or its bolts were not tight.

What it changes
    Part and holding stand elsewhere on the table; as far off as the holding's place is known, along X or Y, either way.

How often
    Once or twice in a thousand setups.

Where it can occur
    Setups whose zero is kept.

What gives it away
    The finder on the datum; the tip over the zero.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World, holding_moved

__all__ = ["META", "occurrences"]

META = SlipMeta("holding-moved", 0.002, "a setup", JUDGEMENT)


_LEAST_MM = 0.5


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """X and Y, either way."""
    off = max(case.kit.placement.varies, _LEAST_MM)
    for axis in (0, 1):
        for sign in (-1, 1):
            by = case.along(axis, sign * off)

            def change(world: World, by: tuple[float, float, float] = by) -> World:
                return holding_moved(world, by)

            words = f"the holding stands {case.length(off)} too far {'+' if sign > 0 else '-'}{'XY'[axis]}: it was moved since"
            yield Occurrence(META.slug, words, split(META.rate, 4), "holding", "set the zero anew", change, sign * off)
