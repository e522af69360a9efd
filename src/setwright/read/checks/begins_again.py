"""The program returns to its own beginning.

What silence proves
    The program ends where it says M30.

Why it matters
    With M99 the next cycle starts at once, on the part that is already there.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    None known.

What to do
    Use M30 unless a bar feeder or pallet changer is meant.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("main-program-begins-again", Signal.NOTICE)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "main program begins again")
