"""The control is allowed to round corners.

What silence proves
    No code lets the control leave the path as it is written.

Why it matters
    Corners come out rounded, and small features are cut short, by up to the tolerance the control is set to.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    How far it may stray stands in the control, not in the program: it is not in the proof.

What to do
    Compare the control's setting with the tightest tolerance; turn it off for the finishing cuts, or measure a sharp corner.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("corners-may-be-rounded", Signal.NOTICE)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "corners may be rounded")
