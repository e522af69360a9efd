"""The stop was moved after the zero was set.

What happens
    Somebody knocked against the stop, or used it for another part.

What it changes
    Every part sits off along the jaws; here by 5 mm, either way.

How often
    Once or twice in a thousand setups.

Where it can occur
    Setups with an end stop whose zero is kept.

What gives it away
    The finder on the face at the stop.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.geometry.frames import shifted
from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World, part_moved

__all__ = ["META", "occurrences"]

META = SlipMeta("stop-moved", 0.0015, "a setup", JUDGEMENT)


_OFF_MM = 5.0


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Either way along the jaws; the stop goes with the part."""
    stop = case.kit.setup.holding.end_stop
    if stop is None:
        return
    axis = 0 if stop.against in ("left", "right") else 1
    for sign in (-1, 1):
        by = case.along(axis, sign * _OFF_MM)

        def change(world: World, by: tuple[float, float, float] = by) -> World:
            moved = part_moved(world, by)
            back = shifted(*by)
            bodies = tuple(body.moved(back) if body.name == "end stop" else body for body in moved.kit.placement.bodies)
            return replace(moved, kit=replace(moved.kit, placement=replace(moved.kit.placement, bodies=bodies)))

        words = f"the stop stands {case.length(_OFF_MM)} too far {'+' if sign > 0 else '-'}{'XY'[axis]}, and the part with it"
        remedy = f"touch “{case.kit.setup.datum.x}” anew"
        yield Occurrence(META.slug, words, split(META.rate, 2), "stop", remedy, change, sign * _OFF_MM)
