"""A tool is fed with the spindle stopped, or turning the wrong way.

What silence proves
    In every feed motion the spindle turns, and the way the tool cuts where that is known.

Why it matters
    If there is metal, the tool breaks; whether there is, the proof says.

How it decides
    The modal spindle state of every feed motion, those of cycles too; exact. The hand of a tool is that of its file; a tool of
    which only its kind is known counts as a right-hand one, and the finding says so.

Blind spots
    A start by a machine function that the profile does not know.

What to do
    Put M3 and S before the first feed.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.program.path import in_order
from setwright.read.case import ReadCase

META = Meta("fed-without-spindle", Signal.DANGER, brings=("cut-without-spindle",))
_STOP_THEMSELVES = ("G76", "G86", "G87", "G88")


def run(case: ReadCase) -> Iterator[Finding]:
    """The first such motion of each tool."""
    for station in in_order(case.station):
        mine = case.feeding & (case.station == station)
        for rows, text, remedy in _faults(case, station, mine):
            if rows.size:
                drills = any(case.path.states[state].cycle for state in np.unique(case.path.state[rows]).tolist())
                signal = META.signal if drills else Signal.WARNING
                where = f", in {rows.size} motions from here on" if rows.size > 1 else ""
                yield case.finding(META.slug, signal, case.row_span(int(rows[0])), f"{text}{where}", tool=station,
                                   remedy=remedy, cause=text.partition(" is ")[2] or text)  # fmt: skip


def _faults(case: ReadCase, station: int, mine: NDArray[np.bool_]) -> Iterator[tuple[NDArray[np.int64], str, str]]:
    """Rows of a tool that are fed with a spindle that stands or turns the wrong way, with what is said of them."""
    path, name = case.path, f"T{station}" if station else "the tool"
    rpm, cycle = np.array([state.spindle_rpm for state in path.states]), np.array([state.cycle for state in path.states])
    standing = np.flatnonzero(mine & ((rpm == 0.0) & ~np.isin(cycle, _STOP_THEMSELVES))[path.state])
    at_zero = any("S0" in remark.text and standing.size and remark.span.line == path.line[standing[0]]
                  for remark in case.interpreted.remarks if remark.slug == "spindle stands in a feed move")  # fmt: skip
    how = "with the spindle started at S0" if at_zero else "with the spindle stopped"
    yield standing, f"{name} is fed {how}", "start the spindle before: M3 and S for a right-hand tool"
    tool = case.known.get(station)
    hand = tool.hand if tool is not None else None
    way = -1.0 if hand == "left" else 1.0
    unless = "" if hand else ", unless it is a left-hand tool"
    named = tool is not None and (tool.hand is not None or tool.kind is not None)
    against = np.flatnonzero(mine & ((cycle == "") & (rpm * way < 0.0))[path.state]) if named else standing[:0]
    yield against, f"{name} is fed turning the wrong way{unless}", "write M3 for a right-hand tool, M4 for a left-hand one"
    down = mine & (path.end[:, 2] < path.start[:, 2])
    tapped = np.flatnonzero(down & (((cycle == "G84") & (rpm < 0.0)) | ((cycle == "G74") & (rpm > 0.0)))[path.state])
    yield tapped, f"{name} taps turning the wrong way for its cycle", "write M3 before G84, M4 before G74"

