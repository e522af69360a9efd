"""A return to the reference point first goes down.

What silence proves
    No G28 or G30 leads over an intermediate point lower than where the tool stands.

Why it matters
    `G90 G28 Z0` is meant as a retract and first runs to work Z0 at rapid: into the part.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    An intermediate point sideways of something is not looked at here; contact is proved elsewhere.

What to do
    Write G91 G28 Z0, or give an intermediate point above the part.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("reference-return-by-a-lower-point", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "reference return by a lower point")
