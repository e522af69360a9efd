"""The tool passes a body of the holding more closely than the setup is known.

What silence proves
    Every part of the assembly stays further from every body of the kit than the setup's own uncertainty allows for, and at
    least 2 mm.

Why it matters
    A clearance of half a millimetre in the computer is none at the machine if the vise stands where it was put by eye.

How it decides
    The proven lower bound of the least distance, compared with 2 mm or twice the combined variation of blank and tool length,
    whichever is more.

Blind spots
    As for contact: bodies that are not in the kit.

What to do
    Check the distance by eye at a hold point, or make it larger.

Source
    Least distance of convex bodies: see the algorithm note on clearance.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import ProveCase
from setwright.prove.wording import the_body

META = Meta("close-pass", Signal.CAUTION)
WANTED_MM = 2.0


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a body and group of parts."""
    wanted = max(WANTED_MM, 2.0 * math.hypot(max(case.kit.setup.blank.varies), case.truth.u_length))
    hit = {(contact.body, _group(contact.part)) for contact in case.contacts}
    for near in case.nearness:
        if near.least_mm < wanted and near.row >= 0 and (near.body, near.part) not in hit:
            body = the_body(near.body)
            how = f"passes {body} at {near.least_mm:.2f} mm" if near.least_mm > 0.0 else f"touches {body}"
            text = f"the {near.part} of {case.tool_name(near.row)} {how}"
            remedy = f"less than {wanted:.1f} mm: look at this place at a hold point before running on"
            yield case.finding(META.slug, META.signal, near.row, text, body=near.body, value=near.least_mm, remedy=remedy)


def _group(part: str) -> str:
    """Distances do not tell neck and shank apart."""
    return "shank" if part == "neck" else part
