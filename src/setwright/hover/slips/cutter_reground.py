"""A reground cutter stands in for a new one.

What happens
    The cutter was sharpened and is smaller than its name; the register holds the nominal radius.

What it changes
    The tool cuts less than the control believes; here 0.3 mm less in diameter.

How often
    Once in a hundred milling cutters, in shops that regrind.

Where it can occur
    Cutters that mill a contour with or without a radius register.

What gives it away
    The caliper on the cutter.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, hung_by

__all__ = ["META", "occurrences"]

META = SlipMeta("cutter-reground", 0.005, "a milling cutter", JUDGEMENT)


_SMALLER_MM = 0.3
_MILLS = ("end mill", "bull-nose mill", "ball mill", "slot mill")


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each milling cutter."""
    for tool in case.used:
        hung = case.kit.tools[tool.station]
        if hung.tool.kind in _MILLS and hung.radius > _SMALLER_MM:
            words = f"T{tool.station} is {case.length(_SMALLER_MM)} smaller in diameter than it says: it was reground"
            yield Occurrence(META.slug, words, META.rate, f"T{tool.station}", "measure its diameter and type it",
                             hung_by(tool.station, radius=-_SMALLER_MM / 2), -_SMALLER_MM)  # fmt: skip
