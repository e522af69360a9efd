"""Higher jaws are on the vise.

What happens
    The jaws of another job were left on; parallels and part lie as they should.

What it changes
    The jaws reach farther up beside the part; here 10 mm.

How often
    Once in some hundred setups in a shop with several sets of jaws.

Where it can occur
    Setups in a vise.

What gives it away
    The height of the part over the jaws, by a rule.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World, set_up_as

__all__ = ["META", "occurrences"]

META = SlipMeta("jaws-higher", 0.003, "a setup", JUDGEMENT)


_HIGHER_MM = 10.0


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One, in a vise."""
    holding = case.kit.folder.job.shop.holding[case.kit.setup.holding.use]
    if holding.vise is None:
        return
    vise = holding.vise.model_copy(update={"jaw_height": holding.vise.jaw_height + _HIGHER_MM})
    changed = holding.model_copy(update={"vise": vise})

    def change(world: World) -> World:
        return set_up_as(world, world.kit.setup, holding=changed)

    words = f"the jaws are {case.length(vise.jaw_height)} high instead of {case.length(holding.vise.jaw_height)}"
    yield Occurrence(META.slug, words, META.rate, "jaws", "put the right jaws on", change, _HIGHER_MM, rebuilds=True)
