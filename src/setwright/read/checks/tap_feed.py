"""Feed and speed of a tapping cycle do not fit the tap's pitch.

What silence proves
    Every tapping cycle feeds one pitch a turn.

Why it matters
    The tap tears the thread or breaks.

How it decides
    Feed divided by speed, against the pitch in the tool's file; more than 1 % apart is reported.

Blind spots
    Taps whose pitch the shop has not stated; tension-compression holders forgive some.

What to do
    Set F = S × pitch.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("tap-feed-against-pitch", Signal.WARNING, ("tools",))
_APART = 0.01


def run(case: ReadCase) -> Iterator[Finding]:
    """The first motion of each tap that does not fit."""
    path = case.path
    if not any(tool.kind == "tap" for tool in (case.tools or {}).values()):
        return
    told: set[int] = set()
    for row in case.feeding.nonzero()[0].tolist():
        state = path.states[int(path.state[row])]
        tool = (case.tools or {}).get(state.tool)
        if state.tool in told or tool is None or tool.pitch is None or tool.kind != "tap" or not state.spindle_rpm:
            continue
        a_turn = float(path.feed[row]) / abs(state.spindle_rpm)
        if abs(a_turn - tool.pitch) > _APART * tool.pitch:
            told.add(state.tool)
            fed, pitch = case.length(a_turn, places=4), case.length(tool.pitch, places=4)
            text = f"T{state.tool} {tool.name} feeds {fed} a turn, its pitch is {pitch}"
            feed = abs(state.spindle_rpm) * tool.pitch
            yield case.finding(META.slug, META.signal, case.row_span(row), text, tool=state.tool, value=a_turn, unit="mm",
                               remedy=f"at this speed F must be {case.length(feed, places=1)}/min")  # fmt: skip
