"""A tool is fed with the spindle stopped, or turning the wrong way.

What silence proves
    In every feed motion the spindle turns, and the way the tool cuts where that is known.

Why it matters
    If there is metal, the tool breaks; whether there is, the proof says.

How it decides
    The modal spindle state of every feed motion; exact.

Blind spots
    A start by a machine function that the profile does not know.

What to do
    Put M3 and S before the first feed.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("fed-without-spindle", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """The first such motion of each tool."""
    path = case.path
    speed = np.array([state.spindle_rpm for state in path.states])[path.state]
    cycle = np.array([state.cycle != "" for state in path.states])[path.state]
    for station in dict.fromkeys(case.station.tolist()):
        tool = (case.tools or {}).get(station)
        way = -1.0 if tool is not None and tool.hand == "left" else 1.0
        mine = case.feeding & (case.station == station) & ~cycle
        wrong = mine & (speed * way < 0.0) & (tool is not None)
        for which, how in ((mine & (speed == 0.0), "with the spindle stopped"), (wrong, "turning the wrong way")):
            rows = np.flatnonzero(which)
            if rows.size:
                where = f"in {rows.size} motions from here on" if rows.size > 1 else "here"
                text = f"T{station} is fed {how}, {where}"
                yield case.finding(META.slug, META.signal, case.row_span(int(rows[0])), text, tool=station,
                                   remedy="start the spindle before: M3 and S for a right-hand tool")  # fmt: skip
