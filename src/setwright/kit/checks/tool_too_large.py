"""A tool is larger than the machine can swing.

What silence proves
    Every tool of the kit is narrower than the machine's shorter level travel, and no longer from gauge line to tip than the room
    between its gauge line in the highest position and the table.

Why it matters
    Such a size is nearly always a slip: inches taken for millimetres, a decimal point lost. The proof would cut with it.

How it decides
    The tool's diameter against the shorter of the X and Y travels, its length against the height of the gauge line over the table.

Blind spots
    What fits into the machine may still be too large for the tool changer or too heavy for the spindle.

What to do
    Check the tool's sizes and their unit.

Source
    The machine's own data.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.units import format_size
from setwright.kit.station import Kit
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal

META = Meta("tool-too-large", Signal.WARNING)


def run(case: Kit) -> Iterator[Finding]:
    """One finding a tool and size."""
    travel, table = case.machine.travel, case.machine.table
    wide = min(high - low for low, high in (travel.x, travel.y))
    room = max(travel.z) - table.z
    remedy = "check its sizes and their unit: inches taken for millimetres, a decimal point lost"
    for station, tool in sorted(case.tools.items()):
        across, long = (2.0 * tool.radius, wide, "across, the machine travels"), (tool.length, room, "long, the room is")
        for size, most, what in (across, long):
            if size > most:
                big, end = (format_size(each, case.folder.units) for each in (size, most))
                text = f"T{station} {tool.tool.name} is {big} {what} {end}"
                yield Finding(slug=META.slug, signal=META.signal, text=text, remedy=remedy, tool=station, value=size, unit="mm")
