"""A radius register was never typed: it holds zero.

What happens
    The radius is needed by this program only, and was forgotten.

What it changes
    The tool's middle runs along the contour: every wall is cut by the radius.

How often
    Some times in a thousand tools with a radius register.

Where it can occur
    Tools that the program compensates.

What gives it away
    The register read back.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("radius-not-typed", 0.003, "a radius register", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each compensated tool."""
    for typed in case.radii:
        words = f"{typed.name} holds zero for {typed.text()} {typed.unit}: nothing was typed"
        yield Occurrence(META.slug, words, META.rate, typed.name, typed.again(), typed.holding(0.0), -typed.value)
