"""A tool moves sideways at rapid, low down, before it is over its place.

What silence proves
    After every tool change the tool is brought over its place before it comes down.

Why it matters
    A tool that comes down first and then crosses the table at rapid meets clamps and jaws.

How it decides
    Rapids between a tool change and its first feed: one that moves sideways less than 2 mm above the highest point of any cut
    is reported; exact. What is fed at or above the highest level at which the program goes across at rapid is no cut.

Blind spots
    Where clamps stand is not known here; contact with them is proved elsewhere. A move with which radius compensation begins is a
    way in, and not reported.

What to do
    Move X and Y first, then Z.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("sideways-before-in-place", Signal.WARNING)
_NEAR_MM = 2.0


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a tool change; those at one and the same height have one cause, the program's way of coming down."""
    path = case.path
    if not case.feeding.any():
        return
    top = _highest_cut(case)
    feeds = np.flatnonzero(case.feeding)
    changes = [event.before for event in path.events if event.kind == "tool change"]
    for begin, following in itertools.pairwise([*changes, len(path)]):
        first = int(feeds.searchsorted(begin))
        end = min(following, int(feeds[first])) if first < feeds.size else begin
        for row in range(begin, end):
            sideways = float(np.hypot(*(path.end[row, :2] - path.start[row, :2])))
            came_down = path.start[row, 2] <= path.end[row, 2] and path.start[row, 2] < top + _NEAR_MM and row > begin
            if sideways > 1.0 and came_down and not _leads_in(case, row) and path.frames[int(path.frame[row])].offset != "machine":
                height = float(path.start[row, 2])
                way = f"{case.length(sideways, places=0)} sideways at rapid at Z{case.length(height)}"
                text = f"T{case.station[row]} moves {way} before its first cut"
                yield case.finding(META.slug, META.signal, case.row_span(row), text, tool=int(case.station[row]), value=height,
                                   unit="mm", cause=f"Z{height:.3f}",
                                   remedy="move X and Y first, then come down in Z")  # fmt: skip
                break


def _leads_in(case: ReadCase, row: int) -> bool:
    """Whether radius compensation begins with this row."""
    path = case.path
    return bool(path.states[int(path.state[row])].compensation and not path.states[int(path.state[row - 1])].compensation)


def _highest_cut(case: ReadCase) -> float:
    """The highest level that is cut at, mm: the lower end of feed moves (approach and retract do not count)."""
    path = case.path
    low = np.minimum(path.start[:, 2], path.end[:, 2])
    in_work = np.array([not frame.offset.startswith("machine") for frame in path.frames])[path.frame]
    across = ~case.feeding & in_work & (np.hypot(*(path.end - path.start)[:, :2].T) > 1.0) & (path.start[:, 2] <= path.end[:, 2])
    level = float(path.start[across, 2].max()) if across.any() else np.inf
    cuts = low[case.feeding & (low < level)]
    return float(cuts.max()) if cuts.size else float(low[case.feeding].min())
