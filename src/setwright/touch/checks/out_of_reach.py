"""A reading that the machine's axes cannot show, or a number to type that no tip could follow.

What silence proves
    Every position written down lies in the travel of its axis (1 mm allowed); with the numbers to type the spindle can stand over
    the part and each tool on its top; no tool has a length below zero.

Why it matters
    A lost sign, millimetres written as inches or a lost decimal point put the part where the machine has never been.

How it decides
    Readings against the travel of the machine's file. The part's extent, moved to where the numbers put it, against the travel of X
    and Y; each tool's length and the datum's height together against the travel of Z. A reading that cannot be counts for nothing.

Blind spots
    Wrong numbers that lie within the travel. Where a draft guessed the travel it is only asked about.

What to do
    Read the display again and correct the reading, or touch again.

Source
    The machine's own travel.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("out-of-reach", Signal.DANGER)


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a reading or number."""
    for text in dict.fromkeys(one.text for one in case.beyond):
        one = next(one for one in case.beyond if one.text == text)
        mild = one.question or (one.reading < 0 and not one.axes and one.tool is None)
        yield case.finding(META.slug, Signal.CAUTION if mild else META.signal, one.text, remedy=one.remedy)
