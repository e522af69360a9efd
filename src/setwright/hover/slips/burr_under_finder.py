"""A burr or chip holds the finder off the face.

What happens
    The edge was not deburred, or a chip clings to the finder.

What it changes
    The contact comes early: the zero lies outside the face by the burr; here 0.06 mm.

How often
    One touch in a hundred, on sawn or milled edges that nobody wiped.

Where it can occur
    Every face that is touched; on a bore or two opposite faces half of it is left.

What gives it away
    A second touch beside the first, the opposite face.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("burr-under-finder", RATES["burr"], "a face touched", JUDGEMENT)


_BURR_MM = 0.06


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each of X and Y."""
    for face in case.datum:
        letter = "XY"[face.axis]
        off = face.side * _BURR_MM if face.kind == "flat" else _BURR_MM / 2
        words = f"{case.kit.setup.offset} {letter} is {case.length(abs(off))} off: a burr or chip was under the finder"
        yield Occurrence(META.slug, words, META.rate, f"{case.kit.setup.offset} {letter}", "clean face and tip, touch again",
                         case.offset_off(case.along(face.axis, off)), off)  # fmt: skip
