"""The text can be read in two ways that move the tool differently, and nothing in it decides.

What silence proves
    Where the control is not known, everything in the text that controls read differently is settled by the text itself.

Why it matters
    The same program cuts another part on another control, or a thousandth of one.

How it decides
    The behaviours on which controls differ are tried on the text; one that changes the motion and is not settled by evidence in the
    text is reported with its readings and the one taken.

Blind spots
    Behaviours that no known control shows.

What to do
    State the machine's control profile, or try the block on the machine far from anything.

Source
    The behaviours of the control profile; see `setwright read --profile`.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("two-readings", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a behaviour that stays open."""
    for doubt in case.inference.ambiguities if case.inference else ():
        others = ", ".join(f"“{reading}”" for reading in doubt.readings if reading != doubt.taken)
        text = f"{doubt.text}; read as “{doubt.taken}”, could also be {others}"
        remedy = f"state it in the machine's file: control.behaviours.{doubt.behaviour}"
        yield case.finding(META.slug, META.signal, doubt.span, text, remedy=remedy)
