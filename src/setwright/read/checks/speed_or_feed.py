"""Cutting speed, or feed a tooth or a turn, is far outside what tool and material can take.

What silence proves
    Every tool of known kind and size cuts below the widest speed and feed that anything of its kind is run at in the material, and
    no tool at all is fed more than 8 mm a turn.

Why it matters
    Ten times the feed breaks the tool in the first move; ten times the speed burns it. The usual causes are a slip in S, an F of
    another unit, or S and F of another tool.

How it decides
    Cutting speed π·D·n and feed F/n (a tooth: F/(n·z)) of every feed motion, against 2.5 times the highest start values of carbide.
    Those are for mills 200 m/min in steel, 120 in stainless and in hardened steel, 220 in cast iron, 800 in aluminium and brass, 80
    in titanium (the table of materials that load goes by too); half of that for drills, a fifth for reamers, 0.15 for taps; the
    highest of them where the material is not known; 0.4 of it for a tool
    of high-speed steel. A mill is fed up to 0.0375 D a tooth, at most 2 mm, with six teeth or more where they are not known; a
    drill up to 0.06 D a turn, a reamer 0.15 D. Taps are a matter of their pitch. The bands are wide on purpose: their source is
    unverified, and only what no shop does is reported. Where kind and size come from a comment only, it is a CAUTION, except for a
    feed that no cutter takes.

Blind spots
    What is wrong by less than these factors; too slow and too little, which wears a tool but breaks nothing.

What to do
    Compare S and F with the tool maker's table for this tool and material.

Source
    Start values of carbide tools of 10 mm by ISO 513 group, from ordinary maker's tables; unverified, hence the factor 2.5.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from setwright.base.units import format_size
from setwright.load.materials import speed_most_m_min
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase
from setwright.read.known import KnownTool

META = Meta("speed-or-feed-far-off", Signal.WARNING)
_WIDE = 2.5
_SHARE = {"drill": 0.5, "spot drill": 0.5, "centre drill": 0.5, "reamer": 0.2, "tap": 0.15}
_STEEL_SHARE = 0.4
_TOOTH_OF_DIAMETER, _TOOTH_MOST_MM, _TEETH = 0.0375, 2.0, 6
_TURN_OF_DIAMETER = {"drill": 0.06, "reamer": 0.15}
_ANY_TURN_MM = 8.0


def run(case: ReadCase) -> Iterator[Finding]:
    """For each tool the fastest feed a turn and the fastest cutting speed, if they are too much."""
    path = case.path
    rpm = np.abs(np.array([state.spindle_rpm for state in path.states]))[path.state]
    for station, tool in case.known.items():
        rows = case.uses[station].feeds
        rows = rows[rpm[rows] > 0.0]
        if not rows.size:
            continue
        yield from _speed(case, tool, int(rows[np.argmax(rpm[rows])]), float(rpm[rows].max()))
        if tool.kind != "tap":
            a_turn = np.nan_to_num(path.feed[rows] / rpm[rows])
            yield from _feed(case, tool, int(rows[np.argmax(a_turn)]), float(a_turn.max()))


def _speed(case: ReadCase, tool: KnownTool, row: int, rpm: float) -> Iterator[Finding]:
    if tool.kind is None or tool.diameter is None:
        return
    group, material = case.material_group
    share = _SHARE.get(tool.kind, 1.0) * (_STEEL_SHARE if _is_hss(tool.material) else 1.0)
    most = _WIDE * speed_most_m_min(group) * share
    speed = math.pi * tool.diameter * rpm / 1000.0
    if speed > most:
        where = f" in {material}" if group else ""
        text = (f"{_sized(case, tool)} runs at S{rpm:.0f}: {case.speed(speed * 1000.0)}, and nothing of its kind is run above "
                f"{case.speed(most * 1000.0)}{where}")  # fmt: skip
        signal = Signal.CAUTION if tool.source else META.signal
        yield case.finding(META.slug, signal, case.row_span(row), text, tool=tool.station, value=speed, unit="m/min",
                           remedy="compare S with the tool maker's table", cause=f"T{tool.station} speed")  # fmt: skip


def _feed(case: ReadCase, tool: KnownTool, row: int, a_turn: float) -> Iterator[Finding]:
    most, how = _most_a_turn(tool)
    if a_turn <= most:
        return
    rpm = abs(case.path.states[int(case.path.state[row])].spindle_rpm)
    fed = case.length(a_turn, places=2)
    whose = _sized(case, tool) if how else f"T{tool.station}"
    limit = f"{how} more than {case.length(most, places=2)}" if how else "no cutter takes that"
    text = f"{whose} is fed {fed} a turn (F{_as_written(case, row)} at S{rpm:.0f}), and {limit}"
    signal = Signal.CAUTION if tool.source and a_turn <= _ANY_TURN_MM else META.signal
    yield case.finding(META.slug, signal, case.row_span(row), text, tool=tool.station, value=a_turn, unit="mm",
                       remedy="compare F and S with the tool maker's table", cause=f"T{tool.station} feed")  # fmt: skip


def _most_a_turn(tool: KnownTool) -> tuple[float, str]:
    """The most a tool of this kind is fed a turn, mm, and the teeth that were counted; without kind or size any cutter's."""
    if tool.kind is None or tool.diameter is None:
        return _ANY_TURN_MM, ""
    if tool.kind in _TURN_OF_DIAMETER:
        return min(_TURN_OF_DIAMETER[tool.kind] * tool.diameter, _ANY_TURN_MM), "nothing of its kind takes"
    tooth = min(_TOOTH_OF_DIAMETER * tool.diameter, _TOOTH_MOST_MM)
    teeth = tool.flutes or max(_TEETH, round(tool.diameter / _TEETH))
    return tooth * teeth, f"{'' if tool.flutes else 'even '}with {teeth} teeth it does not take"


def _sized(case: ReadCase, tool: KnownTool) -> str:
    return tool.sized(format_size(tool.diameter or 0.0, "in" if case.inch else "mm"))


def _as_written(case: ReadCase, row: int) -> str:
    """The feed of a row in the program's unit a minute."""
    return f"{float(case.path.feed[row]) / (25.4 if case.inch else 1.0):.4g}"


def _is_hss(material: str) -> bool:
    return "HSS" in material.upper() or "HIGH-SPEED STEEL" in material.upper().replace("HIGH SPEED", "HIGH-SPEED")
