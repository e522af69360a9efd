"""A tool has moved in its holder since it was measured.

What happens
    The collet was not tight; the cutter pulls itself out, a drill is drawn by its helix.

What it changes
    The tip stands lower by as much; here 1 mm. The register does not know.

How often
    Once or twice in a thousand tools held in a collet, more often with oil in it.

Where it can occur
    Every tool; a screwed-on or shrunk one much less.

What gives it away
    The tip over the top face; the rule on the stick-out.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, hung_by

__all__ = ["META", "occurrences"]

META = SlipMeta("tool-pulled-out", 0.002, "a tool", JUDGEMENT)


_OUT_MM = 1.0


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each tool that is longer than it sticks out."""
    for tool in case.used:
        hung = case.kit.tools[tool.station]
        if hung.tool.length is not None and hung.stickout + _OUT_MM > hung.tool.length:
            continue
        words = f"T{tool.station} sticks out {case.length(_OUT_MM)} farther than measured: it has moved in its holder"
        yield Occurrence(META.slug, words, META.rate, f"T{tool.station}", f"tighten T{tool.station} and measure it anew",
                         hung_by(tool.station, stickout=_OUT_MM, length=_OUT_MM), _OUT_MM)  # fmt: skip
