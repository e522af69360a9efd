"""A tapping cycle runs with a tool that is no tap, or a tap with a cycle that does not tap.

What silence proves
    Every tool that runs a tapping cycle (G84, G74) is a tap, and no tap runs a drilling cycle, as far as the kinds are known.

Why it matters
    A drill fed at the pitch of a thread breaks at once; a tap that is pulled out at rapid while it turns forward tears the thread
    and breaks.

How it decides
    The kind of the tool, from its file or, where only a draft or no job is there, from its comment; the sentence says which.

Blind spots
    A tool whose kind nothing tells. A tap in G85 goes with a tapping head that reverses by itself, and is not reported.

What to do
    Look which tool is in this place; correct the T number, the cycle or the comment.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("tap-and-cycle-apart", Signal.WARNING)
_TAPPING = ("G84", "G74")
_DRILLING = ("G81", "G82", "G83", "G73")
_TAPS = ("tap", None, "free profile")


def run(case: ReadCase) -> Iterator[Finding]:
    """The first cycle of each tool that does not go with it."""
    path = case.path
    for station, tool in case.known.items():
        for row in case.uses[station].down.tolist():
            cycle = path.states[int(path.state[row])].cycle
            if cycle in _TAPPING and tool.kind not in _TAPS:
                what = f"{tool.named} runs the tapping cycle {cycle}"
            elif cycle in _DRILLING and tool.kind == "tap":
                what = f"{tool.named} runs {cycle}, which pulls it out without turning back"
            else:
                continue
            remedy = "look which tool is in this place; correct the T number, the cycle or the comment"
            yield case.finding(META.slug, META.signal, case.row_span(row), what, tool=station, remedy=remedy)
            break
