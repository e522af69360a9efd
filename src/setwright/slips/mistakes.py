"""What mistakes in typing and reckoning do to a number: the arithmetic that Touch looks for and Hover puts in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

__all__ = ["INCH", "Mistyped", "radius_mistakes", "transposed", "typing_mistakes"]

INCH: Final = 25.4

@dataclass(frozen=True, slots=True)
class Mistyped:
    """A number typed wrong: name of the slip, what the register then holds too much, why, and the share of the slip's rate."""

    slug: str
    shift: float
    why: str
    share: float = 1.0


def typing_mistakes(value: float) -> Iterator[Mistyped]:
    """What can happen to a number as a whole while it is typed; lengths in the register's own unit."""
    yield Mistyped("sign-lost", -2.0 * value, "the sign is wrong")
    yield Mistyped("inch-for-mm", value * (1.0 / INCH - 1.0), "it was typed in inches")
    yield Mistyped("mm-for-inch", value * (INCH - 1.0), "it was typed in mm into an inch register")
    yield Mistyped("decimal-point", 9.0 * value, "the decimal point is one place too far right", 0.5)
    yield Mistyped("decimal-point", -0.9 * value, "the decimal point is one place too far left", 0.5)


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
