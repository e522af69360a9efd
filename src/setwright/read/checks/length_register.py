"""A tool runs with the length register of another tool.

What silence proves
    Every tool of the program applies the length register that has its own number (or the one its tool word names).

Why it matters
    A tool that is 40 mm longer than its register says goes 40 mm too deep.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Shops that number registers by their own scheme are reported as well.

What to do
    Compare H with T in this line; if another register is meant, state it at the tool in job.toml.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("length-register-of-another-tool", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place."""
    return said(case, META.slug, "length register of another tool")
