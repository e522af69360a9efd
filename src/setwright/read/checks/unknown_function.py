"""An M number is taken to move nothing.

What silence proves
    Every M number is standard or listed by the control profile.

Why it matters
    A machine function that clamps, indexes or moves something is not in the proof.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Functions listed in the profile are believed.

What to do
    Look it up in the machine maker's manual; list it in the machine's profile.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("machine-function-not-known", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return (replace(finding, cause="machine_functions") for finding in said(case, META.slug, "machine function not known"))
