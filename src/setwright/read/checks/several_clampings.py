"""The text says that the part is clamped anew at a stop, and nobody has said that it is.

What silence proves
    No comment near a stop says that the part is turned over, rotated or moved, that its clamps are moved, or that another side,
    operation or zero begins; or somebody gave every such stretch of lines a setup of its own (`lines` in `[[setup]]`). Where a
    draft did, it stays a question until its guesses on that are deleted.

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
from setwright.program.clampings import clampings, said_at
from setwright.read.case import ReadCase

META = Meta("several-clampings", Signal.WARNING, question=True)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding for all such stops, at the first."""
    found = clampings(case.lines, case.path)
    stops = [(one.file, one.line, one.text) for one in found]
    follows = "what follows is computed as if it still lay as before"
    remedy = f"give each clamping a setup of its own: lines = [1, {stops[0][1]}] in the first one" if stops else ""
    if case.divided_at:
        name = case.path.files[0]
        stops = [(name, line, said_at(case.lines[name], line)) for line in case.divided_at]
        follows = "the draft makes what follows a setup of its own, whose blank is what the one before leaves"
        remedy = "see whether the part is clamped anew there, and how it is turned; then delete the guesses that say so in job.toml"
    if stops:
        named = [f"line {line} (“{text}”)" if text else f"line {line}" for _, line, text in stops]
        where = f"at the stop in {named[0]}" if len(stops) == 1 else f"at {len(stops)} stops: {', '.join(named)}"
        text = f"the text says that the part is clamped anew {where}; {follows}"
        yield case.finding(META.slug, META.signal, case.span(*stops[0][:2]), text, remedy=remedy)
