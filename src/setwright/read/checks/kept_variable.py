"""The program reads a variable that an earlier program left in the control.

What silence proves
    Every variable is set by the program before it is read.

Why it matters
    The part depends on what ran before.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    None known.

What to do
    Set the variable at the head of the program.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("variable-kept-in-the-control", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "variable kept in the control")
