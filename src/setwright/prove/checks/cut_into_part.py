"""The part is cut into: metal of the wanted shape is missing.

What silence proves
    Where rays end on the simulated part, its surface lies nowhere deeper inside the wanted shape than the stated tolerance, for the
    offsets and tool sizes of this proof. Without a wanted shape in the setup it proves nothing.

Why it matters
    Metal that is gone does not come back: the part is scrap or needs welding.

How it decides
    The wanted mesh is cut by the same rays as the metal. Every end of the metal that has no end of the mesh within `within` on its
    own ray is measured: its exact distance from the nearest triangle. Between the rays it can be more by no more than the bound
    given: root 3 times half a diagonal of the rays' cells.

Blind spots
    Cuts that no ray ends in, narrower than the ray spacing both ways. The mesh's own facets beside the true surface. Deflection,
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

META = Meta("cut-into-part", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """The deepest one."""
    if case.wanted is None or case.wanted.cut_into is None:
        return
    deepest = case.wanted.cut_into
    allowed = f"{case.length(deepest.depth_mm)} of the wanted shape is missing at {case.point(deepest.at)}"
    more = f"between the rays up to {case.length(case.wanted.bound_mm)} more"
    beyond = f"(allowed {case.size(case.wanted.within_mm)}, {more})"
    if deepest.row >= 0:
        text = f"{case.tool_name(deepest.row)} cuts into the wanted shape: {allowed} {beyond}"
        remedy = "look at this line: end point, depth, the tool's radius register and the side it runs on"
        yield case.finding(META.slug, META.signal, deepest.row, text, body=BLANK, value=deepest.depth_mm, remedy=remedy)
    else:
        text = f"the blank does not reach the wanted shape: {allowed} {beyond}"
        remedy = "check the blank's size and corner, and the shift of the wanted shape"
        yield Finding(slug=META.slug, signal=META.signal, text=text, remedy=remedy, body=BLANK, value=deepest.depth_mm, unit="mm")
