"""The program uses an offset whose place nothing gives.

What silence proves
    Every work offset and tool register the program uses has a value.

Why it matters
    An empty register counts as zero: the tool goes to the machine's own zero, or a tool length too deep.

How it decides
    Registers used against registers stated; exact.

Blind spots
    A bare program is read without registers, and then this is undecided.

What to do
    State the offset in the setup, or touch it off.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("offset-without-place", Signal.DANGER, ("registers",))


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a register."""
    file = next(iter(case.lines))
    for name in case.interpreted.missing:
        text = f"the program uses {name}, and nothing gives its value"
        yield case.finding(META.slug, META.signal, case.span(file, 0), text, remedy="state it in the setup, or touch it off")
