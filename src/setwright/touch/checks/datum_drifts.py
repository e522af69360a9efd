"""The datum has moved since it was touched.

What silence proves
    Of every face that was checked three times or more, the place is the same within the readings' noise.

Why it matters
    A machine that warms up moves by some hundredths in the first hour; a part that slips moves without end.

How it decides
    Checks of one face over the time: a steady place, a steady drift and warming up are fitted; each step up must lower the
    misfit by more than noise does once in a hundred times (F test). The time left is until a quarter of the narrowest
    tolerance, or 0.01 mm, is used up at the fastest rate the checks allow.

Blind spots
    Fewer than three checks of one face; a jump between two checks shows as a drift.

What to do
    Touch again before the time is up, or warm the machine up first.

Source
    Regression with an F test; ISO 230-3 for how machines drift.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("datum-drifts", Signal.CAUTION)


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a face."""
    for drifted in case.drifts:
        if drifted.moves:
            worse = drifted.minutes_left <= 0.0 or abs(drifted.drift.moved) > drifted.allowed
            signal = Signal.WARNING if worse else META.signal
            remedy = "touch the datum again, now" if worse else "touch again before the time is up"
            yield case.finding(META.slug, signal, drifted.text(case.units), remedy=remedy, value=drifted.drift.moved, unit="mm")
