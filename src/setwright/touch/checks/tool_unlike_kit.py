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

from setwright.base.units import format_length
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase
from setwright.touch.rests import LOOSE_MM

__all__ = ["META", "run"]

META = Meta("tool-unlike-kit", Signal.WARNING)

_STICKOUT_MM = 3.0
_REGROUND = 0.03


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding a tool and number."""
    kit = case.setting.kit
    yield from _differences(case)
    for tool in kit.setup.tool:
        shape, hung = kit.tools[tool.station].tool, kit.tools[tool.station]
        measured = case.solution.estimate({f"length of tool {tool.station}": 1.0})
        nominal = tool.stickout + sum(step.length for step in shape.holder)
        known = case.solution.unknowns.row(f"length of tool {tool.station}") is not None and measured.standard <= LOOSE_MM
        if known and hung.has_holder and abs(measured.value - nominal) > _STICKOUT_MM:
            long, short = format_length(measured.value, case.units), format_length(nominal, case.units)
            text = f"tool {tool.station} measures {long} long, but its stick-out and holder make {short}"
            yield case.finding(META.slug, META.signal, text, remedy="look which tool hangs there and how far it sticks out",
                               value=measured.value - nominal, unit="mm")  # fmt: skip
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
    for station, off in odd.items():
        than = f"tool {next(iter(apart))}" if len(apart) == 2 else "the other tools"
        size, longer = format_length(abs(off), case.units), "longer" if off > 0.0 else "shorter"
        text = f"tool {station} measures {size} {longer} against {than} than stick-outs and holders make it"
        remedy = "look which tool hangs there and how far it sticks out, and set it again"
        yield case.finding(META.slug, META.signal, text, remedy=remedy, value=off, unit="mm")
