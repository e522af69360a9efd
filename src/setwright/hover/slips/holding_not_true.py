"""The vise or plate was not trued up.

What happens
    It was set down by eye, or a chip lies at its key.

What it changes
    The part is turned against the axes; here by ten times what a trued one may be out, or 3 mrad, either way.

How often
    Some times in a thousand setups whose holding was put on.

Where it can occur
    Every setup.

What gives it away
    An indicator along the fixed jaw or the part's long side.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World, part_turned

__all__ = ["META", "occurrences"]

META = SlipMeta("holding-not-true", 0.004, "a setup", JUDGEMENT)


_TIMES = 10.0
_ANY_RAD = 0.003


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Either way."""
    vise = case.kit.folder.job.shop.holding[case.kit.setup.holding.use].vise
    angle = _TIMES * vise.tram if vise is not None and vise.tram > 0.0 else _ANY_RAD
    for sign in (-1, 1):

        def change(world: World, turn: float = sign * angle) -> World:
            return part_turned(world, turn)

        way = "counter-clockwise" if sign > 0 else "clockwise"
        words = f"the part is turned {way} by {1000.0 * angle:.1f} mrad, {1000.0 * angle:.1f} mm in a metre"
        yield Occurrence(META.slug, words, split(META.rate, 2), "holding", "true the fixed jaw with an indicator", change)
