"""Something interrupts a contour while cutter compensation is on.

What silence proves
    Between G41 or G42 and G40 nothing makes the control lose sight of the contour.

Why it matters
    Controls differ: some drop the compensation, some cut into the part.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    How many blocks without motion a control looks across is its own.

What to do
    Write G40 before it, and G41 or G42 again after it.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("compensation-interrupted", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "compensation interrupted")
