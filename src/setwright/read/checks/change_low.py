"""A tool is changed low over the work, and the program leaves it to the control to bring Z up.

What silence proves
    Before every tool change the program itself brings Z to a machine position (G28, G30, G53), or there is room under the spindle.

Why it matters
    No tool comes out of the spindle just above the part. A control that takes Z home by itself is safe; with one that does not, the
    new tool, if it is longer, stands in the part, and the next sideways move drags it through.

How it decides
    At every tool change to which the program has not brought Z home, the height of the tip over the highest cut is taken; below
    65 mm, the length of a taper of size 40 (ISO 7388-1), it is reported. What the control does there is its behaviour
    `change_motion`.

Blind spots
    A change beside the part is reported too; clamps and jaws higher than every cut are not seen here.

What to do
    Write G91 G28 Z0 before M6, or state in the machine's file what its tool change does to the axes.

Source
    ISO 6983-1 leaves the movements of a tool change to the machine; its maker's manual says what they are.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.program.changes import changes_left
from setwright.read.case import ReadCase

META = Meta("tool-changed-low", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding for all such changes, at the lowest of them."""
    low = [change for change in changes_left(case.path) if change.low]
    if not low:
        return
    lowest = min(low, key=lambda change: change.above_mm)
    times = "" if len(low) == 1 else f" (the lowest of {len(low)} such changes)"
    where = f"the tool is changed with its tip {case.length(lowest.above_mm, places=1)} above the highest cut{times}"
    if case.profile.change_motion == "stays":
        signal, follows = Signal.WARNING, "and this control leaves the axes where they are: a longer tool then stands in the part"
    else:
        axes = "Z" if case.profile.change_motion == "Z home" else "all axes"
        guessed = case.inference is not None and any(e.behaviour == "change_motion" for e in case.inference.evidence)
        signal = Signal.CAUTION if guessed else Signal.NOTICE
        follows = f"{'it is assumed that ' if guessed else ''}the control first takes {axes} home by itself"
    span = case.span(case.path.files[lowest.file], lowest.line)
    remedy = "write G91 G28 Z0 before the change, or state control.behaviours.change_motion as the machine's manual says"
    yield case.finding(META.slug, signal, span, f"{where}, {follows}", remedy=remedy, value=lowest.above_mm, unit="mm")
