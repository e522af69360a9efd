"""Nothing that was touched fixes an axis of the work offset.

What silence proves
    X, Y and Z of the offset each follow from contacts, not from where the holding is said to stand.

Why it matters
    A place known from the kit alone is off by millimetres: the tool comes down into the part, the jaw or the table.

How it decides
    The readings are solved together with what the kit says. An axis is open when it follows more than half of any change of the
    stated place, and where a size that a draft guessed makes most of its uncertainty. Z is also open when its contact was made by a
    tool whose own length is not known.

Blind spots
    An axis that rests on a single wrong contact is not open; see contact-unchecked.

What to do
    Touch a face square to that axis, or sweep the datum bore. For Z touch with a tool of known length. Measure what was guessed.

Source
    Gain matrix of weighted least squares; Björck, Numerical Methods for Least Squares Problems, ch. 1.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase
from setwright.touch.wording import remedy_for_axis

__all__ = ["META", "run"]

META = Meta("axis-not-found", Signal.DANGER)


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding an open axis."""
    for axis in "xyz":
        found = case.determined[axis]
        if found.by in ("kit", "nothing", "guess"):
            yield case.finding(META.slug, META.signal, found.text, remedy=found.remedy or remedy_for_axis(axis))
