"""Any part of the tool meets the vise, a jaw, a parallel, a stop, a clamp, the plate or the table.

What silence proves
    No motion brings any part of the assembly into any body of the kit, at rapid or feed, within the stated bound of the distance
    computation.

Why it matters
    Jaws and clamps are steel: the tool shatters, and the part is no longer held.

How it decides
    The least distance between the swept convex pieces and each body, computed exactly with a proven bound; where they overlap,
    the depth is how far the tool would have to be moved out.

Blind spots
    Clamps, hoses and probes that are not in the kit; bodies standing elsewhere than stated.

What to do
    Move the clamp, change the parallels, shorten the travel of the motion, or raise the retract.

Source
    Least distance of convex bodies: see the algorithm note on clearance.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase
from setwright.prove.wording import how_deep, how_it_runs, how_to_settle, the_body

META = Meta("tool-into-holding", Signal.DANGER)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool, part and body."""
    for contact in case.contacts:
        if contact.body == BLANK:
            continue
        how = f"{' at rapid' if contact.rapid else ''}, {how_deep(case, contact)}{how_it_runs(contact)}"
        text = f"the {contact.part} of {case.tool_name(contact.row)} hits {the_body(contact.body)}{how}"
        remedy = "move that body or the blank, change the parallels, or shorten the motion" + how_to_settle(contact)
        yield case.finding(META.slug, META.signal, contact.row, text, body=contact.body, value=contact.depth_mm, remedy=remedy)
