"""The height of the setter or block under the tip is left out of Z.

What happens
    The tip stands on the height setter, Z is stored as it stands, and nobody takes the setter's height off.

What it changes
    The zero is one setter too high; the tools cut air.

How often
    Some times in a thousand setups.

Where it can occur
    Wherever a tip is brought down on the part over something of known height.

What gives it away
    The tip brought to Z0: it stands a setter's height above the face.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("height-not-applied", RATES["height-not-applied"], "a height set", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One for each setter or block in use."""
    for name, height in case.heights.items():
        words = f"{case.height_register} is {case.length(height)} too high: the height of the {name} was left out"
        yield Occurrence(META.slug, words, META.rate, case.height_register, f"take {case.length(height)} off and read it back",
                         case.height_off(height), height)  # fmt: skip
