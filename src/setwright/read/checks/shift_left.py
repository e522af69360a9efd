"""The program ends with a G92 or G52 shift in force.

What silence proves
    No shift is in force when the program ends.

Why it matters
    The next program, or the second piece, starts shifted.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Shifts cleared by hand at the control.

What to do
    Cancel the shift before the end: G92.1, or G52 X0 Y0 Z0.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("work-shift-left-in-force", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "G92 shift left in force", "G52 shift left in force")
