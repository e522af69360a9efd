"""A drilling cycle's depth lies above its near level.

What silence proves
    Every cycle goes down.

Why it matters
    The drill feeds upward and drills nothing, or the sign of Z is wrong.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    None known.

What to do
    Compare Z and R of the cycle.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("cycle-depth-above-its-near-level", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "cycle depth above its near level")
