"""The part is lifted when the jaws close, after Z was set.

What happens
    The moving jaw lifts the part off its parallels as it tightens; the zero was set on the part before, or on the one before it.

What it changes
    The part stands higher than the control believes; here 0.3 mm. Everything comes out deeper from the top.

How often
    Once in fifty clampings that nobody taps down.

Where it can occur
    Setups in a vise.

What gives it away
    The parallels can be moved by hand; the tip over the top face, against a block.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import part_moved

__all__ = ["META", "occurrences"]

META = SlipMeta("part-lifted", 0.01, "a clamping", JUDGEMENT)


_LIFT_MM = 0.3


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One, in a vise."""
    if case.in_vise:
        words = f"the part stands {case.length(_LIFT_MM)} off its parallels, and Z was set before"
        yield Occurrence(META.slug, words, META.rate, "part", "tap the part down until the parallels are tight, set Z anew",
                         lambda world: part_moved(world, (0.0, 0.0, _LIFT_MM)), _LIFT_MM)  # fmt: skip
