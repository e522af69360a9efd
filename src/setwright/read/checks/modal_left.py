"""Cutter compensation or a cycle is still on at the end, or a cycle when the tool is done.

What silence proves
    At the end of the program cutter compensation and canned cycles are off, and no cycle drills once more after its coolant was
    switched off.

Why it matters
    A cycle that is still on drills wherever the tool is taken next, beside the part or into a clamp. Compensation puts the first
    contour of the next program off by a tool radius, and a control may refuse the way home.

How it decides
    The modal state of the last motion, and of holes drilled after M9 in one and the same cycle; exact. A hole outside the box of
    everything that is fed as low is a DANGER.

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
from numpy.typing import NDArray

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.program.changes import drilled_on
from setwright.program.path import Path
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
    """Holes drilled after the coolant was switched off, by a cycle that was on before: one finding a cycle, at the first hole that
    lies beside everything that is meant to be cut, else at the first."""
    path = case.path
    every = list(drilled_on(path))
    meant = np.setdiff1d(np.flatnonzero(case.feeding), np.concatenate(every)) if every else np.empty(0, np.intp)
    for holes in every:
        station, cycle = int(case.station[holes[0]]), path.states[int(path.state[holes[0]])].cycle
        beside = holes[_beside(path, holes, meant)]
        hole = int(beside[0] if beside.size else holes[0])
        x, y = (case.length(float(value)) for value in path.end[hole, :2])
        text = f"{cycle} is still on: after M9 T{station} drills once more at X{x} Y{y}"
        text += ", beside all that is cut otherwise, into whatever stands there" if beside.size else ""
        signal = Signal.DANGER if beside.size else META.signal
        yield case.finding(META.slug, signal, case.row_span(hole), text, tool=station, remedy="write G80 after the last hole",
                           cause=f"{cycle} T{station} {hole}")  # fmt: skip


def _beside(path: Path, holes: NDArray[np.intp], meant: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which holes lie outside the box in X and Y of the feed motions that are meant and reach below where the holes begin, bool
    (n,)."""
    near = float(path.start[holes, 2].max())
    meant = meant[np.minimum(path.start[meant, 2], path.end[meant, 2]) < near]
    if not meant.size:
        return np.zeros(holes.size, np.bool_)
    ends = np.concatenate([path.start[meant, :2], path.end[meant, :2]])
    at = path.end[holes, :2]
    return np.asarray(((at < ends.min(axis=0)) | (at > ends.max(axis=0))).any(axis=1), np.bool_)
