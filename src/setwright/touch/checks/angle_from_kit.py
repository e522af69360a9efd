"""The angle of the part was not measured: it is taken from the vise or plate.

What silence proves
    Contacts fix the direction of the part.

Why it matters
    A vise knocked out of true turns every feature; far from the datum that is more than a tolerance.

How it decides
    The angle follows more than half of any change of the stated direction of the vise. Its effect is given at the farthest corner
    of the blank.

Blind spots
    How true the vise really is: the number in its file is believed.

What to do
    Touch the jaw or a long face near both ends, or indicate it. Where a face was touched twice, write down where along it.

Source
    JCGM 100, 4.3 (information from elsewhere as an input with its own uncertainty).
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.units import format_length
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("angle-from-kit", Signal.NOTICE)


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding."""
    if case.determined["angle"].by == "readings":
        return
    size = case.angle.expanded * case.reach
    text = f"{case.determined['angle'].text}; at the far corner that is ± {format_length(size, case.units)}"
    remedy = case.determined["angle"].remedy
    signal = Signal.CAUTION if remedy else META.signal
    remedy = remedy or "touch the jaw or a long face at both ends if that matters"
    yield case.finding(META.slug, signal, text, remedy=remedy, value=size, unit="mm")
