"""Axis words after G80 come without G0 or G1.

What silence proves
    Every motion after a cycle says whether it is rapid or feed.

Why it matters
    Controls differ in what is in force then.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    None known.

What to do
    Write G0 or G1 behind G80.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("motion-after-cycle-without-g0-or-g1", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "motion after G80 without G0 or G1")
