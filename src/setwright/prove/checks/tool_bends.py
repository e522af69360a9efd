"""A mill bends by more than its share of the tightest tolerance where it makes a surface of the part.

What silence proves
    Where a mill makes a surface that stays, its tip moves aside by less than a third of the tightest tolerance of the setup, by the
    likely mean force of a turn.

Why it matters
    The tool springs away from a wall and leaves it thick, or into it and cuts too deep; the size then differs from what the offsets
    say, and changes with the wear of the tool.

How it decides
    The tool is a beam clamped in its holder: the shank, then the fluted part as eight tenths of its diameter; solid carbide
    where the tool's file says so, else steel. The force aside of the motion, mean over a turn, acts at half the depth of the
    cut. Only motions that made a surface which is there at the end. Error bound: that of the force, given as a band, and about
    a third for the beam.

Blind spots
    Holder, spindle and part bend too. The force at the moment a tooth makes the surface differs from the mean. Whether the tightest
    tolerance belongs to this surface.

What to do
    Clamp the tool shorter, leave less for the last pass, or take the same pass twice.

Source
    Beam of stepped section; fluted part after Kops and Vo (1990), unverified.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.load import LoadCase, bends_share, tightest_of

META = Meta("tool-bends", Signal.CAUTION, needs=("load",))


def run(case: LoadCase) -> Iterator[Finding]:
    """One finding a tool."""
    tightest = tightest_of(case.features)
    if tightest is None:
        return
    name, width = tightest
    for one in case.load.tools:
        hung = case.kit.tools.get(one.station)
        if hung is None or one.bends_mm is None or one.bends_most_mm is None or \
                bends_share(one, hung, hung.stickout, width) <= 1.0:  # fmt: skip
            continue
        text = (f"{case.tool_name(one.bends_row)} bends by about {case.length(one.bends_mm)} (up to "
                f"{case.length(one.bends_most_mm)} in the turn) where it makes a surface; “{name}” has "
                f"{case.length(width)} in all; a model's figure")  # fmt: skip
        yield case.finding(META.slug, META.signal, one.bends_row, text, value=one.bends_mm,
                           remedy="clamp the tool shorter, or leave less for the last pass")  # fmt: skip
