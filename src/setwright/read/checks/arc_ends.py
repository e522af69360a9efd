"""Start and end of an arc lie at different distances from its centre.

What silence proves
    Start and end radius of every arc agree within the open limit of 0.002 mm.

Why it matters
    A control refuses the arc, or runs a spiral; the part has a step or a mark.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Beyond the control's own limit the arc is refused, not reported here.

What to do
    Write the arc with more decimals, or with R.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("arc-end-off-its-circle", Signal.NOTICE)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "arc end off its circle")
