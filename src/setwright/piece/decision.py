"""Whether a measured value proves a feature good, proves it bad, or neither: ISO 14253-1.

With a guard band g on both sides of each limit: accepted where L + g <= y <= U - g, rejected where y < L - g or y > U + g,
undecided between; uncertainty counts against whoever has to prove. g = guard * U / 2 with the expanded uncertainty U (k = 2) of the
gauge: guard 2 is the whole of U (editions of 1998 and 2013), 1.645 a conformance probability of 95 % where U is small against the
limits (2017).
"""

from __future__ import annotations

from enum import StrEnum

from setwright.model.requirement import Size

__all__ = ["Decision", "decide"]


class Decision(StrEnum):
    """What a value proves."""

    ACCEPT = "accept"
    REJECT = "reject"
    UNDECIDED = "undecided"
    NO_LIMITS = "no limits"


def decide(value: float, limits: Size, expanded: float, *, guard: float = 2.0) -> Decision:
    """What `value` (in the unit of the limits) proves, measured to ± `expanded` (k = 2). What cannot be less than nothing has its
    upper limit only.

    >>> str(decide(25.003, Size(25.0, 0.0, 0.021), 0.004)), str(decide(25.010, Size(25.0, 0.0, 0.021), 0.004))
    ('undecided', 'accept')
    """
    if limits.upper <= limits.lower:
        return Decision.NO_LIMITS
    band = guard * expanded / 2.0
    low, high = limits.nominal + limits.lower, limits.nominal + limits.upper
    open_below = limits.nominal == limits.lower == 0.0
    if value > high + band or (value < low - band and not open_below):
        return Decision.REJECT
    if value <= high - band and (open_below or value >= low + band):
        return Decision.ACCEPT
    return Decision.UNDECIDED
