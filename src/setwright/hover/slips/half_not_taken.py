"""A bore or boss is touched on both sides and the middle is not taken.

What happens
    Both walls are touched, and the position of the last touch is stored instead of the mean of the two.

What it changes
    The zero lies on the wall instead of on the axis, off by the radius less (in a bore) or plus (on a boss) half the tip.

How often
    Once in some hundred bores found by hand.

Where it can occur
    Wherever X or Y of the zero is the axis of a bore or boss touched from both sides.

What gives it away
    The tip over the middle of the bore, a second touch of the other wall, the register read back.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, split

__all__ = ["META", "occurrences"]

META = SlipMeta("half-not-taken", 0.004, "an axis found from two walls", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Either wall, for each of X and Y found from a bore or boss."""
    reach, _ = case.finder
    for face in case.datum:
        if face.kind != "round":
            continue
        letter = "XY"[face.axis]
        off = face.diameter / 2 - reach if face.hole else face.diameter / 2 + reach
        for sign in (-1, 1):
            words = (f"{case.kit.setup.offset} {letter} is {case.length(off)} too far {'+' if sign > 0 else '-'}{letter}: "
                     f"one wall of “{face.name}” was taken for its middle")  # fmt: skip
            yield Occurrence(META.slug, words, split(META.rate, 2), f"{case.kit.setup.offset} {letter}",
                             "take the mean of both walls and type it anew", case.offset_off(case.along(face.axis, sign * off)),
                             sign * off)  # fmt: skip
