"""A tool's register holds the length of its neighbour.

What happens
    Lengths are copied down a list, and one line is skipped or read twice.

What it changes
    The tip stands too low or too high by the difference of two tools.

How often
    Some times in a thousand setups, whichever the pair.

Where it can occur
    Setups with two tools or more; followed are neighbours in the order of the program.

What gives it away
    The lengths read back against the sheet; the tip over the top face with each tool.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, split
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("length-of-another-tool", RATES["length-of-another-tool"], "a setup", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each register with the length of the tool before and of the tool after."""
    pairs = [pair for a, b in pairwise(case.lengths) for pair in ((a, b), (b, a))]
    for typed, other in pairs:
        words = f"{typed.name} holds {typed.text(other.value)}, the length of T{other.station}, for {typed.text()} {typed.unit}"
        yield Occurrence(META.slug, words, split(META.rate, len(pairs)), typed.name, typed.again(), typed.holding(other.value),
                         other.value - typed.value)  # fmt: skip
