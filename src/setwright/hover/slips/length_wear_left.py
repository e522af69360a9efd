"""The wear of the tool before is left in a length.

What happens
    A new tool goes into an old pocket; its length is typed, the wear of its forerunner stays.

What it changes
    The tip goes lower by the wear that was typed; here 0.15 mm.

How often
    Once in a hundred tools that are replaced.

Where it can occur
    Every tool; more often in long runs.

What gives it away
    The wear page of the registers, read back.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("length-wear-left", 0.004, "a tool", JUDGEMENT)


_WEAR_MM = 0.15


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each tool."""
    for typed in case.lengths:
        words = f"{typed.name} is {case.length(_WEAR_MM)} too small: the wear of an earlier tool was left in"
        yield Occurrence(META.slug, words, META.rate, typed.name, f"set the wear of {typed.name} to 0",
                         typed.holding(typed.value - _WEAR_MM), -_WEAR_MM)  # fmt: skip
