"""A contact does not agree with the others.

What silence proves
    No contact that others check is off by more than its uncertainty allows (false alarm once in a thousand contacts).

Why it matters
    A burr, a chip or a misread number moves the offset by as much, and looks exactly like a correct setup.

How it decides
    Each contact is compared with what all others predict for it, in units of its own uncertainty; beyond 3.291 it is named, and the
    rest is solved and looked at again without it. The sign tells early (burr, chip) from late (chamfer, part moved); what is
    further off than 0.3 mm is compared with a lost sign, the other unit, a digit, the point, a turn of the handwheel, another tool
    in the spindle, a setter left out; where two of them explain it nearly as well, both are said.

Blind spots
    Contacts that no other checks; the same error in all contacts of a face.

What to do
    Clean face and tip, make this contact again.

Source
    Baarda, A testing procedure for use in geodetic networks (1968).
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase
from setwright.touch.gross import GROSS_MM

__all__ = ["META", "run"]

META = Meta("contact-disagrees", Signal.WARNING)


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a contact."""
    cannot_be = {one.reading for one in case.beyond}
    for outlier in case.outliers:
        if outlier.reading in cannot_be or (outlier.rivals and case.undecided):
            continue
        gross = abs(outlier.early) > GROSS_MM
        remedy = "read the display again" if gross else "clean face and tip"
        text = outlier.text(case.units) + ("" if outlier.rivals or outlier.kept else "; the numbers are reckoned without it")
        yield case.finding(META.slug, Signal.DANGER if gross else META.signal, text,
                           remedy=f"{remedy}, and make this contact again", value=abs(outlier.early), unit="mm")  # fmt: skip
