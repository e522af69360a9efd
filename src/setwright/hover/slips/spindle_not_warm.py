"""Heights were set with the spindle cold.

What happens
    Tools and Z are set in the morning; after half an hour of running the spindle has grown.

What it changes
    Every tip goes lower than it was set, by some hundredths; here 0.03 mm.

How often
    Every tenth setup that begins with a cold machine.

Where it can occur
    Every setup.

What gives it away
    The first tool touched again after the warm-up.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("spindle-not-warm", 0.02, "a setup", JUDGEMENT)


_GROWTH_MM = 0.03


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One."""
    words = f"every tip goes {case.length(_GROWTH_MM)} lower than set: the spindle was cold"
    yield Occurrence(META.slug, words, META.rate, case.height_register, "warm the spindle up and set the height anew",
                     case.height_off(-_GROWTH_MM), -_GROWTH_MM)  # fmt: skip
