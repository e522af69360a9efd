"""Start and end of an arc lie at different distances from its centre, by more than the rounding of its coordinates makes.

What silence proves
    Start and end radius of every arc agree within what its coordinates, rounded as they are written, can be off, or within the open
    limit of 0.002 mm.

Why it matters
    A control refuses the arc, or runs a spiral; the part has a step or a mark.

How it decides
    The interpreter measures it while it carries out the block. Start, end and centre are each rounded to half of the last written
    digit: together they part the radii by up to 2√2 of it; the last digit is the finest one of the program's coordinates. The worst
    arc is shown, the others are counted. Up to the limit of most controls, 0.01 mm, it is a NOTICE, beyond it a CAUTION.

Blind spots
    Beyond the control's own limit the arc is refused, not reported here. A program with a few numbers finer than the rest is
    judged by those.

What to do
    Write the arc with more decimals, or with R.

Source
    The open RS-274 description of 2000 for the limit of 0.002 mm; the bound by the triangle inequality.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from setwright.base.tolerance import ARC_RADIUS_MISMATCH_MM
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("arc-end-off-its-circle", Signal.CAUTION)
_DECIMALS = re.compile(r"[XYZIJKR][-+]?\d*\.(\d+)")
_LINES_SEARCHED = 20_000
_ROUNDINGS = 2.0 * math.sqrt(2.0)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding: the worst of the arcs that rounding does not explain, and where the others are."""
    seen = [remark for remark in case.interpreted.remarks if remark.slug == "arc end off its circle"]
    if not seen:
        return
    rounding = {name: _ROUNDINGS * _last_digit_mm(case, name) for name in {remark.span.file for remark in seen}}
    beyond = [remark for remark in seen if (remark.value or 0.0) > rounding[remark.span.file]]
    if not beyond:
        return
    worst = max(beyond, key=lambda remark: remark.value or 0.0)
    others = [remark.span.line for remark in beyond if remark is not worst]
    shown = ", ".join(str(line) for line in others[:2]) + (f" and {len(others) - 2} more" if len(others) > 2 else "")
    also = f"; {len(others)} other{'s are' if len(others) > 1 else ' is'} off less, line{'s' * (len(others) > 1)} {shown}"
    off, explained = case.length(worst.value or 0.0, places=3), case.length(rounding[worst.span.file], places=3)
    text = f"the end of this arc is {off} off its circle; rounding explains {explained}{also if others else ''}"
    signal = META.signal if (worst.value or 0.0) > ARC_RADIUS_MISMATCH_MM else Signal.NOTICE
    remedy = "write more decimals, or R; a control with a narrower limit stops"
    yield case.finding(META.slug, signal, worst.span, text, remedy=remedy, value=worst.value, unit="mm")


def _last_digit_mm(case: ReadCase, file: str) -> float:
    """The finest decimal step of the coordinates of a program, mm; 1 where no coordinate has decimals."""
    finest = 0
    for number, text in case.words(file):
        if number > _LINES_SEARCHED:
            break
        finest = max([finest, *(len(digits) for digits in _DECIMALS.findall(text))])
    return (25.4 if case.inch else 1.0) * 10.0**-finest
