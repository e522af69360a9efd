"""The part lies on parallels of another height.

What happens
    The pair of the job's other setup is in the vise, or none at all. Z is set on the part as it lies.

What it changes
    The part stands higher or lower in the jaws; the tools come down to the jaws, or less is gripped.

How often
    Some times in a hundred setups in a shop with one drawer of parallels.

Where it can occur
    Setups in a vise on parallels.

What gives it away
    The height of the part over the jaws, by a rule; the number on the parallels.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Change, Occurrence, SlipCase, SlipMeta, reset, split
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("other-parallels", 0.01, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """The parallels of the job's other setups, and none; Z set on the part as it lies, or left as it was."""
    setup = case.kit.setup
    if not case.in_vise or setup.holding.parallels <= 0.0:
        return
    others = [other.holding.parallels for other in case.kit.folder.job.setup if other.name != setup.name]
    heights = [height for height in dict.fromkeys([*others, 0.0]) if height != setup.holding.parallels and height < case.jaw_height]
    for height in heights:
        up = height - setup.holding.parallels
        holding = setup.holding.model_copy(update={"parallels": height})
        laid = reset(setup.model_copy(update={"holding": holding}))
        along = case.height_off(up)

        def found(world: World, laid: Change = laid, along: Change = along) -> World:
            return along(laid(world))

        words = f"the part lies on parallels of {case.length(height)} instead of {case.length(setup.holding.parallels)}"
        remedy = f"take parallels of {case.length(setup.holding.parallels)}"
        rate = split(META.rate, 2 * len(heights))
        yield Occurrence(META.slug, f"{words}, Z was set on it so", rate, "parallels", remedy, found, up, rebuilds=True)
        yield Occurrence(META.slug, f"{words}, Z was set before", rate, "parallels", remedy, laid, up, rebuilds=True)
