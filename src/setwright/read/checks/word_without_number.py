"""An axis letter stands without a number.

What silence proves
    Every axis, centre and radius word of the program has its number.

Why it matters
    A number was lost. Controls that do not refuse the block read it as zero: a tool that was to go a little down or aside goes to
    the zero of the part.

How it decides
    The text, block by block, where such letters are read as zero; a control that refuses them stops the reading there.

Blind spots
    Blocks with expressions or variables.

What to do
    Write the number, or take the letter out.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("word-without-number", Signal.WARNING)
_ALONE = re.compile(r"(?<![A-Z])([XYZIJKR]+)(?=$|[A-Z][\d.+-])")


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a line."""
    if case.profile.word_without_number != "zero":
        return
    for name in case.lines:
        for number, words in case.words(name):
            found = "" if set("#[=") & set(words) else "".join(_ALONE.findall(words))
            if found:
                letters = " and ".join(found)
                text = f"{letters} ha{'s' if len(found) == 1 else 've'} no number; a control reads it as 0 or refuses the block"
                remedy = f"write the number after {letters}, or take the letter out"
                yield case.finding(META.slug, META.signal, case.span(name, number), text, remedy=remedy, cause=name)
