"""What mistakes in typing and reckoning do to a number, and how often they happen: what Touch looks for and Hover injects.

Rates are per number, of the order that handbooks of human reliability give for copying, reading and reckoning (one in a thousand to
one in a hundred, NUREG/CR-1278, chapter 20); they only rank mistakes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

__all__ = ["INCH", "RATES", "Mistyped", "radius_mistakes", "transposed", "typing_mistakes"]

INCH: Final = 25.4

RATES: Final = {
    "sign-lost": 0.002, "inch-for-mm": 0.002, "mm-for-inch": 0.001, "decimal-point": 0.002, "digits-exchanged": 0.003,
    "mistyped": 0.004, "axes-exchanged": 0.002, "left-from-before": 0.005, "radius-not-applied": 0.006, "radius-twice": 0.004,
    "radius-wrong-side": 0.005, "height-not-applied": 0.004, "height-twice": 0.002, "handwheel-zero-lost": 0.003,
    "length-convention": 0.002, "length-of-another-tool": 0.003, "tools-exchanged": 0.004, "diameter-for-radius": 0.004,
    "burr": 0.01,
}  # fmt: skip
"""By the name of the slip, per number typed or face touched."""


@dataclass(frozen=True, slots=True)
class Mistyped:
    """A number typed wrong: name of the slip, what the register then holds is `value` too much, why, and how often."""

    slug: str
    shift: float
    why: str
    rate: float


def typing_mistakes(value: float) -> Iterator[Mistyped]:
    """What can happen to a number as a whole while it is typed; lengths in the register's own unit."""
    half = RATES["decimal-point"] / 2
    yield Mistyped("sign-lost", -2.0 * value, "the sign is wrong", RATES["sign-lost"])
    yield Mistyped("inch-for-mm", value * (1.0 / INCH - 1.0), "it was typed in inches", RATES["inch-for-mm"])
    yield Mistyped("mm-for-inch", value * (INCH - 1.0), "it was typed in mm into an inch register", RATES["mm-for-inch"])
    yield Mistyped("decimal-point", 9.0 * value, "the decimal point is one place too far right", half)
    yield Mistyped("decimal-point", -0.9 * value, "the decimal point is one place too far left", half)


def transposed(text: str) -> Iterator[str]:
    """The number with two neighbouring digits exchanged, in every way that changes it.

    >>> list(transposed("-12.25"))
    ['-21.25', '-12.52']
    """
    places = [i for i, c in enumerate(text) if c.isdigit()]
    for a, b in pairwise(places):
        if text[a] != text[b]:
            letters = list(text)
            letters[a], letters[b] = letters[b], letters[a]
            yield "".join(letters)


def radius_mistakes(side: int, reach: float, tip: float) -> tuple[tuple[str, float, float, str], ...]:
    """What happens to an offset found from one face with a tip that has a radius: slug, shift (mm), the size to
    say (mm), why, with a place for the size.

    `side`: +1 for a face that looks along the axis; `reach`: effective radius, `tip`: diameter of the tip.
    """
    return (("radius-not-applied", side * reach, reach, "the tip's radius ({}) was left out"),
            ("radius-twice", -side * reach, reach, "the radius was taken twice, or the diameter for the radius"),
            ("radius-wrong-side", 2.0 * side * reach, tip,
             "one finder diameter, {}: the radius was taken on the wrong side"))  # fmt: skip
