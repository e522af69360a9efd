"""The sign of a number is lost.

What happens
    The minus is not typed, or typed where none belongs.

What it changes
    The register holds the negative of what it should.

How often
    Some times in a thousand numbers.

Where it can occur
    Wherever a number is typed: the three of a work offset.

What gives it away
    The register read back digit by digit, sign first.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, typing_occurrences
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("sign-lost", RATES["sign-lost"], "a number typed", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Every offset number."""
    return typing_occurrences(META, case.main_offset)
