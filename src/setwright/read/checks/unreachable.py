"""There are blocks behind the end of the program that nothing calls.

What silence proves
    Every block of the text is run, or belongs to a subprogram of its own.

Why it matters
    Half of the work may stand behind a forgotten M30.

How it decides
    Words with axes behind the first M30 or M2 of a file that has neither a program number nor a block number which a call
    or a jump names.

Blind spots
    Jumps whose target is computed.

What to do
    Take the early M30 out, or delete what is behind it.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("unreachable-code", Signal.CAUTION)

_END = re.compile(r"M0*(?:30|2)(?!\d)")
_AXIS = re.compile(r"[XYZ][-+.\d#\[]")
_JUMPS = re.compile(r"GOTO|M9[789](?!\d)|G6[56](?!\d)")


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a file."""
    for file in case.lines:
        end = next((number for number, text in case.words(file, holding="M") if _END.search(text)), None)
        if end is None:
            continue
        for number, text in case.words(file, behind=end):
            if text[0] in "O:":
                break
            if _AXIS.search(text):
                if not _jumps_before(case, file, number):
                    what = "blocks that move the tool stand behind the end of the program"
                    remedy = "take the early M30 out, or delete them"
                    yield case.finding(META.slug, META.signal, case.span(file, number), what, remedy=remedy)
                break


def _jumps_before(case: ReadCase, file: str, last: int) -> bool:
    """Whether something up to this line may lead behind the end."""
    upto = itertools.takewhile(lambda line: line[0] <= last, case.words(file, holding="GM"))
    return any(_JUMPS.search(text) for _, text in upto)
