"""A drill goes far down in one go, without coming up to clear its chips.

What silence proves
    No drill goes through more than four times its diameter of metal in one motion.

Why it matters
    Chips pack in the flutes, the coolant does not reach the point, and the drill jams and breaks in the hole.

How it decides
    The longest motion straight down of each drill, as far as it took metal off: its way, or what it removed over the drill's own
    section if that is less (a hole that was there before counts for nothing). A peck that only breaks the chip begins a new motion.
    Error bound: that of the removed volume.

Blind spots
    Coolant through the drill and drills made for deep holes go deeper at once. Materials with short chips bear more.

What to do
    Use a peck cycle, or state a drill made for it.

Source
    Ordinary practice of three to five diameters; unverified, hence CAUTION.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.load import LoadCase

META = Meta("drilled-without-pecks", Signal.CAUTION, needs=("load",))
_DIAMETERS = 4.0


def run(case: LoadCase) -> Iterator[Finding]:
    """One finding a drill."""
    for one in case.load.pecks:
        times = one.depth_mm / one.diameter_mm
        if times <= _DIAMETERS:
            continue
        text = (f"{case.tool_name(one.row)} goes {case.length(one.depth_mm, places=1)} deep in one go, {times:.1f} times its "
                "diameter, without coming up for its chips")  # fmt: skip
        yield case.finding(META.slug, META.signal, one.row, text, value=one.depth_mm, remedy="use a peck cycle")
