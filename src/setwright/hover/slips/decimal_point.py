"""The decimal point is one place off.

What happens
    A digit too many or too few is typed before the point.

What it changes
    The register holds ten times what it should, or a tenth.

How often
    Some times in a thousand numbers, most often too short.

Where it can occur
    Wherever a number is typed: work offsets and tool lengths.

What gives it away
    The register read back; far off is seen with the tip over the part.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, typing_occurrences
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("decimal-point", RATES["decimal-point"], "a number typed", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Every number, either way."""
    return typing_occurrences(META, (*case.main_offset, *case.lengths))
