"""A drilling cycle begins without its near level (R).

What silence proves
    Every cycle says from which height it feeds, or the machine's file says what the control takes where R is missing.

Why it matters
    One control refuses the block, another one feeds from where the tool stands, a third takes the level of the cycle before: at
    rapid down to a level that was meant for another hole.

How it decides
    The words of the block that begins the cycle, and what the cycle remembers from the blocks before it; exact.

Blind spots
    A near level that is given, but lies too low.

What to do
    Write R in the block that begins the cycle.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("cycle-without-near-level", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a program."""
    for one in case.interpreted.assumptions:
        if one.behaviour == "cycle_without_r" and not case.stated("cycle_without_r"):
            text = "the cycle has no near level (R); it is taken to start from where the tool stands"
            if one.count > 1:
                text += f", here and {one.count - 1} more time{'s' * (one.count > 2)}"
            yield case.finding(META.slug, META.signal, one.span, text, remedy="write R in the block that begins the cycle")
