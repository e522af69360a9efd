"""The program sets the zero by G92, from wherever the tool stands.

What silence proves
    No zero depends on where the tool happens to stand.

Why it matters
    Started from another place, everything is cut in another place.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    None known.

What to do
    Set a work offset instead, or state where the tool stands when G92 is read.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("work-shifted-by-g92", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "work shifted by G92")
