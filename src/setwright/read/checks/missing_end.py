"""The text ends without M30 or M2.

What silence proves
    The program has an end of its own.

Why it matters
    Half a file that was cut off in transfer looks like this too.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    A file cut off exactly behind its M30.

What to do
    Compare the last line with the file it came from; write M30.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("no-end-of-program", Signal.NOTICE)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "no end of program")
