"""The height of the setter or block under the tip is taken off twice.

What happens
    The control's own touch function has taken it off already, and it is taken off by hand again.

What it changes
    The zero is one setter too low; the first tool goes a setter's height into the part.

How often
    Once in five hundred setups.

Where it can occur
    Wherever a tip is brought down on the part over something of known height.

What gives it away
    The tip brought over the face at a safe height: it stands too low by the setter.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("height-twice", RATES["height-twice"], "a height set", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One for each setter or block in use."""
    for name, height in case.heights.items():
        words = f"{case.height_register} is {case.length(height)} too low: the height of the {name} was taken off twice"
        yield Occurrence(META.slug, words, META.rate, case.height_register, f"add {case.length(height)} and read it back",
                         case.height_off(-height), -height)  # fmt: skip
