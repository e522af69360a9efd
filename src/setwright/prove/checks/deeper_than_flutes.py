"""A tool goes straight down into metal deeper than its flutes reach.

What silence proves
    No tool whose body fills the hole behind its flutes goes straight down through more metal at one place than its flutes are
    long, in one motion or in several.

Why it matters
    Once the flutes are under the surface, chips have no way out: they pack, and the tool jams and breaks.

How it decides
    The longest stretch of metal that each motion straight down removes along the spindle, added up over all such motions of the
    tool at the same place, against the top of its cutting part. Tools whose body above the flutes is narrower than nine tenths of
    the cutter are left out: chips pass beside it.

Blind spots
    Ramps and helices. Chips that are not cleared between pecks though the flutes are long enough. Metal above the flutes that other
    tools have cut away is not counted, though walls may still stand close.

What to do
    Take a tool with longer flutes, or a relieved one; drill from both sides.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase

META = Meta("deeper-than-flutes", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool, for its deepest hole."""
    for hole in case.deep_holes:
        places = f", at {hole.holes} places" if hole.holes > 1 else ""
        deep, flutes = case.apart(hole.depth_mm, hole.flutes_mm, places=1)
        text = f"{case.tool_name(hole.row)} goes {deep} straight down into metal, its flutes are {flutes} long{places}"
        remedy = "take longer flutes or a relieved body, or drill from both sides"
        yield case.finding(META.slug, META.signal, hole.row, text, body=BLANK, value=hole.depth_mm, remedy=remedy)
