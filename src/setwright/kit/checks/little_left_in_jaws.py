"""The vise grips little of the blank's height.

What silence proves
    The jaws reach at least 3 mm up the blank's sides, and at least a fifth of its height.

Why it matters
    A blank gripped by its edge tips or climbs out of the jaws under the cut.

How it decides
    The tops of the jaws, and the lower and upper face of the blank lying on its parallels, as the kit states them.

Blind spots
    Jaws with a step or teeth of their own; a blank whose sides are not upright; how hard the vise is closed; holding that is no
    vise.

What to do
    Take lower parallels, or bite more of the blank; else clamp from above or cut lightly.

Source
    Moments about the edge of the jaws. A force F across the jaws at the top of a blank H high tips it by F·(H − g); pressed with
    P over a grip g, the jaws hold against no more than P·g/2, where all pressure has gone to one edge. With F 2.4 kN and P 20 kN (a
    safety of 2.5 at a friction of 0.15) that is g ≥ 0.19 H.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.base.units import format_apart, format_length
from setwright.kit.station import Kit
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal

META = Meta("little-left-in-jaws", Signal.WARNING)
LEAST_MM = 3.0
LEAST_SHARE = 0.2


def run(case: Kit) -> Iterator[Finding]:
    """One finding at most."""
    if case.folder.job.shop.holding[case.setup.holding.use].vise is None:
        return
    jaw_top = min(body.bounds()[1][2] for body in case.placement.bodies if body.name in ("fixed jaw", "moving jaw"))
    low, high = (float(corner[2]) for corner in case.extent)
    grip, wanted = min(float(jaw_top), high) - low, max(LEAST_MM, LEAST_SHARE * (high - low))
    if grip < wanted - SAME_PLACE_MM:
        units = case.folder.units
        places = 1 if units == "mm" else 2
        (held, least), tall = format_apart((grip, wanted), units, places=places), format_length(high - low, units, places=places)
        text = f"the jaws grip {held} of a blank {tall} high, less than {least}"
        remedy = "take lower parallels so that more of the blank stands in the jaws"
        yield Finding(slug=META.slug, signal=META.signal, text=text, remedy=remedy, body="fixed jaw", value=grip, unit="mm")
