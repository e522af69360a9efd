"""The tool clears a body of the holding, or the metal, by less than the setup is known to.

What silence proves
    Every part of the assembly stays further from every body of the kit than that distance may be off, and so do rapids and
    everything that cannot cut from the metal as it then stands; or a contact there is reported anyhow.

Why it matters
    Nothing hits in the computer, but with the blank as sawn, the offset as measured and the tool as preset it may well hit.

How it decides
    Each body is carried along a box and looked at again: half as wide on each axis as what the blank is stated to vary (a limit,
    taken in full) and twice the combined standard uncertainty of the measured place, of the angle times the distance from
    the datum, along Z of the length of the tool that passes, sideways of its measured radius. So nothing counts in a direction in
    which it does not act, and no tool for another one. A side of the blank that zero is taken from lies where it was touched: all
    that the blank varies is at the opposite side. The larger blank is cut anew, so that what an earlier cut takes off is gone there
    too; over a face that another tool cut, the lengths of these two count. What a draft made up on either side is asked for.

Blind spots
    Where the kit itself is stated wrongly. On expected offsets the place counts as exact, since it is still to be set. Parts of the
    setup that move together are taken as independent. Radii against walls that another tool cut. A shorter tool under a ledge.
    Inside the blank metal thinner than one and a half ray spacings can be passed over.

What to do
    Make the distance larger: move the body, shorten the motion, raise the retract; or measure better what varies most.

Source
    Combined and expanded uncertainty: JCGM 100:2008, 5.1.2 and 6.2.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, Possible, ProveCase
from setwright.prove.wording import the_body

META = Meta("contact-within-uncertainty", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a body and group of parts, of the blank one a tool and group."""
    for one in case.possible:
        how = " at rapid" if one.rapid else ""
        gap, known = case.apart(one.gap_mm, one.known_mm)
        text = (f"the {one.part} of {case.tool_name(one.row)} clears {the_body(one.body)} by {gap}{how}, "
                f"but that distance is known only to ± {known}")  # fmt: skip
        if one.count > 1:
            text += f"; so in {one.count} motions"
        drafted = case.kit.folder.job.guessed(case.kit.setup.name, "job.toml: setup.holding")
        asked = case.drafted_cut(case.station_at(one.row)) if one.body == BLANK else drafted
        yield case.finding(META.slug, META.signal, one.row, text, body=one.body, value=one.gap_mm, remedy=_remedy(one),
                           question=asked)  # fmt: skip


def _remedy(one: Possible) -> str:
    if one.body == BLANK:
        return "raise the rapid or let the tool stick out further; or measure this blank and the tool, and state what they vary"
    return "make this distance larger, or measure what varies most: blank, offset, tool length"
