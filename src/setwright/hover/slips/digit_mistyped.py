"""One digit of a number is wrong.

What happens
    A 4 is read for a 9, or the key beside the right one is pressed.

What it changes
    The register is off by a few units of one place.

How often
    Once in a thousand digits, so some times in a thousand numbers.

Where it can occur
    Every number that is copied: work offsets and tool lengths. Followed are one unit of the tens, of the ones and of the tenths
    (in an inch register: of the ones, tenths and hundredths), away from the part or into it as the digit happens to fall; here
    downward, which is the worse way.

What gives it away
    The register read back digit by digit.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, split

__all__ = ["META", "occurrences"]

META = SlipMeta("digit-mistyped", 0.004, "a number typed", PRIOR)


_PLACES = {"mm": (10.0, 1.0, 0.1), "in": (1.0, 0.1, 0.01)}


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """For every number three places."""
    for typed in (*case.main_offset, *case.lengths):
        for place in _PLACES[typed.unit]:
            value = typed.value - place * typed.per_unit()
            words = f"{typed.name} holds {typed.text(value)} for {typed.text()} {typed.unit}: one digit is wrong"
            yield Occurrence(META.slug, words, split(META.rate, 3), typed.name, typed.again(), typed.holding(value),
                             value - typed.value)  # fmt: skip
