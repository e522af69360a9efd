"""The tool is fed through metal with the spindle stopped, or turning the wrong way.

What silence proves
    In every feed motion that meets metal the spindle turns the way the tool cuts.

Why it matters
    A tool pushed into metal without turning breaks, or pushes the part out of its holding.

How it decides
    The modal spindle state of the motion, and the overlap of the swept cutter with the metal left so far. What only meets the metal
    that this tool left standing (its retract, a later tool) is told with it: the program is run again with the spindle turning.

Blind spots
    A spindle that is commanded but does not turn; speed overrides.

What to do
    Put the spindle start before the motion (M3 for a right-hand tool) with a speed.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase
from setwright.prove.wording import how_deep, how_it_runs

META = Meta("cut-without-spindle", Signal.DANGER)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool."""
    pushed = [c for c in case.contacts if c.body == BLANK and c.part == "cutter" and not c.rapid and not c.turning]
    for contact in pushed:
        rpm = case.path.states[int(case.path.state[contact.row])].spindle_rpm
        how = "the wrong way round" if rpm else "with the spindle stopped"
        text = f"{case.tool_name(contact.row)} is fed into the blank {how}, {how_deep(case, contact)}{how_it_runs(contact)}"
        if contact.follows:
            lines = ", ".join(str(line) for line in dict.fromkeys(case.line_at(row) for row in contact.follows))
            text += f"; what the tools do in that metal afterwards (from line {lines}) follows from it"
        remedy = "start the spindle before this motion: M3 and S for a right-hand tool"
        signal = Signal.WARNING if contact.doubt else META.signal
        yield case.finding(META.slug, signal, contact.row, text, body=BLANK, value=contact.depth_mm, remedy=remedy)
