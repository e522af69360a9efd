"""The part does not sit against its stop.

What happens
    A chip between part and stop, or the part slid as the jaws closed. The zero was set on the part before.

What it changes
    The part stands off along the jaws; here 0.5 mm by a chip and slip, or 2 mm because nobody pushed.

How often
    Once in a hundred clampings.

Where it can occur
    Setups with an end stop, from the second part on, or when the zero is kept from the last time.

What gives it away
    A feeler at the stop; the finder on that face.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World, part_moved

__all__ = ["META", "occurrences"]

META = SlipMeta("not-against-stop", 0.008, "a clamping", JUDGEMENT)


_OFF_MM = (0.5, 2.0)
_AWAY = {"left": (1.0, 0.0), "right": (-1.0, 0.0), "front": (0.0, 1.0), "back": (0.0, -1.0)}


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Two distances, away from the stop."""
    stop = case.kit.setup.holding.end_stop
    if stop is None or stop.against not in _AWAY:
        return
    x, y = _AWAY[stop.against]
    for off in _OFF_MM:

        def change(world: World, off: float = off) -> World:
            return part_moved(world, (x * off, y * off, 0.0))

        words = f"the part stands {case.length(off)} off its stop, and the zero was set before"
        yield Occurrence(META.slug, words, split(META.rate, len(_OFF_MM)), "part", "push the part against its stop, clamp it anew",
                         change, off)  # fmt: skip
