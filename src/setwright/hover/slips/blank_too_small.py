"""The blank is smaller than stated.

What happens
    The saw ran off, or the allowance was used up by a crooked cut.

What it changes
    Faces that should be cut stay raw; here three times what the saw may leave, at the end away from the stop and on top.

How often
    Once in a hundred blanks.

Where it can occur
    Sawn blanks: boxes and cylinders.

What gives it away
    The caliper on the blank.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, blank_grown, split

__all__ = ["META", "occurrences"]

META = SlipMeta("blank-too-small", 0.01, "a blank", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Lower on top; shorter along X and Y."""
    varies = case.kit.setup.blank.varies
    ways = [(axis, -3.0 * varies[axis]) for axis in (0, 1, 2) if varies[axis] > 0.0]
    for axis, by in ways:
        change = blank_grown(case.world, axis, by)
        if change is not None:
            words = f"the blank is {case.length(-by)} {('shorter along X', 'shorter along Y', 'lower')[axis]} than stated"
            yield Occurrence(META.slug, words, split(META.rate, len(ways)), "blank", "measure the blank, take another", change, by)
