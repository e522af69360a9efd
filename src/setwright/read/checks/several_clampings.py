"""The text says that the part is clamped anew at a stop, and the program is read as one clamping.

What silence proves
    No comment near a stop says that the part is turned over, rotated or moved, that its clamps are moved, or that another side,
    operation or zero begins; or the job gives every such stretch of lines a setup of its own (`lines` in `[[setup]]`).

Why it matters
    Behind such a stop the part lies otherwise than before it. Whatever is computed there as if it had stayed is of another part:
    what hits is missed, and what is said to hit does not.

How it decides
    Comments beside M0 and M1, before them up to the last move across the work and behind them up to the first, are looked through
    for words such as flip, turn over, re-clamp, move clamps, second side, OP 2, umspannen, wenden, retourner, voltear. A number of
    an operation counts at M0 only, and not where the tools are numbered so. Something must be cut before the stop and behind it.

Blind spots
    A part turned at a stop of which the text says nothing; words written as a picture or in a language that is not known here.

What to do
    Give each clamping a setup of its own with the lines it runs (`lines = [1, 84]`); `setwright start` drafts them.

Source
    The shop's judgement.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.program.clampings import clampings
from setwright.read.case import ReadCase

META = Meta("several-clampings", Signal.WARNING, question=True)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding for all such stops, at the first."""
    found = clampings(case.lines, case.path)
    if not found:
        return
    first = found[0]
    named = [f"line {one.line} (“{one.text}”)" for one in found]
    stops = f"at the stop in {named[0]}" if len(found) == 1 else f"at {len(found)} stops: {', '.join(named)}"
    text = f"the text says that the part is clamped anew {stops}; what follows is computed as if it still lay as before"
    yield case.finding(META.slug, META.signal, case.span(first.file, first.line), text,
                       remedy=f"give each clamping a setup of its own: lines = [1, {first.line}] in the first one")  # fmt: skip
