"""A rotation is still in force in the control.

What happens
    An earlier program was stopped before its G69.

What it changes
    The whole program runs turned about the zero; here by a quarter turn.

How often
    Some times in a thousand setups on machines that turn programs.

Where it can occur
    Programs that do not cancel a rotation at their start, on controls that know one.

What gives it away
    The active functions on the screen.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("rotation-left", 0.002, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One, unless the program cancels it."""
    if "G69" in case.text:
        return

    def change(world: World) -> World:
        return replace(world, left_turn=math.pi / 2)

    words, remedy = "a rotation of 90° is still in force", "cancel it with G69 before the start"
    yield Occurrence(META.slug, words, META.rate, "rotation", remedy, change)
