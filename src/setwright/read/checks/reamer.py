"""A reamer has no hole to ream, one that is too large, or turns faster than the drill before it.

What silence proves
    In every place where a known reamer goes down, an earlier tool went down, its drill is smaller, and the drill turns faster.

Why it matters
    A reamer does not cut at its tip: without a hole it breaks, with too large a one it does nothing, and at a drill's speed it
    chatters, burns and cuts oversize.

How it decides
    Places of downward feed motions in the same work offset, less than half the reamer's diameter apart, in the order of the
    program; kinds and diameters from the job or the comments (the sentence says which). Speeds are compared as cutting speeds where
    both diameters are known, else as turns.

Blind spots
    A hole that was made in another setup or cast: no earlier tool is only a CAUTION. Carbide reamers after steel drills may
    run faster by right.

What to do
    Ream at a third to a half of the drill's cutting speed; drill 0.1 to 0.4 mm below the size.

Source
    Ordinary shop practice; no open standard gives these speeds, so only a reamer faster than its drill is reported.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase
from setwright.read.known import KnownTool

META = Meta("reamer-and-hole", Signal.WARNING)
_UNKNOWN_RADIUS_MM = 2.0


def run(case: ReadCase) -> Iterator[Finding]:
    """At most one finding of each sort a reamer."""
    for station, tool in case.known.items():
        rows = case.uses[station].down
        if tool.kind != "reamer" or not rows.size:
            continue
        before = {int(row): _tool_before(case, tool, int(row)) for row in rows}
        bare = [row for row, earlier in before.items() if earlier is None]
        if bare:
            x, y = (case.length(float(value)) for value in case.path.end[bare[0], :2])
            text = f"{tool.named} reams at X{x} Y{y}, where this program has made no hole"
            yield case.finding(META.slug, Signal.CAUTION, case.row_span(bare[0]), text, tool=station,
                               remedy="drill or bore it before, unless the hole is there already")  # fmt: skip
        for row, earlier in before.items():
            found = _compared(case, tool, row, earlier) if earlier is not None else None
            if found is not None:
                yield found
                break


def _tool_before(case: ReadCase, reamer: KnownTool, row: int) -> int | None:
    """The last row before `row` in which another tool goes down in the same place of the same offset."""
    path = case.path
    offset = path.frames[int(path.frame[row])].offset
    near = (reamer.diameter or 2.0 * _UNKNOWN_RADIUS_MM) / 2.0
    found: int | None = None
    for station, use in case.uses.items():
        if station == reamer.station or case.known[station].kind in ("spot drill", "centre drill"):
            continue
        feeds = use.feeds[use.feeds < row]
        feeds = feeds[[path.frames[frame].offset == offset for frame in path.frame[feeds].tolist()]] if feeds.size else feeds
        low = feeds[np.minimum(path.start[feeds, 2], path.end[feeds, 2]) < path.start[row, 2] - SAME_PLACE_MM]
        here = low[np.hypot(*(path.end[low, :2] - path.end[row, :2]).T) < near]
        if here.size and (found is None or int(here[-1]) > found):
            found = int(here[-1])
    return found


def _compared(case: ReadCase, reamer: KnownTool, row: int, earlier: int) -> Finding | None:
    """A hole as large as the reamer, or a drill that turns more slowly."""
    path = case.path
    drill = case.known[int(case.station[earlier])]
    if drill.kind != "drill":
        return None
    both = drill.diameter is not None and reamer.diameter is not None
    if drill.diameter is not None and reamer.diameter is not None and drill.diameter > reamer.diameter - SAME_PLACE_MM:
        size, own = case.length(drill.diameter), case.length(reamer.diameter)
        least, most = (case.length(spare, places=1) for spare in (0.1, 0.4))
        text = f"{reamer.named} is {own}, and the hole was drilled {size} by T{drill.station} in line {int(path.line[earlier])}"
        return case.finding(META.slug, META.signal, case.row_span(row), text, tool=reamer.station,
                            remedy=f"drill {least.split()[0]} to {most} below the reamer's size")
    turns = [abs(path.states[int(path.state[at])].spindle_rpm) for at in (row, earlier)]
    across = [reamer.diameter or 1.0, drill.diameter or 1.0] if both else [1.0, 1.0]
    if not turns[1] or turns[0] * across[0] <= turns[1] * across[1]:
        return None
    speeds = [case.speed(math.pi * size * turn) for size, turn in zip(across, turns, strict=True)]
    shown = f" ({speeds[0]} against {speeds[1]})" if both else ""
    text = f"{reamer.named} turns at S{turns[0]:.0f}, faster than its drill T{drill.station} at S{turns[1]:.0f}{shown}"
    return case.finding(META.slug, META.signal, case.row_span(row), text, tool=reamer.station, value=turns[0], unit="rpm",
                        remedy="ream at a third to a half of the drill's cutting speed")  # fmt: skip
