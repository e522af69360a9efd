"""The program raises its own alarm.

What silence proves
    No #3000 alarm of the program is reached.

Why it matters
    The programmer wrote the alarm for a case that must not be cut.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Alarms in branches that these values do not reach.

What to do
    Read its text and correct the value it speaks of.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("program-alarm", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "program alarm")
