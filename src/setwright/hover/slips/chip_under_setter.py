"""A chip lies under the height setter or block.

What happens
    The face was not wiped; the setter rocks on a chip.

What it changes
    Z is too high by the chip; here 0.1 mm.

How often
    One setting in two hundred.

Where it can occur
    Wherever something is stood on the part or the table to set a height.

What gives it away
    The setter moved and touched once more.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("chip-under-setter", 0.005, "a height set", JUDGEMENT)


_CHIP_MM = 0.1


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One."""
    words = f"{case.height_register} is {case.length(_CHIP_MM)} too high: a chip was under the setter"
    yield Occurrence(META.slug, words, META.rate, case.height_register, "wipe face and setter, set the height anew",
                     case.height_off(_CHIP_MM), _CHIP_MM)  # fmt: skip
