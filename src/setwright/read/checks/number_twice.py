"""A block number to which the program jumps stands twice.

What silence proves
    Every jump leads to a block number that stands once in its program.

Why it matters
    Controls differ in which of the two they jump to.

How it decides
    Jumps with a written target are compared with the block numbers of the file.

Blind spots
    Jumps whose target is computed.

What to do
    Renumber one of the blocks.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("jump-target-twice", Signal.WARNING)

_TARGET = re.compile(r"(?:GOTO|M97P)0*(\d+)")
_NUMBER = re.compile(r"^/?\d?N0*(\d+)")


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a target."""
    for file in case.lines:
        targets = {target for _, text in case.words(file, holding="OM") for target in _TARGET.findall(text)}
        numbers: dict[str, list[int]] = {}
        for line, text in case.words(file, holding="NO:") if targets else ():
            found = _NUMBER.match(text)
            if text[:1] in "O:":
                numbers.clear()
            if found:
                numbers.setdefault(found[1], []).append(line)
        for target in sorted(targets):
            if len(numbers.get(target, ())) > 1:
                first, second = numbers[target][:2]
                text = f"N{target} stands in line {first} and in line {second}, and the program jumps to it"
                yield case.finding(META.slug, META.signal, case.span(file, second), text, remedy="renumber one of the two blocks")
