"""A tool that does not cut at its centre is fed down into metal under its centre.

What silence proves
    No feed motion sends such a tool down into the full, steeper than a ramp of 3 degrees, where there is metal under its middle at
    that moment.

Why it matters
    The middle of the tool rubs instead of cutting: the tool breaks, lifts out of its holder or pushes the part down.

How it decides
    The core of the tool, half its cutting radius wide, is run along every such motion before the tool itself, through the metal
    left by then; metal deeper than a nanometre on any ray counts. Whether a tool cuts at its centre is stated in its file, else
    follows from its kind: reamers, taps, thread mills, face mills, boring bars, slot and dovetail mills do not. Metal that stands
    there only because an earlier tool was pushed in with its spindle stopped is told with that.

Blind spots
    A core thinner than the distance of the rays can pass between them. Helical entries are judged by their slope alone.

What to do
    Drill the place first, enter from beside the part or on a flatter ramp, or take a tool that cuts at its centre.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase
from setwright.prove.wording import how_deep

META = Meta("plunge-without-centre-cutting", Signal.DANGER)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool: DANGER straight down, WARNING for ramps."""
    for plunge in case.plunges:
        way = "straight down" if plunge.straight else "down too steep a ramp"
        text = f"{case.tool_name(plunge.row)} does not cut at its centre but is fed {way} into the full, {how_deep(case, plunge)}"
        remedy = ("drill the place first, ramp in flatter, or take a tool that cuts at its centre (centre_cutting in its file); "
                  "a blank that has a hole there already must be given with it")  # fmt: skip
        signal = META.signal if plunge.straight else Signal.WARNING
        yield case.finding(META.slug, signal, plunge.row, text, body=BLANK, value=plunge.depth_mm, remedy=remedy)
