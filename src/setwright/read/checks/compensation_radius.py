"""The compensated tool does not fit an inner arc or corner.

What silence proves
    The compensated path of every contour touches the contour everywhere without cutting into it, for the stated radius.

Why it matters
    The tool cuts into the part, or the control stops with an alarm in the cut.

How it decides
    The contour and its offset are constructed exactly; an inside arc smaller than the radius, or an offset that folds back,
    is reported.

Blind spots
    Contours drawn without compensation are not looked at here; the simulated part shows them.

What to do
    Use a smaller tool, check the D register, or mend the contour.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("radius-larger-than-corner", Signal.DANGER)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "radius too large for an arc", "radius too large for a corner")
