"""A tool measures unlike the tool that the kit says hangs there.

What silence proves
    Every length that was read or preset agrees with stick-out and holder to 3 mm, every radius read or preset with the tool to
    3 %.

Why it matters
    Tools in exchanged pockets, a diameter noted for a radius or a tool pulled out of its holder all show here first.

How it decides
    The length that follows from readings and preset is compared with stick-out plus holder, where the shop has described the
    holder; the preset radius with half the diameter, and with the whole. Where tools were set on the part and no length is known by
    itself, the differences between tools are compared: the kit knows those as well.

Blind spots
    Tools without a described holder; two tools of like length exchanged.

What to do
    Look which tool hangs in that pocket, and how far it sticks out.

Source
    The job's own figures.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator
from itertools import combinations

from setwright.base.units import format_length
from setwright.kit.station import Kit
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase
from setwright.touch.rests import LOOSE_MM

__all__ = ["META", "run"]

META = Meta("tool-unlike-kit", Signal.WARNING)

_STICKOUT_MM = 3.0
_REGROUND = 0.03
_LOOK = "look which tool hangs there and how far it sticks out, and measure it again"


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a tool and number."""
    kit = case.setting.kit
    yield from _differences(case)
    yield from _radii(case)
    off: dict[int, float] = {}
    for tool in kit.setup.tool:
        value, standard = case.solution.spread({f"length of tool {tool.station}": 1.0})
        known = case.solution.unknowns.row(f"length of tool {tool.station}") is not None and standard <= LOOSE_MM
        if known and kit.tools[tool.station].has_holder and abs(value - _made(kit, tool.station)) > _STICKOUT_MM:
            off[tool.station] = value - _made(kit, tool.station)
    yield from _exchanged(case, off)
    for station, error in off.items():
        made = _made(kit, station)
        long, short = format_length(made + error, case.units), format_length(made, case.units)
        text = f"tool {station} measures {long} long, but its stick-out and holder make {short}"
        yield case.finding(META.slug, META.signal, text, remedy=_LOOK, value=error, unit="mm")


def _made(kit: Kit, station: int) -> float:
    """The length that stick-out and holder make, mm."""
    tool = next(one for one in kit.setup.tool if one.station == station)
    return tool.stickout + sum(step.length for step in kit.tools[station].tool.holder)


def _exchanged(case: TouchCase, off: dict[int, float]) -> Iterator[Finding]:
    """Pairs that measure each other's length are one finding, and are taken out of `off`."""
    kit = case.setting.kit
    for one, other in combinations(sorted(off), 2):
        apart = _made(kit, other) - _made(kit, one)
        if {one, other} <= set(off) and max(abs(off[one] - apart), abs(off[other] + apart)) <= _STICKOUT_MM:
            size = format_length(abs(apart), case.units)
            text = (f"tools {one} and {other}, {size} apart, measure each other's length: they hang in each other's pockets, or "
                    "their readings are written the wrong way round")  # fmt: skip
            del off[one], off[other]
            yield case.finding(META.slug, META.signal, text, remedy="look which tool hangs in which pocket, and set both again",
                               value=apart, unit="mm")  # fmt: skip


def _radii(case: TouchCase) -> Iterator[Finding]:
    for tool in case.setting.kit.setup.tool:
        shape = case.setting.kit.tools[tool.station].tool
        radius = case.radii[tool.station].value if tool.station in case.radii else None
        if radius is not None and abs(radius - 0.5 * shape.diameter) > _REGROUND * shape.diameter:
            doubled = abs(radius - shape.diameter) <= _REGROUND * shape.diameter
            noted, size = format_length(radius, case.units), format_length(shape.diameter, case.units)
            text = f"tool {tool.station} has a measured or preset radius of {noted}, but it is a tool of {size} diameter"
            text += ": the diameter was noted for the radius" if doubled else ""
            yield case.finding(META.slug, META.signal, text, remedy="measure the radius again", value=radius, unit="mm")


def _differences(case: TouchCase) -> Iterator[Finding]:
    """Tools of which only the height together with the datum's is known, each against what the others say."""
    kit, solution, job = case.setting.kit, case.solution, case.setting.kit.folder.job
    apart: dict[int, float] = {}
    for tool in kit.setup.tool:
        name, holder = f"length of tool {tool.station}", kit.tools[tool.station].tool.holder
        guessed = tool.preset.length is None and job.guessed(kit.setup.name, f"job.toml: setup.tool.{tool.station}.stickout")
        if solution.unknowns.row(name) is None or guessed or not (holder or tool.preset.length):
            continue
        alone, (together, standard) = solution.spread({name: 1.0})[1], solution.spread({name: 1.0, "z": 1.0})
        if standard <= LOOSE_MM < alone:
            apart[tool.station] = together - (tool.preset.length or tool.stickout + sum(step.length for step in holder))
    if len(apart) < 2:
        return
    middle = statistics.median(apart.values())
    odd = {station: off - middle for station, off in apart.items() if abs(off - middle) > _STICKOUT_MM}
    if len(apart) == 2:
        one, other = apart
        odd = {other: apart[other] - apart[one]} if abs(apart[other] - apart[one]) > _STICKOUT_MM else {}
    yield from _exchanged(case, odd)
    for station, off in odd.items():
        than = f"tool {next(iter(apart))}" if len(apart) == 2 else "the other tools"
        size, longer = format_length(abs(off), case.units), "longer" if off > 0.0 else "shorter"
        text = f"tool {station} measures {size} {longer} against {than} than stick-outs and holders make it"
        yield case.finding(META.slug, META.signal, text, remedy=_LOOK, value=off, unit="mm")
