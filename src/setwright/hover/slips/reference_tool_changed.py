"""The zero was set with another tool than the lengths refer to.

What happens
    Lengths are differences to one reference tool; Z was set with the tool that happened to be in the spindle.

What it changes
    Z is off by the difference of the two tools.

How often
    Once in a hundred setups on such machines.

Where it can occur
    Machines whose registers hold differences to a reference tool.

What gives it away
    The tip of the reference tool over the top face.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split

__all__ = ["META", "occurrences"]

META = SlipMeta("reference-tool-changed", 0.01, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each other tool of the setup."""
    control = case.kit.machine.control
    if control.lengths != "reference tool" or control.reference_tool is None:
        return
    lengths = case.world.truth.lengths
    others = [tool.station for tool in case.used if tool.station != control.reference_tool]
    for station in others:
        by = lengths[station] - lengths[control.reference_tool]
        off = f"{case.height_register} is {case.length(abs(by))} off"
        words = f"{off}: Z was set with T{station} instead of T{control.reference_tool}"
        yield Occurrence(META.slug, words, split(META.rate, len(others)), case.height_register,
                         f"set Z with T{control.reference_tool}", case.offset_off((0.0, 0.0, by)), by)  # fmt: skip
