"""The program has blocks that a switch at the control leaves out.

What silence proves
    No block depends on the block-delete switch.

Why it matters
    With the switch the other way round, other metal is cut.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    None known.

What to do
    Check the switch before the start; the proof holds for the switch off.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("block-delete-taken-as-off", Signal.NOTICE)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "block delete taken as off")
