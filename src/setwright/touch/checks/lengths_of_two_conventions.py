"""A length register holds a length of another convention than the machine uses.

What silence proves
    No length register that was read off fits another convention better than the machine's own.

Why it matters
    A length from gauge line in a control that wants the tip on the datum sends the tool hundreds of millimetres too deep.

How it decides
    Offset Z and length together miss the measured sum by more than 2 mm, while the length alone fits another convention to 2 mm.

Blind spots
    Registers nobody read back; tools whose length nothing gives.

What to do
    Measure all tools in one convention and type them anew.

Source
    The sum that every convention keeps: offset Z + length = datum + gauge line to tip.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase
from setwright.touch.registers import mixed_conventions

__all__ = ["META", "run"]

META = Meta("lengths-of-two-conventions", Signal.DANGER)


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a register."""
    for said in mixed_conventions(case.setting.kit, case.solution, case.stated):
        yield case.finding(META.slug, META.signal, said, remedy="type the length this machine's convention asks for")
