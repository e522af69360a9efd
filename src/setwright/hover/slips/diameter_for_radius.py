"""A radius register holds the diameter, or a diameter register the radius.

What happens
    One machine of the shop wants the radius, the other the diameter.

What it changes
    Compensated contours come out half a diameter, or a quarter, beside where they should.

How often
    Some times in a thousand tools with a radius register.

Where it can occur
    Tools that the program compensates.

What gives it away
    The register read back against the sheet.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("diameter-for-radius", RATES["diameter-for-radius"], "a radius register", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each compensated tool."""
    doubled = case.kit.machine.control.radius_register == "diameter"
    held_as, wanted = ("radius", "diameter") if doubled else ("diameter", "radius")
    for typed in case.radii:
        held = typed.value * (0.5 if doubled else 2.0)
        words = f"{typed.name} holds the {held_as}; this machine wants the {wanted}"
        yield Occurrence(META.slug, words, META.rate, typed.name, typed.again(), typed.holding(held), held - typed.value)
