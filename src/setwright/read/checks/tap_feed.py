"""Feed and speed of a tapping cycle do not fit the tap's pitch, or no thread at all.

What silence proves
    Every tapping cycle feeds one pitch a turn, where the pitch is known; elsewhere the feed a turn is that of some thread.

Why it matters
    The tap tears the thread or breaks.

How it decides
    Feed divided by speed, against the pitch in the tool's file or in its comment (M8x1.25, 1/4-20); more than 1 % apart is
    reported. Without a pitch, a feed a turn outside 0.2 to 8 mm, or above 0.4 of the tap's diameter, is reported, and anything
    else is undecided.

Blind spots
    Tension-compression holders forgive some, and are often fed a few percent slow on purpose. A metric size without a pitch counts
    as its coarse thread.

What to do
    Set F = S × pitch.

Source
    ISO 261 and ASME B1.1: the finest pitches in use are 0.2 mm, the coarsest 8 mm; the coarsest pitch of a size is 0.3 of its
    diameter.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal, State
from setwright.read.case import ReadCase
from setwright.read.known import KnownTool

META = Meta("tap-feed-against-pitch", Signal.WARNING)
_APART = 0.01
_FINEST_MM, _COARSEST_MM, _OF_DIAMETER = 0.2, 8.0, 0.4
_CYCLES = ("G84", "G74")


def run(case: ReadCase) -> Iterator[Finding]:
    """The first motion of each tap that does not fit."""
    path = case.path
    cycle = np.array([state.cycle in _CYCLES for state in path.states])[path.state]
    for station, tool in case.known.items():
        rows = case.uses[station].feeds
        rows = rows if tool.kind == "tap" else rows[cycle[rows]]
        for row in rows.tolist():
            rpm, feed = path.states[int(path.state[row])].spindle_rpm, float(path.feed[row])
            if not (rpm and feed > 0.0):
                continue
            found = _judged(case, tool, row, feed / abs(rpm), abs(rpm))
            if found is not None:
                yield found
                break


def _judged(case: ReadCase, tool: KnownTool, row: int, a_turn: float, rpm: float) -> Finding | None:
    """What is to be said of a feed of `a_turn` mm a turn."""
    fed = case.length(a_turn, places=4)
    signal, state, remedy = META.signal, State.FOUND, "set F = S × pitch"
    if tool.pitch is not None:
        if abs(a_turn - tool.pitch) <= _APART * tool.pitch:
            return None
        whose = f"its pitch is {case.length(tool.pitch, places=4)}" + (f" {tool.source}" if tool.source else "")
        text = f"T{tool.station} feeds {fed} a turn, {whose}"
        remedy = f"at this speed F must be {case.length(rpm * tool.pitch, places=1)}/min"
    elif not _FINEST_MM <= a_turn <= min(_COARSEST_MM, _OF_DIAMETER * (tool.diameter or np.inf)):
        text = f"T{tool.station} taps with {fed} a turn, and no thread of its size has this pitch"
    else:
        text = f"undecided: the pitch of T{tool.station} is not stated; it feeds {fed} a turn"
        signal, state, remedy = Signal.CAUTION, State.UNDECIDED, "compare it with the tap"
    place = case.row_span(row)
    return Finding(slug=META.slug, signal=signal, text=text, remedy=remedy, file=place.file, line=place.line, column=place.column,
                   tool=tool.station, value=a_turn, unit="mm", state=state, excerpt=place.excerpt())  # fmt: skip
