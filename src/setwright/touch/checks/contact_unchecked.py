"""A reading is checked by no other: a blunder in it would not show.

What silence proves
    Every contact and length reading has another one that would contradict it.

Why it matters
    One touch on a burr gives a number as clean as a good one. No statistics can find it: only a second touch can.

How it decides
    The redundancy number of the reading is below 0.1: less than a tenth of an error in it would show in the residuals.

Blind spots
    Two contacts on the same burr check each other and agree.

What to do
    Touch the same face once more at another place.

Source
    Baarda (1968): redundancy numbers and least detectable blunder.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("contact-unchecked", Signal.CAUTION)


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding, naming all of them."""
    if not case.unchecked:
        return
    names = ", ".join(case.who(reading) for reading, _ in case.unchecked)
    text = f"nothing checks {names}: a burr or a wrong number there would go unnoticed"
    yield case.finding(META.slug, META.signal, text, remedy="touch there once more, a little further along")
