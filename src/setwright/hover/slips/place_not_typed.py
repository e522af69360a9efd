"""One place of a pallet still holds the numbers of the job before.

What happens
    Five of six offsets are typed, one is passed over.

What it changes
    One work offset is that of another pallet, as far off as this pallet stands from the one before.

How often
    Some times in a thousand pallets, whichever the place.

Where it can occur
    Setups with several work offsets.

What gives it away
    The registers read back against the sheet, all of them.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World, offset_moved

__all__ = ["META", "occurrences"]

META = SlipMeta("place-not-typed", 0.004, "a pallet", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each place but the first, which has a slip of its own."""
    mine, before = case.world.registers.offsets.get(case.kit.setup.offset), case.last_job
    names = list(case.kit.setup.shifts)
    if mine is None:
        return
    by = (before.x - mine.x, before.y - mine.y, before.z - mine.z)
    for name in names:
        words = f"{name} holds the numbers of the job before, off by {', '.join(case.length(value) for value in by)}"

        def change(world: World, name: str = name) -> World:
            return offset_moved(world, name, by)

        yield Occurrence(META.slug, words, split(META.rate, len(names)), name, f"type {name} anew and read it back", change,
                         max(by, key=abs))  # fmt: skip
