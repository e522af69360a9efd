"""A length is typed in another convention than the machine holds.

What happens
    The presetter gives lengths from the gauge line, the machine holds the position at which the tip stands on the datum, or the
    other way round.

What it changes
    The register is off by the machine position of the datum.

How often
    Once in five hundred tools that come from another machine.

Where it can occur
    Every tool whose length is typed.

What gives it away
    The lengths read back: sign and size are not like the others.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta
from setwright.touch.mistakes import RATES

__all__ = ["META", "occurrences"]

META = SlipMeta("length-convention", RATES["length-convention"], "a tool", PRIOR)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each tool, in the convention it is most often mistaken for."""
    z = float(case.world.truth.machine_from_work.shift[2])
    tip_on_datum = case.kit.machine.control.lengths == "tip on datum"
    for typed in case.lengths:
        length = case.world.truth.lengths[typed.station] if typed.station is not None else 0.0
        held = length if tip_on_datum else z + length
        which = "from the gauge line" if tip_on_datum else "with the tip on the datum"
        words = f"{typed.name} holds {typed.text(held)}, a length {which}, for {typed.text()} {typed.unit}"
        yield Occurrence(META.slug, words, META.rate, typed.name, typed.again(), typed.holding(held), held - typed.value)
