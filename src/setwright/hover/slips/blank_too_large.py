"""The blank is larger than stated.

What happens
    It was sawn with a generous hand, or comes from the next bar.

What it changes
    More metal stands where the tool comes in; here twice the stated allowance on top, and three times what the saw may leave at
    the end away from the stop.

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

META = SlipMeta("blank-too-large", 0.01, "a blank", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Higher on top; longer along X and Y."""
    setup = case.kit.setup
    allowance = max(setup.datum.z.is_, 3.0 * setup.blank.varies[2])
    ways = [(axis, 3.0 * setup.blank.varies[axis]) for axis in (0, 1) if setup.blank.varies[axis] > 0.0]
    ways += [(2, allowance)] if allowance > 0.0 else []
    for axis, by in ways:
        change = blank_grown(case.world, axis, by)
        if change is not None:
            words = f"the blank is {case.length(by)} {('longer along X', 'longer along Y', 'higher')[axis]} than stated"
            yield Occurrence(META.slug, words, split(META.rate, len(ways)), "blank", "measure the blank, take off what is too much",
                             change, by)  # fmt: skip
