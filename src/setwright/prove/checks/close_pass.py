"""The tool passes a body of the holding by less than 2 mm.

What silence proves
    Every part of the assembly stays at least 2 mm from every body of the kit, or a contact that is certain or possible is reported
    there.

Why it matters
    A clearance of half a millimetre in the computer is none at the machine if the vise stands where it was put by eye.

How it decides
    The proven lower bound of the least distance, compared with 2 mm. What is closer than the setup is known to is a finding of
    its own. Where only a draft put the holding there it is a NOTICE: nobody has said yet how the part is held.

Blind spots
    As for contact: bodies that are not in the kit.

What to do
    Check the distance by eye at a hold point, or make it larger.

Source
    Least distance of convex bodies: see the algorithm note on clearance.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import ProveCase
from setwright.prove.wording import the_body

META = Meta("close-pass", Signal.CAUTION)
WANTED_MM = 2.0


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a body and group of parts."""
    drafted = case.kit.folder.job.guessed(case.kit.setup.name, "job.toml: setup.holding")
    for near in case.passes:
        if near.least_mm < WANTED_MM - SAME_PLACE_MM:
            body = the_body(near.body)
            passes, wanted = case.apart(near.least_mm, WANTED_MM, places=2)
            how = f"passes {body} at {passes}" if near.least_mm > 0.0 else f"touches {body}"
            text = f"the {near.part} of {case.tool_name(near.row)} {how}"
            remedy = f"less than {wanted}: look at this place at a hold point before running on"
            if drafted:
                text += "; a draft put it there"
                remedy = f"say in job.toml how the part is really held; {remedy}"
            yield case.finding(META.slug, Signal.NOTICE if drafted else META.signal, near.row, text, body=near.body,
                               value=near.least_mm, remedy=remedy, question=drafted)  # fmt: skip
