"""A tool is held shorter than the sheet says, and measured so.

What happens
    Whoever set the tools held this one as short as its flutes allow, as is good practice elsewhere. Its length was measured, so
    the tip is right.

What it changes
    The holder comes down by what the tool is shorter.

How often
    Once in a hundred tools.

Where it can occur
    Every tool whose stick-out is longer than its flutes.

What gives it away
    The rule on the stick-out.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, hung_by

__all__ = ["META", "occurrences"]

META = SlipMeta("stickout-short", 0.008, "a tool", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each tool that sticks out farther than its flutes reach."""
    for tool in case.used:
        hung = case.kit.tools[tool.station]
        shorter = hung.stickout - hung.tool.flute_length
        if shorter > 0.0 and hung.tool.kind not in ("face mill", "boring bar"):
            words = f"T{tool.station} sticks out {case.length(hung.tool.flute_length)} instead of {case.length(hung.stickout)}"
            remedy = f"hold T{tool.station} as the sheet says, measure it anew"
            yield Occurrence(META.slug, words, META.rate, f"T{tool.station}", remedy,
                             hung_by(tool.station, stickout=-shorter, length=-shorter, measured=True), -shorter)  # fmt: skip
