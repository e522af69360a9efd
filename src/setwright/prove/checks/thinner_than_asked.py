"""A wall or a floor is left thinner than the setup asks for.

What silence proves
    On every ray through the simulated part, metal between two sides met nearly square is at least as thick as the setup's
    `at_least` asks. Without `at_least` it proves nothing.

Why it matters
    A thin wall gives way under the cutter and comes out uneven; a thin floor drums, tears, or breaks through.

How it decides
    The lengths of metal on the rays along X and Y are walls, those along Z floors, each taken square to its sides; at least one of
    the two is cut. Both ends of a ray are exact, so a flat wall is measured exactly.

Blind spots
    Walls no ray passes, shorter than the ray spacing both ways. Walls met more than 20 degrees out of square. How thick it is on
    the way, before the last cut.

What to do
    Compare the two lines named with the drawing: depth, end point, radius register. If the wall is meant so, lower `at_least`.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase

META = Meta("thinner-than-asked", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding for walls, one for floors, each at its thinnest."""
    for place in case.thin:
        left, asked = case.apart(place.thickness_mm, place.asked_mm)
        text = f"a {place.what} is left {left} thick at {case.point(place.at)}, {asked} is asked"
        if place.other_row >= 0 and case.line_at(place.other_row) != case.line_at(place.row):
            text += f"; its other side is cut in line {case.line_at(place.other_row)}"
        remedy = "compare the lines that cut its two sides with the drawing: depth, end point, radius register"
        yield case.finding(META.slug, META.signal, place.row, text, body=BLANK, value=place.thickness_mm, remedy=remedy)
