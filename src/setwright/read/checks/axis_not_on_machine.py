"""A word for an axis that the machine does not have.

What silence proves
    Every axis word of the program is X, Y or Z, or the machine's file says what becomes of the others.

Why it matters
    Most controls stop with an alarm at an axis they do not have, in the middle of the program. Where the machine has it after all,
    the table or the part on it moves, and nothing here is computed for that.

How it decides
    A word A, B or C that says zero is taken to turn nothing, unless the machine's file says otherwise; any other number stops the
    reading.

Blind spots
    Where an axis the program means to be at zero stands.

What to do
    Take the word out, or state rotary_words = "at zero" in the machine's file if the control lets it pass.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("axis-not-on-machine", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a program."""
    for one in case.interpreted.assumptions:
        if one.behaviour == "rotary_words" and not case.stated("rotary_words"):
            letter = one.text[0]
            text = f"this machine has no {letter} axis; {letter} is taken to turn nothing, since it says 0"
            if one.count > 1:
                text += f" ({one.count} words in all)"
            remedy = 'take the word out; if the control lets it pass, write rotary_words = "at zero" in the machine\'s file'
            yield case.finding(META.slug, META.signal, one.span, text, remedy=remedy)
