"""The finder's radius is taken twice, or its diameter for the radius.

What happens
    The control's own touch function has taken the radius off already, and it is taken off by hand again; or the tip's diameter is
    used.

What it changes
    The zero lies half a tip too far inside the part.

How often
    A few times in a thousand edges; reckoning by hand is worse than copying.

Where it can occur
    Wherever X or Y of the zero comes from one flat face and a tip with a radius. A bore or two opposite faces are safe: the
    radius cancels.

What gives it away
    The tip over the edge, the opposite face, the register read back.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, radius_occurrences
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("radius-twice", RATES["radius-twice"], "an edge found", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One for each of X and Y that is found from one flat face."""
    return radius_occurrences(case, META)
