"""The program does not state its basic modes before it moves.

What silence proves
    Before its first motion the program states units, plane, distance mode, and switches compensation, length and cycles
    off.

Why it matters
    What the last program left in force then decides where this one goes.

How it decides
    Plane, distance mode and work offset as the interpreter met them; for the rest the blocks up to the first axis word are
    searched for one code of each modal group.

Blind spots
    Modes set by a subprogram before the first motion are not seen.

What to do
    Begin with a block such as G21 G17 G90 G40 G49 G80 and the offset.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("safe-start-missing", Signal.NOTICE)

_GROUPS = {"units (G20 or G21)": ("20", "21"), "G40": ("40", "41", "42"), "G49": ("49", "43", "44"), "G80": ("80",)}
_CODE = re.compile(r"G0*(\d+(?:\.\d+)?)")
_AXIS = re.compile(r"[XYZUVW][-+.\d#\[]")


def run(case: ReadCase) -> Iterator[Finding]:
    """What the control was left with, and one finding for the first program."""
    yield from said(case, META.slug, "modes not stated")
    file = next(iter(case.lines), None)
    if file is None or not len(case.path):
        return
    stated: set[str] = set()
    for number, text in case.words(file):
        codes = set(_CODE.findall(text))
        stated |= codes
        if _AXIS.search(text) and not codes & {"28", "30", "53", "10", "92", "52", "4"}:
            missing = [name for name, group in _GROUPS.items() if not stated & set(group)]
            if missing:
                text = f"before its first motion the program does not state {', '.join(missing)}"
                remedy = "what the last program left in force decides; add them to the first block"
                yield case.finding(META.slug, META.signal, case.span(file, number), text, remedy=remedy)
            return
