"""A tool that is called never meets metal.

What silence proves
    Every tool that is called and fed removes metal from the blank as stated.

Why it matters
    It is the sign of a blank that is smaller than planned, a Z zero on the wrong face, or a forgotten offset.

How it decides
    The volume removed by all motions of the tool is zero, and it is not fed into the blank with the spindle stopped, which is a
    finding of its own. Where a draft guessed the blank's sides or the tool's diameter it is a question.

Blind spots
    Tools that only mark or probe are reported as well.

What to do
    Check Z zero and the blank's size; if the tool is meant not to cut, leave it.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from setwright.geometry.moves import MoveKind
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase

META = Meta("tool-cuts-nothing", Signal.CAUTION)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool."""
    stations = np.array([state.tool for state in case.path.states])[case.path.state]
    feeding = case.path.kind != MoveKind.RAPID
    pushed = {case.station_at(c.row) for c in case.contacts if c.body == BLANK and c.part == "cutter" and not c.rapid}
    for station, removed in case.removed_by_tool.items():
        rows = np.flatnonzero((stations == station) & feeding)
        if removed <= 0.0 and rows.size and station not in pushed:
            text = f"{case.tool_name(int(rows[0]))} is fed but meets no metal"
            yield case.finding(META.slug, META.signal, int(rows[0]), text, remedy="check Z zero, the offset and the blank's size",
                               question=case.drafted_cut(station))  # fmt: skip
