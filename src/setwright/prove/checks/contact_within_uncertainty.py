"""The tool clears a body of the holding by less than the setup is known to.

What silence proves
    Every part of the assembly stays further from every body of the kit than the expanded uncertainty of that distance, or a contact
    with that body is reported anyhow.

Why it matters
    Nothing hits in the computer, but with the blank as sawn, the offset as measured and the tool as preset it may well hit.

How it decides
    The proven lower bound of the least distance against twice the combined standard uncertainty on the worst axis: of the measured
    offset, of the blank's stated variation (evenly spread), and of tool lengths.

Blind spots
    Where the kit itself is stated wrongly. On expected offsets the place counts as exact, since it is still to be set. Contact with
    the blank at rapid. Parts of the setup that move together are taken as independent.

What to do
    Make the distance larger: move the body, shorten the motion, raise the retract; or measure better what varies most.

Source
    Combined and expanded uncertainty: JCGM 100:2008, 5.1.2 and 6.2.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import ProveCase
from setwright.prove.wording import the_body

META = Meta("contact-within-uncertainty", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a body and group of parts."""
    for near in case.passes:
        if near.least_mm < case.expanded_mm:
            by = max(near.least_mm, 0.0)
            text = (f"the {near.part} of {case.tool_name(near.row)} clears {the_body(near.body)} by {case.length(by)}, "
                    f"but the setup is known only to ± {case.length(case.expanded_mm)}")  # fmt: skip
            remedy = "make this distance larger, or measure what varies most: blank, offset, tool length"
            yield case.finding(META.slug, META.signal, near.row, text, body=near.body, value=near.least_mm, remedy=remedy)
