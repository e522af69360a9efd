"""Metal of the wanted shape is missing from the simulated part.

What silence proves
    Where rays end on the simulated part, its surface lies nowhere deeper inside the wanted shape than the stated tolerance, for the
    offsets and tool sizes of this proof. Without a wanted shape in the setup it proves nothing.

Why it matters
    Metal that is gone does not come back: the part is scrap or needs welding.

How it decides
    The wanted mesh is cut by the same rays as the metal. Every end of the metal that has no end of the mesh within `within` on its
    own ray is measured: its exact distance from the nearest triangle.

Blind spots
    Gouges that no ray ends in, narrower than the ray spacing both ways. The mesh's own facets beside the true surface. Deflection,
    wear and heat.

What to do
    Look at the line named: its end point, the radius register of its tool, the side of its compensation, its depth. Where else
    metal is missing, and by how much, `setwright prove --off-shape FILE.ply` writes for the whole surface.

Source
    Distance of a point from a triangle: from its plane, else from its sides.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase

META = Meta("gouge", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """The deepest one."""
    if case.wanted is None or case.wanted.gouge is None:
        return
    gouge = case.wanted.gouge
    allowed = f"{case.length(gouge.depth_mm)} of the wanted shape is missing at {case.point(gouge.at)}"
    beyond = f"(allowed {case.size(case.wanted.within_mm)})"
    if gouge.row >= 0:
        text = f"{case.tool_name(gouge.row)} cuts into the wanted shape: {allowed} {beyond}"
        remedy = "look at this line: end point, depth, the tool's radius register and the side it runs on"
        yield case.finding(META.slug, META.signal, gouge.row, text, body=BLANK, value=gouge.depth_mm, remedy=remedy)
    else:
        text = f"the blank does not reach the wanted shape: {allowed} {beyond}"
        remedy = "check the blank's size and corner, and the shift of the wanted shape"
        yield Finding(slug=META.slug, signal=META.signal, text=text, remedy=remedy, body=BLANK, value=gouge.depth_mm, unit="mm")
