"""Radius registers that do not hold the radius of the tool."""

from __future__ import annotations

from collections.abc import Iterator

from setwright.slips.case import SlipCase, Typed
from setwright.slips.catalogue import PRIOR, Way, scalable, slip


@slip("radius-not-typed", rate=0.003, per="a radius register")
def _radius_not_typed(case: SlipCase) -> Iterator[Way]:
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
    for typed in case.radii:
        words = f"{typed.name} holds zero for {typed.text()} {typed.unit}: nothing was typed"
        yield Way(words, 1.0, typed.name, typed.again(), typed.holding(0.0), -typed.value)


@slip("radius-of-another-tool", rate=0.003, per="a setup", source=PRIOR)
def _radius_of_another_tool(case: SlipCase) -> Iterator[Way]:
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
    radii = case.world.truth.radii
    ways = [(typed, station) for typed in case.radii for station in (tool.station for tool in case.used)
            if station != typed.station and typed.text(radii[station]) != typed.text()]  # fmt: skip
    for typed, station in ways:
        words = f"{typed.name} holds {typed.text(radii[station])}, the radius of T{station}, for {typed.text()} {typed.unit}"
        yield Way(words, 1.0 / len(ways), typed.name, typed.again(), typed.holding(radii[station]),
                  radii[station] - typed.value)  # fmt: skip


@slip("diameter-for-radius", rate=0.004, per="a radius register", source=PRIOR)
def _diameter_for_radius(case: SlipCase) -> Iterator[Way]:
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
    doubled = case.kit.machine.control.radius_register == "diameter"
    held_as, wanted = ("radius", "diameter") if doubled else ("diameter", "radius")
    for typed in case.radii:
        held = typed.value * (0.5 if doubled else 2.0)
        words = f"{typed.name} holds the {held_as}; this machine wants the {wanted}"
        yield Way(words, 1.0, typed.name, typed.again(), typed.holding(held), held - typed.value)


_WEAR_MM = 0.05


@slip("radius-wear-left", rate=0.006, per="a radius register", spread=2.5)
def _radius_wear_left(case: SlipCase) -> Iterator[Way]:
    """The wear of the tool before is left in a radius.

    What happens
        A new cutter goes into an old pocket; the wear that brought the last part to size stays.

    What it changes
        Compensated walls are off by it; here 0.05 mm of radius.

    How often
        Once in a hundred cutters that are replaced.

    Where it can occur
        Tools that the program compensates.

    What gives it away
        The wear page of the registers, read back.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for typed in case.radii:
        for sign in (-1, 1):

            def at(times: float, typed: Typed = typed, sign: int = sign) -> Way:
                off = sign * _WEAR_MM * times
                way = "small" if sign < 0 else "great"
                words = f"{typed.name} is {case.length(abs(off))} too {way}: an earlier wear was left in"
                return Way(words, 1.0 / 2, typed.name, f"set the wear of {typed.name} to 0", typed.holding(typed.value + off), off)

            yield scalable(at)
