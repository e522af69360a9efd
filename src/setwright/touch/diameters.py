"""Radii of tools: measured on a setter or between two sides, from the preset list, or nominal; each with its budget."""

from __future__ import annotations

from setwright.base.errors import InputRefused
from setwright.estimate.distribution import Distribution, Normal, Rectangular
from setwright.kit.instrument import find_instrument
from setwright.kit.registers import radius_register, radius_registers_named
from setwright.kit.station import Kit
from setwright.model.instrument import Instrument
from setwright.model.machine import Machine
from setwright.model.reading import DiameterReading, Readings
from setwright.touch.conditions import Conditions
from setwright.touch.solution import Estimate, estimate_of

__all__ = ["nominal_radii", "tool_radii"]

Part = tuple[str, float, Distribution]


def tool_radii(kit: Kit, readings: Readings) -> dict[int, Estimate]:
    """Radius (mm) by station of every tool that was measured or preset; a nominal radius is not among them.

    Several readings of one tool are averaged; their common errors (size of the setter) do not average out.
    """
    found: dict[int, Estimate] = {}
    for tool in kit.setup.tool:
        if tool.preset.radius is not None:
            found[tool.station] = estimate_of(tool.preset.radius, [("the preset list", 1.0, Normal(0.0, tool.preset.varies))])
    by_tool: dict[int, list[tuple[int, DiameterReading]]] = {}
    own = [read for read in readings.tool_diameter if read.setup == kit.setup.name]
    for number, read in enumerate(own):
        if read.tool not in kit.tools:
            raise InputRefused.because(f"diameter reading {number + 1}", why=f"this setup has no tool {read.tool}",
                                       remedy="write the station number of the tool that was measured")  # fmt: skip
        by_tool.setdefault(read.tool, []).append((number, read))
    for station, members in sorted(by_tool.items()):
        found[station] = _averaged(kit, members)
    return found


def nominal_radii(kit: Kit) -> dict[int, Estimate]:
    """Radius (mm) by station as the tool's file states it, of the tools whose register a program of the setup compensates with."""
    named = radius_registers_named(kit.texts)
    spread = Conditions().nominal_radius
    return {tool.station: estimate_of(kit.tools[tool.station].radius, [("nominal diameter of the tool", 1.0, Normal(0.0, spread))])
            for tool in kit.setup.tool if radius_register(tool) in named}  # fmt: skip


def _averaged(kit: Kit, members: list[tuple[int, DiameterReading]]) -> Estimate:
    share = 0.5 / len(members)
    total, parts = 0.0, list[Part]()
    common: dict[str, tuple[float, Distribution]] = {}
    for number, read in members:
        instrument = find_instrument(kit.folder.job.shop.instruments, read.with_)
        diameter = _diameter(read, number)
        total += share * diameter
        own, shared = _errors(read, instrument, kit.machine)
        parts += [(source, share * factor, d) for source, factor, d in own]
        for source, factor, d in shared:
            common[source] = common.get(source, (0.0, d))[0] + share * factor, d
    parts += [(source, factor, d) for source, (factor, d) in common.items()]
    return estimate_of(total, parts)


def _diameter(read: DiameterReading, number: int) -> float:
    """The diameter a reading gives, mm. From two sides each stop lies half a step past its contact, towards the other one."""
    if read.shown is not None:
        diameter = read.shown
    else:
        one, other = read.sides or (0.0, 0.0)
        diameter = abs(one - other) + read.last_step - read.across
    if diameter <= 0.0:
        raise InputRefused.because(f"diameter reading {number + 1} gives a diameter of {diameter:.3f} mm",
                                   why="the two sides are nearer to each other than what stood between them is wide",
                                   remedy="read both sides again, and the width between them")  # fmt: skip
    return diameter


def _errors(read: DiameterReading, instrument: Instrument, machine: Machine) -> tuple[list[Part], list[Part]]:
    """Errors of the diameter: of this reading alone, and those that other readings with the same instrument share."""
    repeat = (f"repeatability of {instrument.name}", Normal(0.0, instrument.repeatability))
    size: Part = (f"size of {instrument.name}", 1.0, Normal(0.0, max(instrument.tip_uncertainty, instrument.height_uncertainty)))
    if read.shown is not None:
        return [(repeat[0], 1.0, repeat[1])], [size]
    axis = Normal(0.0, 0.25 * machine.accuracy.repeatability)
    own: list[Part] = [(repeat[0], 1.0, repeat[1]), (repeat[0], -1.0, repeat[1]),
                       ("repeatability of the axes", 1.0, axis), ("repeatability of the axes", -1.0, axis)]  # fmt: skip
    if read.last_step > 0.0:
        step = Rectangular(0.0, 0.5 * read.last_step)
        own += [("last step of the handwheel", 1.0, step), ("last step of the handwheel", -1.0, step)]
    # the axis comes from both directions: its whole backlash is in the distance
    return own, [("backlash of the axes", 1.0, Rectangular(0.0, machine.accuracy.backlash)), size]
