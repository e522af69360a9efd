"""A tool is made ready but never changed to.

What silence proves
    Every tool that is made ready is used, or is the first one again.

Why it matters
    A tool change is missing: the cut behind it is made with the wrong tool.

How it decides
    T words without a change are compared with the changes that follow; exact.

Blind spots
    The first tool made ready for the next part is ordinary and not reported.

What to do
    Look for the missing M6.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("preselected-never-used", Signal.CAUTION)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a tool."""
    events = case.path.events
    changes = [(at, int(event.value)) for at, event in enumerate(events) if event.kind == "tool change"]
    first = changes[0][1] if changes else None
    goes_on = case.interpreted.end == "until"
    told: set[int] = set()
    for at, event in enumerate(events):
        tool = int(event.value) if event.kind == "preselect" else 0
        if not tool or tool in told or tool == first or any(later > at and changed == tool for later, changed in changes):
            continue
        if goes_on and not any(later > at for later, _ in changes):
            continue  # it may be changed to behind what was read
        told.add(tool)
        span = case.span(case.path.files[event.file], event.line)
        yield case.finding(META.slug, META.signal, span, f"T{tool} is made ready but never changed to", tool=tool,
                           remedy="look for a missing M6, or take the T word out")  # fmt: skip
