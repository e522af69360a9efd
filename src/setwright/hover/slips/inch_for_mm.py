"""A number is typed in inches into a register of millimetres.

What happens
    The display or the paper was in the other unit.

What it changes
    The register holds a twenty-fifth of what it should.

How often
    Some times in a thousand where both units are in the shop.

Where it can occur
    Wherever a number is typed: where the registers are in mm.

What gives it away
    The register read back; the tip is far from the part.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, typing_occurrences
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("inch-for-mm", RATES["inch-for-mm"], "a number typed", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Every number, where the job is in mm."""
    return typing_occurrences(META, (*case.main_offset, *case.lengths) if case.units == "mm" else ())
