"""A tool compensates with the radius register of another tool.

What silence proves
    Every compensated contour takes the radius register that has its tool's number.

Why it matters
    The contour comes out wrong by the difference of the radii.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Two registers for one tool (roughing and finishing) are ordinary and are reported as well.

What to do
    Compare D with T in this line.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("radius-register-of-another-tool", Signal.NOTICE)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "radius register of another tool")
