"""A tool works without its length while the others have theirs, or moves in Z before its length is applied.

What silence proves
    Every tool has its length applied (G43) before it moves in Z, or no tool of the program has any.

Why it matters
    Without its length the control brings the end of the spindle to where the tip belongs: the tool stands in the part by its whole
    length. What looks like a rapid that is too low has this one cause.

How it decides
    The length register in force in every motion that moves Z or feeds in a work offset, tool change by tool change; exact. Where
    no tool has a length, the zero must be set anew with each of them: a WARNING, and a CAUTION where the program stops (M0) before
    every tool but the first, or there is only one.

Blind spots
    A reference tool, whose tip set the zero itself, works without a length by right; it is reported as well, as a CAUTION where the
    machine's file says that lengths are differences to a reference tool.

What to do
    Write G43 with the tool's H in the first block that moves Z after the tool change.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import OF_A_WRONG_LENGTH, ReadCase
from setwright.read.known import length_applied

META = Meta("missing-length", Signal.DANGER, brings=OF_A_WRONG_LENGTH)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a tool, or one for a program in which no tool has a length."""
    path = case.path
    in_work = np.array([not frame.offset.startswith("machine") for frame in path.frames])[path.frame]
    applied = length_applied(path)
    have = set(case.station[case.feeding & applied].tolist())
    if not have:
        yield from _none_at_all(case)
        return
    differences = case.machine is not None and case.machine.control.lengths == "reference tool"
    signal = Signal.CAUTION if differences else Signal.DANGER
    for turn in _turns(case):
        bare = turn[in_work[turn] & ~applied[turn]]
        moved = bare[np.abs(path.end[bare, 2] - path.start[bare, 2]) > COORDINATE_ROUND_OFF_MM]
        feeds = bare[case.feeding[bare]]
        later = turn[applied[turn]]
        low = moved[moved < later[0]] if later.size else np.union1d(moved, feeds)
        fed = bool(feeds.size and not later.size)
        if not (fed or (later.size and low.size)):
            continue
        row = int(low[0])
        station = int(case.station[row])
        if later.size:
            height = case.length(float(path.end[row, 2]))
            text = (f"T{station} goes to Z{height} before its length is applied; G43 acts only from line "
                    f"{int(path.line[later[0]])} on")  # fmt: skip
        else:
            text = _without(case, row, have)
        yield case.finding(META.slug, signal, case.row_span(row), text, tool=station,
                           remedy=f"write G43 H{station} in the first block that moves Z")  # fmt: skip


def _without(case: ReadCase, row: int, have: set[int]) -> str:
    """What is said of a tool that works without a length of its own from `row` on."""
    station, register = int(case.station[row]), case.path.states[int(case.path.state[row])].length_register
    if register:
        return f"T{station} works with H{register}, which the tool before it left in force: there is no G43 after its tool change"
    others = ", ".join(f"T{number}" for number in case.known if number in have and number != station)
    with_theirs = f"{others} {'have theirs' if ',' in others else 'has its own'}" if others else "it has it elsewhere"
    return f"T{station} works without its length (no G43 after its tool change), while {with_theirs}"


def _turns(case: ReadCase) -> Iterator[NDArray[np.int64]]:
    """The rows from one tool change to the next, for every tool but the one that is in the spindle unnamed."""
    changes = [event.before for event in case.path.events if event.kind == "tool change"]
    borders = [*dict.fromkeys([0, *changes, len(case.path)])]
    for begin, end in pairwise(borders):
        rows = np.arange(begin, end)
        named = rows[case.station[rows] > 0]
        if named.size:
            yield named


def _none_at_all(case: ReadCase) -> Iterator[Finding]:
    """A program that changes tools and never applies a length."""
    changed = [event for event in case.path.events if event.kind == "tool change"]
    tools = [number for number in case.known if number > 0 and case.uses[number].feeds.size]
    if not changed or not tools:
        return
    span = case.span(case.path.files[changed[0].file], changed[0].line)
    signal = Signal.CAUTION
    if len(tools) == 1:
        text = f"no length is applied (no G43): Z zero must be set with T{tools[0]} itself"
        remedy = "set Z zero with this tool in the spindle, or write G43 H and the length"
    else:
        text = f"no length is applied (no G43) for any of {len(tools)} tools: Z zero must be set anew with each of them"
        remedy = "write G43 H after each tool change, or stop at each one and set Z zero anew"
        signal = Signal.CAUTION if _stops_between(case) else Signal.WARNING
    yield case.finding(META.slug, signal, span, text, tool=tools[0] if len(tools) == 1 else None, remedy=remedy)


def _stops_between(case: ReadCase) -> bool:
    """Whether the program stops between every two tools that it feeds."""
    stops = np.array([event.before for event in case.path.events if event.kind == "stop"], np.int64)
    fed = np.flatnonzero(case.feeding)
    fresh = np.flatnonzero(np.diff(case.station[fed]) != 0)
    return all(((stops > fed[k]) & (stops <= fed[k + 1])).any() for k in fresh.tolist())
