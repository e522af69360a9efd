"""The wear of the tool before is left in a radius.

What happens
    A new cutter goes into an old pocket; the wear that brought the last part to size stays.

What it changes
    Compensated walls are off by it; here 0.05 mm of radius.

How often
    Once in a hundred cutters that are replaced.

Where it can occur
    Tools that the program compensates.

What gives it away
    The wear page of the registers, read back.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split

__all__ = ["META", "occurrences"]

META = SlipMeta("radius-wear-left", 0.006, "a radius register", JUDGEMENT)


_WEAR_MM = 0.05


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each compensated tool, either way."""
    for typed in case.radii:
        for sign in (-1, 1):
            off = sign * _WEAR_MM
            words = f"{typed.name} is {case.length(_WEAR_MM)} too {'small' if sign < 0 else 'great'}: an earlier wear was left in"
            yield Occurrence(META.slug, words, split(META.rate, 2), typed.name, f"set the wear of {typed.name} to 0",
                             typed.holding(typed.value + off), off)  # fmt: skip
