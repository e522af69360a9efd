"""The offset of the job before is left in.

What happens
    The new zero is typed into another register, or not at all; the program calls the old one.

What it changes
    The whole work offset is that of another part: of the job's other setup where there is one on this machine, else of a part in
    the middle of the table, a blank's height higher.

How often
    Some times in a thousand setups.

Where it can occur
    Every setup.

What gives it away
    The register read back against the sheet; the tip brought over the zero.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("left-from-before", RATES["left-from-before"], "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One: the setup's own offset."""
    offset, before = case.kit.setup.offset, case.last_job
    off = [0.0, 0.0, 0.0]
    for typed in case.main_offset:
        off[typed.axis] = (before.x, before.y, before.z)[typed.axis] - typed.value
    if any(off):
        words = f"{offset} holds the numbers of the job before, off by {', '.join(case.length(value) for value in off)}"
        yield Occurrence(META.slug, words, META.rate, offset, f"type {offset} anew and read it back",
                         case.offset_off((off[0], off[1], off[2])), max(off, key=abs))  # fmt: skip
