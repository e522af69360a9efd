"""The program ends with a rotation in force.

What silence proves
    No rotation is in force when the program ends.

Why it matters
    The next program runs turned.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Controls that clear it by themselves at the end.

What to do
    Write G69 before the end.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("rotation-left-in-force", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "rotation left in force")
