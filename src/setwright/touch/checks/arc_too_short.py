"""A bore or boss was touched over less than a quarter of its circle.

What silence proves
    The contacts of every bore and boss that has three or more span at least 90 deg.

Why it matters
    The centre of a short arc is uncertain many times the uncertainty of one contact: 6 times at 60 deg, 24 times at 30 deg.

How it decides
    The largest gap between neighbouring contacts, seen from the centre, is over 270 deg.

Blind spots
    Bores touched twice only: there the axis that nothing fixes is named instead.

What to do
    Spread the contacts round the circle, or sweep it with an indicator.

Source
    Covariance of the least-squares circle over an arc.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase
from setwright.touch.doubts import short_arcs

__all__ = ["META", "run"]

META = Meta("arc-too-short", Signal.CAUTION)


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a bore or boss."""
    for name, span in short_arcs(case.setting, case.solution):
        text = f"{name} was touched over {math.degrees(span):.0f} deg only: its centre is uncertain several times over"
        remedy = "spread the contacts round the circle"
        yield case.finding(META.slug, META.signal, text, remedy=remedy, value=math.degrees(span), unit="deg")
