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
from dataclasses import replace

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

META = Meta("safe-start-missing", Signal.NOTICE)

_GROUPS = {"units (G20 or G21)": ("20", "21"), "G40": ("40", "41", "42"), "G49": ("49", "43", "44"), "G80": ("80",)}
_CODE = re.compile(r"G0*(\d+(?:\.\d+)?)")
_AXIS = re.compile(r"[XYZUVW][-+.\d#\[]")


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding: what the interpreter met as not stated, and what the blocks up to the first axis word lack beside it."""
    met = next(said(case, META.slug, "modes not stated"), None)
    line, missing = _lacking(case)
    if met is not None:
        rest = f", {', '.join(missing)}." if missing else "."
        yield replace(met, text=met.text.removesuffix(".") + rest)
    elif missing:
        text = f"Before its first move the program does not state {', '.join(missing)}."
        remedy = "Write them in the first block: a control may start with others."
        yield case.finding(META.slug, META.signal, case.span(next(iter(case.lines)), line), text, remedy=remedy)


def _lacking(case: ReadCase) -> tuple[int, list[str]]:
    """Line of the first axis word of the first program, and the modes of which no code stands up to there."""
    file = next(iter(case.lines), None)
    stated: set[str] = set()
    for number, text in case.words(file) if file is not None and len(case.path) else ():
        codes = set(_CODE.findall(text))
        stated |= codes
        if _AXIS.search(text) and not codes & {"28", "30", "53", "10", "92", "52", "4"}:
            return number, [name for name, group in _GROUPS.items() if not stated & set(group)]
    return 0, []
