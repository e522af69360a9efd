"""The work offset was never typed: it holds zero.

What happens
    The registers were cleared after the last job, and this one was forgotten.

What it changes
    The control takes the machine's own zero for the part's.

How often
    Once or twice in a thousand setups.

Where it can occur
    Every setup.

What gives it away
    The register read back. Most controls stop with an alarm at the end of the travel.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("offset-at-zero", 0.0015, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One: the setup's own offset."""
    off = [0.0, 0.0, 0.0]
    for typed in case.main_offset:
        off[typed.axis] = -typed.value
    if any(off):
        offset = case.kit.setup.offset
        yield Occurrence(META.slug, f"{offset} holds zero: nothing was typed", META.rate, offset, f"type {offset} and read it back",
                         case.offset_off((off[0], off[1], off[2])), max(off, key=abs))  # fmt: skip
