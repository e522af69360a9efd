"""A chip lies under the part when Z is set on it.

What happens
    The parallels or rests were not wiped; the zero is set on the top, so the top is right.

What it changes
    The part stands higher over the holding; what is measured from its underside comes out thinner, here by 0.2 mm at most.

How often
    Once in fifty clampings.

Where it can occur
    Setups whose part lies on something.

What gives it away
    The parallels can be moved by hand; the part rocks when tapped.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World, part_moved

__all__ = ["META", "occurrences"]

META = SlipMeta("chip-under-part", 0.008, "a clamping", JUDGEMENT)


_CHIP_MM = 0.2


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One: the control's zero goes up with the part."""
    up = case.height_off(_CHIP_MM)

    def change(world: World) -> World:
        return up(part_moved(world, (0.0, 0.0, _CHIP_MM)))

    words = f"the part stands {case.length(_CHIP_MM)} too high on a chip, and Z was set on it so"
    yield Occurrence(META.slug, words, META.rate, "part", "take the part out, wipe, clamp it anew", change, _CHIP_MM)
