"""The handwheel or display was some steps on when it was read.

What happens
    A sleeve brushes the handwheel between the touch and the reading, or a whole turn is miscounted.

What it changes
    One number of the zero is off by ten steps or by a turn of a hundred, either way.

How often
    Some times in a thousand touches, all sizes together.

Where it can occur
    Wherever a position is read off after the handwheel was let go.

What gives it away
    The same face touched again; a turn is seen with the tip over the part, ten steps are not.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, split
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("handwheel-zero-lost", RATES["handwheel-zero-lost"], "a face touched", PRIOR)


_STEPS = (10, 100)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each number of the zero, ten steps and a turn, either way."""
    for typed in case.main_offset:
        letter = "XYZ"[typed.axis]
        for steps in _STEPS:
            for sign in (-1, 1):
                off = sign * steps * case.handwheel_step
                way = f"{'+' if sign > 0 else '-'}{letter}"
                words = f"{typed.name} is {case.length(abs(off))} too far {way}: {steps} steps of the handwheel"
                yield Occurrence(META.slug, words, split(META.rate, 4), typed.name, "touch that face again",
                                 case.offset_off(case.along(typed.axis, off)), off)  # fmt: skip
