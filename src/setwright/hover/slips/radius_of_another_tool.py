"""A radius register holds the radius of another tool.

What happens
    Radii are copied down a list, and one line is skipped; or the tool before had this register.

What it changes
    Compensated contours are off by the difference.

How often
    Some times in a thousand setups.

Where it can occur
    Tools that the program compensates, beside tools of another radius.

What gives it away
    The register read back; the caliper on the tool.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, split

__all__ = ["META", "occurrences"]

META = SlipMeta("radius-of-another-tool", 0.003, "a setup", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each compensated tool with the radius of each other tool of another size."""
    radii = case.world.truth.radii
    ways = [(typed, station) for typed in case.radii for station in (tool.station for tool in case.used)
            if station != typed.station and typed.text(radii[station]) != typed.text()]  # fmt: skip
    for typed, station in ways:
        words = f"{typed.name} holds {typed.text(radii[station])}, the radius of T{station}, for {typed.text()} {typed.unit}"
        yield Occurrence(META.slug, words, split(META.rate, len(ways)), typed.name, typed.again(), typed.holding(radii[station]),
                         radii[station] - typed.value)  # fmt: skip
