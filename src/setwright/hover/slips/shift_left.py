"""A shift of G52 or G92 is still in force in the control.

What happens
    An earlier program set it and was stopped before it took it back.

What it changes
    Every work offset is shifted; here by one part's length along X, as if the part before had been the one beside it, or by its
    height.

How often
    Some times in a thousand setups on controls that keep such shifts.

Where it can occur
    Programs that do not cancel them at their start.

What gives it away
    The active shifts on the screen; the tip over the zero.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("shift-left", 0.002, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Along X, and down, unless the program cancels them."""
    if "G92" in case.text or "G52" in case.text:
        return
    x, _, z = (case.kit.extent[1] - case.kit.extent[0]).tolist()
    for by in ((x, 0.0, 0.0), (0.0, 0.0, -z)):

        def change(world: World, by: tuple[float, float, float] = by) -> World:
            return replace(world, left_shift=by)

        words = f"a shift of {', '.join(case.length(value) for value in by)} is still in force"
        yield Occurrence(META.slug, words, split(META.rate, 2), "shift", "cancel it (G92.1, G52 X0 Y0 Z0) before the start", change,
                         max(by, key=abs))  # fmt: skip
