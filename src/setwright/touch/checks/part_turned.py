"""The part is turned against the axes by more than its angle is uncertain.

What silence proves
    A program along the axes meets the part within 0.02 mm at its farthest corner, or the turn cannot be told from none.

Why it matters
    The control follows its axes, not the part: walls come out slanted and bores in the wrong place.

How it decides
    The angle from the contacts is larger than its expanded uncertainty, and its arc at the farthest corner larger than 0.02 mm.

Blind spots
    A control that turns the work by a register of its own: then type the angle there and take no notice.

What to do
    True the holding up, or turn the program by the angle.

Source
    JCGM 100, 6.2 (expanded uncertainty).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from setwright.base.units import format_length
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("part-turned", Signal.CAUTION)

_WORTH_SAYING_MM = 0.02


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding."""
    off = abs(case.angle.value) * case.reach
    if case.determined["angle"].by != "readings" or abs(case.angle.value) <= case.angle.expanded or off <= _WORTH_SAYING_MM:
        return
    turn = f"the part is turned {math.degrees(case.angle.value):+.4f} deg"
    text = f"{turn}: a program along the axes is {format_length(off, case.units)} off at the far corner"
    remedy = "true the holding up, or turn the program by this angle"
    yield case.finding(META.slug, META.signal, text, remedy=remedy, value=off, unit="mm")
