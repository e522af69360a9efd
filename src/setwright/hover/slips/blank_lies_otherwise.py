"""The blank lies turned end for end, or upside down.

What happens
    Nothing marks which way it goes, and it fits in the holding either way.

What it changes
    What is already on the part lies elsewhere.

How often
    Once in a hundred clampings of parts that nearly look alike both ways.

Where it can occur
    Blanks that an earlier setup left, castings; a sawn box or bar looks the same either way.

What gives it away
    A look at the part beside the drawing of the setup.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, blank_turned, split

__all__ = ["META", "occurrences"]

META = SlipMeta("blank-lies-otherwise", 0.008, "a clamping", JUDGEMENT)


_WAYS = (("end for end", "z"), ("upside down over its long side", "x"), ("upside down over its short side", "y"))


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """The three half turns after which the metal is another."""
    ways = [(words, change) for words, about in _WAYS if (change := blank_turned(case.world, about, words)) is not None]
    for words, change in ways:
        yield Occurrence(META.slug, f"the blank lies {words}", split(META.rate, len(ways)), "blank",
                         "lay the blank as the sheet shows", change)  # fmt: skip
