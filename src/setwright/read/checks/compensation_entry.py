"""The move that switches cutter compensation on is shorter than the radius.

What silence proves
    Every entry into cutter compensation is at least one tool radius long.

Why it matters
    Controls raise an alarm, or cut into the contour at its start.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    A radius register larger than the one stated.

What to do
    Start the contour farther away, or use a smaller tool.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("compensation-entry-too-short", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "lead-in shorter than the radius")
