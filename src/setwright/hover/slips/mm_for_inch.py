"""A number is typed in millimetres into a register of inches.

What happens
    The display or the paper was in the other unit.

What it changes
    The register holds twenty-five times what it should.

How often
    About once in a thousand where both units are in the shop.

Where it can occur
    Wherever a number is typed: where the registers are in inches.

What gives it away
    The register read back; most controls stop with an alarm at the end of the travel.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, typing_occurrences
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("mm-for-inch", RATES["mm-for-inch"], "a number typed", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Every number, where the job is in inches."""
    return typing_occurrences(META, (*case.main_offset, *case.lengths) if case.units == "in" else ())
