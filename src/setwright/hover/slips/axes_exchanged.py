"""X and Y of the zero are exchanged.

What happens
    Two numbers are copied from the slip of paper in the wrong order.

What it changes
    X of the offset holds Y and Y holds X.

How often
    About once in five hundred setups.

Where it can occur
    Wherever two numbers are copied by hand.

What gives it away
    The register read back against the sheet; the tip nowhere near the part.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("axes-exchanged", RATES["axes-exchanged"], "a setup", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One: the setup's own offset."""
    by_axis = {typed.axis: typed for typed in case.main_offset}
    if 0 in by_axis and 1 in by_axis and by_axis[0].value != by_axis[1].value:
        x, y = by_axis[0], by_axis[1]
        off = y.value - x.value
        words = f"X and Y are exchanged in {case.kit.setup.offset}: X holds {x.text(y.value)}, Y holds {y.text(x.value)}"
        yield Occurrence(META.slug, words, META.rate, case.kit.setup.offset, f"{x.again()}; {y.again()}",
                         case.offset_off((off, -off, 0.0)), off)  # fmt: skip
