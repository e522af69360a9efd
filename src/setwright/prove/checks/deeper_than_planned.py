"""A tool cuts deeper at once than planned: the blank is too large, or its first depth too deep.

What silence proves
    No level or sloping cut removes more along the spindle than the tool's `deepest_cut`, nor would it with a blank as high as its
    `varies` allows. Without `deepest_cut` it says only that a blank so high does not make a cut deeper than the flutes.

Why it matters
    A sawn blank that stands two millimetres too high makes the first cut two millimetres deeper: the tool is overloaded where it
    meets the metal first, and the part may be pulled out of the vise.

How it decides
    The longest stretch of metal that each motion removes along the spindle, on exact rays. Where that stretch begins at the blank's
    stated top, the blank's `varies` along Z is added.

Blind spots
    Blanks longer or wider than stated. Cuts straight down: holes have a check of their own. A top that is not level.

What to do
    Measure the blank; face it in more cuts, or take a blank that is lower. If the depth is meant so, raise `deepest_cut`.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase

META = Meta("deeper-than-planned", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool."""
    for cut in case.deep_cuts:
        tool, line = case.tool_name(cut.row), case.line_at(cut.deepest_row)
        most = f"{case.size(cut.most_mm)} are planned" if cut.planned else f"its flutes are {case.size(cut.most_mm)} long"
        more = f", up to {case.length(cut.depth_mm)} in line {line}" if cut.count > 1 and line != case.line_at(cut.row) else ""
        if cut.higher_mm > 0.0:
            higher, varies = case.length(cut.higher_mm, places=2), case.size(float(case.kit.sides_vary[2, 1]))
            text = (f"{tool} cuts {case.length(cut.depth_mm)} deep from the blank's top and {most}: a blank {higher} higher than "
                    f"stated is too much for it, and it varies by {varies}")  # fmt: skip
            remedy = "measure the blank's height before the first cut, or face it in more cuts"
            yield case.finding(META.slug, Signal.CAUTION, cut.row, text, body=BLANK, value=cut.depth_mm, remedy=remedy)
            continue
        text = f"{tool} cuts deeper at once than planned{more or f': {case.length(cut.depth_mm)}'}; {most}"
        remedy = "check the blank's height and corner, and the first depth; cut in more steps"
        yield case.finding(META.slug, META.signal, cut.row, text, body=BLANK, value=cut.depth_mm, remedy=remedy)
