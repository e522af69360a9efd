"""A contour with cutter compensation on runs straight back.

What silence proves
    No compensated contour turns by 180 degrees.

Why it matters
    Left of the path is on the other side on the way back: the tool crosses over at the end and cuts a tool's width beside its way
    there, often into the part.

How it decides
    The directions in which one element of the contour ends and the next one begins; exact.

Blind spots
    A way back by a third element between the two.

What to do
    Take compensation off before the way back, or draw the contour on to where it leaves the part.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("compensation-reversed", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "compensation turned back")
