"""Cutter compensation or a cycle is still on at the end, or a cycle when the tool is done.

What silence proves
    At the end of the program cutter compensation and canned cycles are off, and no cycle drills once more after its coolant was
    switched off.

Why it matters
    A cycle that is still on drills wherever the tool is taken next, beside the part or into a clamp. Compensation puts the first
    contour of the next program off by a tool radius, and a control may refuse the way home.

How it decides
    The modal state of the last motion, and of holes drilled after M9 in one and the same cycle; exact.

Blind spots
    Modes that are not part of the path (plane, distance mode) are not looked at. Without coolant words a hole that was not meant
    looks like any other.

What to do
    Write G80 after the last hole, G40 after the contour.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("modal-state-left-over", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding for a cycle that goes on, and one at the last motion."""
    path = case.path
    yield from _drilled_on(case)
    if not len(path) or case.interpreted.end in ("stopped", "until"):
        return
    row = len(path) - 1
    state = path.states[int(path.state[row])]
    left = [f"cutter compensation ({state.compensation})"] if state.compensation else []
    left += [state.cycle] if state.cycle and bool(case.feeding[row]) else []
    if left:
        text = f"the program ends with {' and '.join(left)} in force"
        signal = META.signal if state.compensation else Signal.CAUTION
        yield case.finding(META.slug, signal, case.row_span(row), text, remedy="switch it off before the end: G40, G80")


def _drilled_on(case: ReadCase) -> Iterator[Finding]:
    """Holes drilled after the coolant was switched off, by a cycle that was on before: one finding a cycle."""
    path = case.path
    for event in path.events:
        at = event.before
        if event.kind != "coolant" or event.value or not 0 < at < len(path):
            continue
        cycle, station = path.states[int(path.state[at - 1])].cycle, int(case.station[at])
        if not cycle:
            continue
        further = np.arange(at, len(path))
        same = np.array([state.cycle == cycle and state.tool == station for state in path.states])[path.state[further]]
        further = further[: int(np.flatnonzero(~same)[0])] if not same.all() else further
        holes = further[case.feeding[further] & (path.end[further, 2] < path.start[further, 2])]
        if holes.size:
            x, y = (case.length(float(value)) for value in path.end[holes[0], :2])
            text = f"{cycle} is still on: after M9 T{station} drills once more at X{x} Y{y}"
            yield case.finding(META.slug, META.signal, case.row_span(int(holes[0])), text, tool=station,
                               remedy="write G80 after the last hole", cause=f"{cycle} T{station} {at}")  # fmt: skip
