"""The chip of a mill is far thicker or far thinner than its edges are made for.

What silence proves
    For every mill with its teeth stated, of a known material: the thickest chip stays below two and a half times the usual, and the
    cut in which half of its metal goes makes a chip of at least four tenths of the usual.

Why it matters
    Too thick a chip breaks the edge. Too thin a one is not cut but rubbed: the edge dulls, the surface work-hardens, and the tool
    sings. In a narrow cut the chip is much thinner than the feed a tooth.

How it decides
    h = f_z g, with f_z = F / (n z) and g the share of the motion that goes into the surface, where the metal really comes off (chip
    thinning included). The usual is the feed a tooth at which carbide mills of 10 mm are started in the material's group, in
    proportion to the diameter from 2 to 25 mm. Error bound: the band is wide because its source is unverified; a border of the
    engagement may lie half a ray distance aside.

Blind spots
    Edges made for other chips (serrated, high feed, finishing with a wiper). Run-out, which gives one tooth more than its share.

What to do
    Compare F and S with the tool maker's table; the load in the document says which feed would bring the chip there.

Source
    Start values by ISO 513 group, unverified; hence the factors.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.load import THICK, THIN, LoadCase, usual_chip

META = Meta("chip-far-off", Signal.WARNING, needs=("load",))


def run(case: LoadCase) -> Iterator[Finding]:
    """One finding a tool, the thick chip before the thin one."""
    for one in case.load.tools:
        usual = None if case.load.material is None else usual_chip(case.load.material, case.kit.tools[one.station])
        if usual is None:
            continue
        low, high = usual
        if one.thickest_mm > THICK * high:
            yield _told(case, one.thickest_row, one.thickest_mm, high, META.signal, "thick", "at most")
        elif one.chip_mm < THIN * low:
            yield _told(case, one.chip_row, one.chip_mm, low, Signal.NOTICE, "thin", "at least")


def _told(case: LoadCase, row: int, chip: float, usual: float, signal: Signal, what: str, side: str) -> Finding:
    text = (f"{case.tool_name(row)} makes chips {case.length(chip)} {what}; usual for such a mill here is {side} "
            f"{case.length(usual)} (start values, unverified)")  # fmt: skip
    remedy = ("compare F and S with the tool maker's table" if what == "thick"
              else "more feed, or a wider cut, so that it cuts and does not rub")  # fmt: skip
    return case.finding("chip-far-off", signal, row, text, remedy=remedy, value=chip)
