"""Metal is left on the part, outside the wanted shape.

What silence proves
    Where rays end on the simulated part, its surface lies nowhere further outside the wanted shape than the stated tolerance, for
    the offsets and tool sizes of this proof. Without a wanted shape in the setup, or on part of a program, it proves nothing.

Why it matters
    A corner the tool could not reach, a forgotten operation or a wrong radius leaves a part that does not fit.

How it decides
    The wanted mesh is cut by the same rays as the metal. Every end of the metal that has no end of the mesh within `within` on its
    own ray is measured: its exact distance from the nearest triangle. Between the rays it can be more by no more than the bound
    given: root 3 times half a diagonal of the rays' cells.

Blind spots
    Burrs and ridges that no ray ends on, narrower than the ray spacing both ways. Metal that a later setup takes is reported too,
    when the mesh shows the finished part.

What to do
    Add the cut that is missing, take a smaller tool for the corner, or give the shape as it shall be after this setup. Where else
    metal is left, and by how much, `setwright prove --off-shape FILE.ply` writes for the whole surface.

Source
    Distance of a point from a triangle: from its plane, else from its sides.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase

META = Meta("metal-left", Signal.CAUTION)


def run(case: ProveCase) -> Iterator[Finding]:
    """The highest one."""
    if not case.whole or case.wanted is None or case.wanted.left is None:
        return
    left = case.wanted.left
    more = f"between the rays up to {case.length(case.wanted.bound_mm)} more"
    text = (f"{case.length(left.depth_mm)} of metal is left on the wanted shape at {case.point(left.at)} "
            f"(allowed {case.size(case.wanted.within_mm)}, {more})")  # fmt: skip
    if left.row >= 0:
        remedy = "this line cuts nearest to it: cut deeper or closer, or finish the corner with a smaller tool"
        yield case.finding(META.slug, META.signal, left.row, text, body=BLANK, value=left.depth_mm, remedy=remedy)
    else:
        remedy = "no line cuts there: add the cut, or state the shape as it shall be after this setup"
        text += "; nothing cuts there"
        yield Finding(slug=META.slug, signal=META.signal, text=text, remedy=remedy, body=BLANK, value=left.depth_mm, unit="mm")
