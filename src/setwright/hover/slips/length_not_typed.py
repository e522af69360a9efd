"""A tool was measured and its length never typed: the register holds zero.

What happens
    The tool is new in the magazine, the register was cleared, the number stayed on paper.

What it changes
    The control takes the gauge line for the tip: the tool comes down by its whole length.

How often
    Once or twice in a thousand tools.

Where it can occur
    Every tool whose length the program takes from a register that holds lengths from the gauge line or differences.

What gives it away
    The lengths read back; the first approach with distance to go against what the eye sees.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("length-not-typed", 0.0015, "a tool", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each tool."""
    for typed in case.lengths:
        if typed.value != 0.0:
            yield Occurrence(META.slug, f"{typed.name} holds zero for {typed.text()} {typed.unit}: nothing was typed", META.rate,
                             typed.name, typed.again(), typed.holding(0.0), -typed.value)  # fmt: skip
