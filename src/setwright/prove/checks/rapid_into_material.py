"""A rapid runs the cutter into the blank.

What silence proves
    No rapid motion of the program brings the cutting part of a tool into metal that is there at that moment, for the blank, the
    offsets and the tool lengths the proof was made with: on the straight line and with each axis running at its own speed,
    unless the machine's file states which of them its rapids are.

Why it matters
    A rapid into metal breaks the tool, shifts the part in the vise and can throw either of them.

How it decides
    The swept volume of every rapid is intersected with the metal left by all motions before it, exactly along every ray;
    overlap deeper than a nanometre counts. Of a boring bar that stands oriented (M19, the stop in G76 and G87) only the bar and
    the edge where it points are there; where nobody states where it points, how wide the bar is, or which way Q moves it, every
    such way is run, and a contact is told as a doubt. Where a draft guessed the blank's faces, the motions run once more
    through what every plausible blank has: a rapid that meets only the rest is a WARNING with the place from which on the blank
    is met.

Blind spots
    A blank larger than it is stated to vary (what it is stated to vary is a finding of its own); clamps that are not in the kit;
    what the machine does between programs. Between rays a corner of metal thinner than the ray spacing can be passed over, and the
    cutter can be deeper than told: at a wall by up to an eighth of the squared spacing over its radius (of a single edge, half the
    radius it is set to), more where the overlap is thinner than the spacing.

What to do
    Raise the height the rapid runs at, or make the motion a feed; check the blank's size and where Z zero is. Of a boring bar,
    check its edge_angle, and which way and how far Q or I, J move it.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase
from setwright.prove.wording import MEASURE_IT, how_deep, how_it_runs, how_to_settle, if_it_reaches

META = Meta("rapid-into-material", Signal.DANGER)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool: the first such rapid, and how bad it gets; another for one that only a guessed blank meets."""
    rapids = [c for c in case.contacts if c.body == BLANK and c.part == "cutter" and c.rapid]
    for contact in rapids:
        stands, asked = case.edge_stands(contact.row), contact.beyond is not None
        how = " while its spindle stands oriented" if stands else ""
        text = f"{case.tool_name(contact.row)} runs into the blank at rapid{how}{if_it_reaches(case, contact)}, "
        text += how_deep(case, contact) + how_it_runs(contact)
        remedy = "raise the rapid height or feed into the cut; check blank height and Z zero"
        if stands:
            remedy = "check where its edge points then, which way and how far Q or I, J move it, and the room behind the bar"
        remedy = MEASURE_IT * asked + remedy + how_to_settle(contact)
        signal = Signal.WARNING if asked or contact.doubt else META.signal
        yield case.finding(META.slug, signal, contact.row, text, body=BLANK, value=contact.depth_mm, remedy=remedy, question=asked)
