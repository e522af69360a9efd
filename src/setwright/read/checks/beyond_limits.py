"""A feed or a speed is beyond what the machine or the tool allows.

What silence proves
    Every feed and speed lies within the limits that machine and tool state.

Why it matters
    The control cuts it down or stops; a tool beyond its rated speed can burst.

How it decides
    The programmed numbers against the stated ones; exact.

Blind spots
    Tools without a rated speed in their file.

What to do
    Lower the number, or take a tool rated for it. The tool maker's rating comes first.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.program.path import in_order
from setwright.read.case import ReadCase

META = Meta("beyond-limits", Signal.WARNING, ("machine",))


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a tool and limit."""
    machine, path = case.machine, case.path
    if machine is None:
        return
    speed = np.abs([state.spindle_rpm for state in path.states])[path.state]
    feed = np.where(case.feeding, path.feed, 0.0)
    for station in in_order(case.station):
        mine = case.station == station
        tool = (case.tools or {}).get(station)
        limits = [(speed, machine.spindle.max_speed, "rev/min", "the spindle's"),
                  (feed, machine.max_feed, "mm/min", "the machine's")]
        if tool is not None and tool.max_speed is not None:
            limits.append((speed, tool.max_speed, "rev/min", "the tool's rated"))
        for values, most, unit, whose in limits:
            rows = np.flatnonzero(mine & (values > most))
            if rows.size:
                row = int(rows[np.argmax(values[rows])])
                runs, limit = ((case.feed(value) if unit == "mm/min" else f"{value:.0f} {unit}") for value in (values[row], most))
                text = f"T{station} runs at {runs}, beyond {whose} {limit}"
                remedy = "lower it; the maker's rating comes first"
                yield case.finding(META.slug, META.signal, case.row_span(row), text, remedy=remedy, tool=station,
                                   value=float(values[row]), unit=unit)  # fmt: skip
