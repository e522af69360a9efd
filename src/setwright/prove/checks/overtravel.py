"""An axis is sent beyond its travel.

What silence proves
    Every commanded position lies within the stated travel of its axis, with the offsets and tool lengths of this proof.

Why it matters
    The control stops with an alarm in the middle of the job, or the axis runs onto its stop.

How it decides
    Start and end of every motion, and the extremes of every arc, in machine coordinates, against the machine's travel; exact. Where
    a draft guessed the travel it is asked for, as a WARNING.

Blind spots
    Without a place of the holding on the table (or readings) it cannot be decided; soft limits set narrower in the control.

What to do
    Move the holding on the table, or take a tool of another length.

Source
    The machine's own data.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import ProveCase

META = Meta("overtravel", Signal.DANGER, ("place",))


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding an axis and end."""
    for beyond in case.overtravel:
        text = (f"{beyond.axis} is sent to {case.length(beyond.wanted_mm)} in machine coordinates, "
                f"{case.length(beyond.beyond_mm)} beyond the end of its travel ({case.size(beyond.limit_mm)})")  # fmt: skip
        drafted = case.kit.folder.job.guessed(case.kit.setup.name, f"shop/machines/{case.kit.setup.machine}.toml: travel")
        text += ", as drafted" if drafted else ""
        yield case.finding(META.slug, Signal.WARNING if drafted else META.signal, beyond.row, text, value=beyond.beyond_mm,
                           remedy="move the holding on the table or change the tool's length, and prove again",
                           question=drafted)  # fmt: skip
