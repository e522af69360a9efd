"""A pointed tool was measured at its shoulder instead of its tip.

What happens
    The drill is set beside its point, or the setter's button meets the lip and not the chisel edge.

What it changes
    The tip goes deeper by the height of the point.

How often
    Once in two hundred pointed tools set by hand.

Where it can occur
    Drills, spot drills, chamfer mills: whatever has a point.

What gives it away
    The tip over the top face, against a block; the rule on the tool.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.geometry.pieces import Role
from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("shoulder-for-tip", 0.004, "a pointed tool", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each pointed tool."""
    for typed in case.lengths:
        if typed.station is None:
            continue
        first = next((piece for piece in case.kit.tools[typed.station].pieces if piece.role is Role.CUTTING), None)
        if first is not None and first.r1 > first.r0 and first.z1 > first.z0 and first.rho == 0.0:
            point = first.z1 - first.z0
            words = f"{typed.name} is {case.length(point)} too small: T{typed.station} was measured at the shoulder of its point"
            yield Occurrence(META.slug, words, META.rate, typed.name, f"measure T{typed.station} at its tip",
                             typed.holding(typed.value - point), -point)  # fmt: skip
