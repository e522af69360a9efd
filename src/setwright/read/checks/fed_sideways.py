"""A drill, a reamer or a tap is fed sideways.

What silence proves
    No such tool is fed across or in an arc below the level at which it is taken across at rapid, as far as the kinds are known.

Why it matters
    These tools cut at their tip only: pushed sideways they bend, rub and break.

How it decides
    Feed motions outside cycles that go across, and the kind of the tool, from its file or, where only a draft or no job is there,
    from its comment; the sentence says which, and only a kind that the job states makes it a DANGER.

Blind spots
    Whether metal is there; the proof says so. A spot drill may chamfer an edge, and is not reported. A tool whose kind nothing
    tells.

What to do
    Look which tool is in this place; a missing G0, or the T number of a mill, are the usual causes.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("fed-sideways", Signal.DANGER)
_KINDS = ("drill", "centre drill", "reamer", "tap")


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a tool, at the first such motion."""
    for station, tool in case.known.items():
        rows = case.uses[station].sideways
        if tool.kind not in _KINDS or not rows.size:
            continue
        row = int(rows[0])
        low = case.length(float(min(case.path.start[row, 2], case.path.end[row, 2])))
        more = f", in {rows.size} moves from here on" if rows.size > 1 else ""
        text = f"{tool.named} is fed sideways at Z{low}{more}"
        signal = Signal.WARNING if tool.source else META.signal
        yield case.finding(META.slug, signal, case.row_span(row), text, tool=station,
                           remedy="look for a missing G0, or for the T number of a mill")  # fmt: skip
