"""Coordinates without a decimal point may be read a thousandfold apart.

What silence proves
    Every coordinate other than zero has a decimal point.

Why it matters
    X100 is 100 mm on one control and 0.1 mm on another.

How it decides
    Axis and centre words without a point are counted; how they were read is the profile's. Where the other numbers of the text
    settle it, it is a NOTICE; where nothing does, `two-readings` says it instead.

Blind spots
    Words computed by expressions are not counted.

What to do
    Write the points, or make sure that the control reads them as the profile says.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("no-decimal-point", Signal.CAUTION, question=True)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a program; a NOTICE where the text itself settles it, none where it is said as a doubt."""
    if any(doubt.behaviour == "decimal" for doubt in case.doubts):
        return
    settled = case.inference is not None and any(one.behaviour == "decimal" for one in case.inference.evidence)
    for assumption in case.interpreted.assumptions:
        if assumption.behaviour == "decimal":
            remedy = "check on the control: enter X100 by hand, far from anything, and read the distance to go"
            signal = Signal.NOTICE if settled else META.signal
            yield case.finding(META.slug, signal, assumption.span, assumption.text, remedy=remedy)
