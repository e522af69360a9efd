"""A tool hangs in its station other than it was measured or meant."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

from setwright.slips.case import SlipCase
from setwright.slips.catalogue import PRIOR, Way, scalable, slip
from setwright.slips.changes import hung_by
from setwright.slips.world import World, tool_hung


def _exchanged(a: int, b: int) -> Callable[[World], World]:
    def change(world: World) -> World:
        of_a, of_b = world.kit.tools[a], world.kit.tools[b]
        lengths, radii = world.truth.lengths, world.truth.radii
        there = replace(of_b, length=lengths[b], radius=radii[b]), replace(of_a, length=lengths[a], radius=radii[a])
        return tool_hung(tool_hung(world, a, there[0]), b, there[1])

    return change


@slip("tools-exchanged", rate=0.004, per="a setup", source=PRIOR, by_hand="tools")
def _tools_exchanged(case: SlipCase) -> Iterator[Way]:
    """Two tools are in each other's pockets.

    What happens
        The magazine was loaded from a tray, and two neighbours were exchanged.

    What it changes
        Each of the two programs runs with the other tool: shape, length and radius.

    How often
        Some times in a thousand setups, whichever the pair.

    Where it can occur
        Setups with two tools or more; followed are neighbours in the order of the program.

    What gives it away
        A look at every tool when it comes up; the rule on it.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    pairs = list(pairwise(tool.station for tool in case.used))
    for a, b in pairs:
        words = f"T{a} {case.kit.tools[a].tool.name} and T{b} {case.kit.tools[b].tool.name} are in each other's pockets"
        yield Way(words, 1.0 / len(pairs), f"T{a}, T{b}", f"exchange T{a} and T{b}", _exchanged(a, b))


_OUT_MM = 1.0


@slip("tool-pulled-out", rate=0.002, per="a tool", by_hand="tools", spread=3.0)
def _tool_pulled_out(case: SlipCase) -> Iterator[Way]:
    """A tool has moved in its holder since it was measured.

    What happens
        The collet was not tight; the cutter pulls itself out, a drill is drawn by its helix.

    What it changes
        The tip stands lower by as much; here 1 mm. The register does not know.

    How often
        Once or twice in a thousand tools held in a collet, more often with oil in it.

    Where it can occur
        Every tool; a screwed-on or shrunk one much less.

    What gives it away
        The tip over the top face; the rule on the stick-out.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for tool in case.used:
        hung = case.kit.tools[tool.station]
        if hung.tool.length is not None and hung.stickout + _OUT_MM > hung.tool.length:
            continue

        def at(times: float, station: int = tool.station) -> Way:
            out = _OUT_MM * times
            words = f"T{station} sticks out {case.length(out)} farther than measured: it has moved in its holder"
            return Way(words, 1.0, f"T{station}", f"tighten T{station} and measure it anew",
                       hung_by(station, stickout=out, length=out), out)  # fmt: skip

        yield scalable(at)


_LOWER_MM = 0.1


@slip("holder-not-seated", rate=0.003, per="a tool", by_hand="tools", spread=2.5)
def _holder_not_seated(case: SlipCase) -> Iterator[Way]:
    """A holder does not sit in the spindle: a chip on the taper.

    What happens
        A chip was carried into the taper by the tool change.

    What it changes
        The whole tool hangs lower, and askew; here 0.1 mm lower.

    How often
        Once in some hundred changes without air through the spindle; a chip that was there when the tool was measured is gone the
        next time.

    Where it can occur
        Every tool.

    What gives it away
        The tip over the top face, twice, with a tool change between.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for tool in case.used:

        def at(times: float, station: int = tool.station) -> Way:
            lower = _LOWER_MM * times
            words = f"T{station} hangs {case.length(lower)} lower than measured: a chip on its taper"
            return Way(words, 1.0, f"T{station}", "wipe taper and spindle, change the tool in again",
                       hung_by(station, length=lower), lower)  # fmt: skip

        yield scalable(at)


@slip("stickout-short", rate=0.008, per="a tool", misread=True, by_hand="tools", spread=2.0)
def _stickout_short(case: SlipCase) -> Iterator[Way]:
    """A tool is held shorter than the sheet says, and measured so.

    What happens
        Whoever set the tools held this one as short as its flutes allow, as is good practice elsewhere. Its length was measured, so
        the tip is right.

    What it changes
        The holder comes down by what the tool is shorter.

    How often
        Once in a hundred tools.

    Where it can occur
        Every tool whose stick-out is longer than its flutes.

    What gives it away
        The rule on the stick-out.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for tool in case.used:
        hung = case.kit.tools[tool.station]
        most = hung.stickout - hung.tool.flute_length
        if most <= 0.0 or hung.tool.kind in ("face mill", "boring bar"):
            continue

        def at(times: float, station: int = tool.station, stickout: float = hung.stickout, most: float = most) -> Way:
            shorter = most * times
            words = f"T{station} sticks out {case.length(stickout - shorter)} instead of {case.length(stickout)}"
            return Way(words, 1.0, f"T{station}", f"hold T{station} as the sheet says, measure it anew",
                       hung_by(station, stickout=-shorter, length=-shorter, measured=True), -shorter)  # fmt: skip

        yield scalable(at)


_SMALLER_MM = 0.3


_MILLS = ("end mill", "bull-nose mill", "ball mill", "slot mill")


@slip("cutter-reground", rate=0.005, per="a milling cutter", by_hand="tools", spread=1.6)
def _cutter_reground(case: SlipCase) -> Iterator[Way]:
    """A reground cutter stands in for a new one.

    What happens
        The cutter was sharpened and is smaller than its name; the register holds the nominal radius.

    What it changes
        The tool cuts less than the control believes; here 0.3 mm less in diameter.

    How often
        Once in a hundred milling cutters, in shops that regrind.

    Where it can occur
        Cutters that mill a contour with or without a radius register.

    What gives it away
        The caliper on the cutter.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for tool in case.used:
        hung = case.kit.tools[tool.station]
        if hung.tool.kind not in _MILLS or hung.radius <= _SMALLER_MM:
            continue

        def at(times: float, station: int = tool.station) -> Way:
            smaller = _SMALLER_MM * times
            words = f"T{station} is {case.length(smaller)} smaller in diameter than it says: it was reground"
            return Way(words, 1.0, f"T{station}", "measure its diameter and type it", hung_by(station, radius=-smaller / 2),
                       -smaller)  # fmt: skip

        yield scalable(at)


_STEP_MM = {"mm": ((10.0, 1.0), (math.inf, 2.0)), "in": ((12.7, 1.5875), (math.inf, 3.175))}


@slip("tool-of-another-diameter", rate=0.003, per="a tool", source=PRIOR, by_hand="tools")
def _tool_of_another_diameter(case: SlipCase) -> Iterator[Way]:
    """A tool of another diameter was taken from the drawer.

    What happens
        The neighbour in the drawer looks alike; its length is measured, so the tip is right.

    What it changes
        It cuts wider or narrower by the step between the sizes of the drawer: 1 mm up to 10 mm, 2 mm above (in an inch shop 1/16 in
        up to 1/2 in, 1/8 in above). Its radius register, where one is used, holds what the sheet says.

    How often
        Some times in a thousand tools.

    Where it can occur
        Mills and drills.

    What gives it away
        The caliper on the tool; what stands on its shank.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    for tool in case.used:
        hung = case.kit.tools[tool.station]
        diameter = 2.0 * hung.radius
        step = next(size for up_to, size in _STEP_MM["in" if case.units in ("in", "inch") else "mm"] if diameter <= up_to)
        if hung.tool.kind in (*_MILLS, "drill"):
            for sign in (-1, 1) if diameter > 2.0 * step else (1,):
                off = sign * step
                words = f"T{tool.station} is {case.length(diameter + off)} in diameter instead of {case.length(diameter)}"
                yield Way(words, 1.0 / 2, f"T{tool.station}", f"put {hung.tool.name} into T{tool.station}",
                          hung_by(tool.station, radius=off / 2), off)  # fmt: skip
