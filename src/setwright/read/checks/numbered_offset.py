"""A numbered work offset goes by another name here.

What silence proves
    Every work offset is called here as the program calls it.

Why it matters
    An offset typed on the wrong page of the control sends every tool to another place.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    That the control keeps this offset under the number the program gives is believed.

What to do
    Type the offset on the page where the control keeps it under the name the program uses.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("numbered-offset", Signal.NOTICE)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "numbered offset")
