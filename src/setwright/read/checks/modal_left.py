"""Cutter compensation or a cycle is still on at the end.

What silence proves
    At the end of the program cutter compensation and canned cycles are off.

Why it matters
    The next program starts with them in force.

How it decides
    The modal state of the last motion; exact.

Blind spots
    Modes that are not part of the path (plane, distance mode) are not looked at.

What to do
    Write G40 and G80 before the end.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("modal-state-left-over", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding, at the last motion."""
    path = case.path
    if not len(path) or case.interpreted.end in ("stopped", "until"):
        return
    row = len(path) - 1
    state = path.states[int(path.state[row])]
    left = [f"cutter compensation ({state.compensation})"] if state.compensation else []
    left += [state.cycle] if state.cycle else []
    if left and bool(case.feeding[row]):
        text = f"the program ends with {' and '.join(left)} in force"
        yield case.finding(META.slug, META.signal, case.row_span(row), text, remedy="switch it off before the end: G40, G80")
