"""A holder does not sit in the spindle: a chip on the taper.

What happens
    A chip was carried into the taper by the tool change.

What it changes
    The whole tool hangs lower, and askew; here 0.1 mm lower.

How often
    Once in some hundred changes without air through the spindle; a chip that was there when the tool was measured is gone the
    next time.

Where it can occur
    Every tool.

What gives it away
    The tip over the top face, twice, with a tool change between.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, hung_by

__all__ = ["META", "occurrences"]

META = SlipMeta("holder-not-seated", 0.003, "a tool", JUDGEMENT)


_LOWER_MM = 0.1


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each tool."""
    for tool in case.used:
        words = f"T{tool.station} hangs {case.length(_LOWER_MM)} lower than measured: a chip on its taper"
        yield Occurrence(META.slug, words, META.rate, f"T{tool.station}", "wipe taper and spindle, change the tool in again",
                         hung_by(tool.station, length=_LOWER_MM), _LOWER_MM)  # fmt: skip
