"""The control does not hold the number that the readings give.

What silence proves
    Every register that was read off holds what the readings give, digit for digit.

Why it matters
    A wrong digit, sign or register is the commonest way to wreck a first part.

How it decides
    The number read off the control is compared with the number to type. Beyond 0.05 mm and three standard uncertainties it is a
    DANGER, below that a NOTICE.

Blind spots
    Registers nobody read back.

What to do
    Type the number again and read it back, aloud if somebody is near.

Source
    The convention of the machine, as its file states it.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase
from setwright.touch.registers import read_back

__all__ = ["META", "run"]

META = Meta("register-differs", Signal.DANGER)

_WRONG_ENOUGH_MM = 0.05
_LOOSE_MM = 1.0


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a register."""
    for entry in case.entries:
        said = read_back(entry, units=case.units)
        if not said or entry.now is None or entry.estimate.standard > _LOOSE_MM:
            continue
        off = entry.now - entry.rounded
        bad = abs(off) > max(_WRONG_ENOUGH_MM, 3.0 * entry.estimate.standard)
        signal = META.signal if bad else Signal.NOTICE
        remedy = f"{entry.say(case.units)}, then read it back"
        yield case.finding(META.slug, signal, said, remedy=remedy, value=off, unit="mm")
