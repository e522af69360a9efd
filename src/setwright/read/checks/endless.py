"""The program has not ended after a very large number of blocks.

What silence proves
    The program comes to its end.

Why it matters
    A loop whose condition never changes cuts air, or the same place, for ever.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    None known.

What to do
    Look for a loop whose condition never changes, or a call that calls itself.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("program-does-not-end", Signal.DANGER)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "program does not end")
