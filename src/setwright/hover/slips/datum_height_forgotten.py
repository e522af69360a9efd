"""The face Z is found from is taken for the program's zero.

What happens
    Z0 of the program is the finished face, or the underside; Z was set on the face that was touched, as if it were Z0.

What it changes
    Z is off by the height of that face in the program.

How often
    Once or twice in a hundred setups whose touched face is not Z0.

Where it can occur
    Setups whose datum face lies at another Z than 0.

What gives it away
    The tip brought over the face at a round height, against a rule or block.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("datum-height-forgotten", 0.012, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One, where the face does not lie at Z0."""
    datum = case.kit.setup.datum.z
    if datum.is_ != 0.0:
        off = f"{case.height_register} is {case.length(datum.is_)} off"
        words = f"{off}: “{datum.face}” was taken for Z0, and it lies at Z{datum.is_:g}"
        yield Occurrence(META.slug, words, META.rate, case.height_register, f"set “{datum.face}” to Z{datum.is_:g}, not to 0",
                         case.height_off(datum.is_), datum.is_)  # fmt: skip
