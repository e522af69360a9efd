"""The tools a program calls: kind and sizes from its comments, else from the way it uses them, else a stated default."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import MoveKind
from setwright.model.tool import HolderStep, Shank, Tool, ToolKind
from setwright.program.hints import ToolHint
from setwright.program.path import Path
from setwright.program.summary import ToolUse
from setwright.start.reading import ProgramReading
from setwright.start.wording import Evidence, cite, cited, length_text, tidy

__all__ = ["DraftTool", "draft_tools", "with_depth"]

_BY_CYCLE: Final[dict[str, ToolKind]] = {
    "G73": "drill", "G81": "drill", "G82": "drill", "G83": "drill", "G84": "tap", "G74": "tap", "G85": "reamer",
    "G76": "boring bar", "G86": "boring bar", "G87": "boring bar", "G88": "boring bar", "G89": "reamer",
}  # fmt: skip
_USUAL_MM: Final[dict[ToolKind, float]] = {
    "end mill": 6.0, "bull-nose mill": 6.0, "ball mill": 6.0, "chamfer mill": 10.0, "spot drill": 10.0, "centre drill": 10.0,
    "drill": 6.0, "reamer": 6.0, "tap": 6.0, "thread mill": 10.0, "face mill": 50.0, "boring bar": 20.0, "slot mill": 20.0,
    "dovetail mill": 20.0, "free profile": 6.0,
}  # fmt: skip
"""Diameters taken where nothing tells one: small, so that the guess touches nothing that the real tool would clear."""

_USUAL_IN: Final = {6.0: 0.25, 10.0: 0.375, 50.0: 2.0, 20.0: 0.75}
_REACH: Final[dict[ToolKind, float]] = {
    "drill": 6.0, "end mill": 2.5, "ball mill": 2.5, "bull-nose mill": 2.5, "reamer": 4.0, "tap": 3.0, "thread mill": 2.0,
    "spot drill": 1.5, "centre drill": 1.5, "chamfer mill": 1.5,
}  # fmt: skip
"""Usual length of the cutting part in diameters."""

_LONGEST: Final[dict[ToolKind, float]] = {"drill": 14.0, "reamer": 10.0, "tap": 6.0, "spot drill": 3.0, "centre drill": 3.0}
_LONGEST_MILL, _SHORT_MM = 6.0, 12.0
"""Longest cutting part that is made of a kind, in diameters; small tools reach this many mm."""

_LONGEST_STICKOUT, _STICKOUT_MM, _MOST_STICKOUT_MM = 12.0, 120.0, 200.0
"""Longest stick-out, in diameters or in mm, whichever is more."""

_SMALLER, _LARGER = 1.0 / 3.0, 3.0
"""How far a diameter that nothing tells may be off."""

_COARSE_MM: Final = ((0.5, 3.0), (0.7, 4.0), (0.8, 5.0), (1.0, 6.0), (1.25, 8.0), (1.5, 10.0), (1.75, 12.0), (2.0, 16.0),
                     (2.5, 20.0))  # fmt: skip
"""Coarse pitch and nominal diameter (ISO 261)."""

_INSERT_EDGE_MM, _BAR_EDGE_MM = 8.0, 4.0
_SLIM, _MEDIUM = 20.0, 32.0
_HOLDER_SLIM: Final = (HolderStep(diameter=42.0, length=35.0), HolderStep(diameter=50.0, length=12.0),
                       HolderStep(diameter=63.0, length=26.5))  # fmt: skip
_HOLDER_MEDIUM: Final = (HolderStep(diameter=60.0, length=50.0), HolderStep(diameter=63.0, length=26.5))
_CLEAR_OF_METAL_MM, _BESIDE_HOLDER_MM = 10.0, 5.0
_PITCH_STEP = 1.0 / 400.0


_SAME_DEPTH_MM: Final = 0.005
"""Depths that a comment gives are rounded; two that differ by less than this are one."""

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class DraftTool:
    """A tool of the draft as it will be written, with what each part of it rests on.

    `identity`: where kind and diameter come from; `lengths`: where flutes, stick-out and holder come from. `least_mm`: the lowest
    tip position in a feed move, in line `lowest_line` of `lowest_file`. Registers are None where they are the station's own number.
    `hand`: what shows which way it cuts, where it is turned counter-clockwise. `diameters` (None where it is stated), `flutes`,
    `stickouts`: between which lengths the truth may plausibly lie.
    """

    station: int
    tool: Tool
    stickout: float
    length_register: int | None
    radius_register: int | None
    identity: tuple[Evidence, ...]
    lengths: tuple[Evidence, ...]
    least_mm: float
    lowest_line: int
    lowest_file: str = ""
    hand: Evidence | None = None
    diameters: Range | None = None
    flutes: Range = (0.0, 0.0)
    stickouts: Range = (0.0, 0.0)

    @property
    def radius(self) -> float:
        """Cutting radius, mm."""
        return self.tool.diameter / 2


@dataclass(frozen=True, slots=True)
class _Said:
    """What the comments say of a tool, put together, and the comments that said it."""

    kind: ToolKind | None = None
    diameter: float | None = None
    corner_radius: float | None = None
    point_angle: float | None = None
    flutes: int | None = None
    pitch: float | None = None
    sources: tuple[tuple[str, ToolHint], ...] = ()


def draft_tools(reading: ProgramReading) -> tuple[DraftTool, ...]:
    """One tool for every number the program calls, in order of the numbers; lengths are set later, by `with_depth`.

    Tools that are called only behind the place where the reading stopped are among them, with what the comments say of them.
    """
    known = {use.number for use in reading.interpreted.tools}
    later = reading.unread.tools if reading.unread is not None else {}
    unmoved = [ToolUse(number, (), (), None, None, 0, 0, reading.names.index(span.file), span.line)
               for number, span in later.items() if number not in known]  # fmt: skip
    uses = sorted([*reading.interpreted.tools, *unmoved], key=lambda use: use.number)
    uses = sorted([*uses, *_left_in_force(reading, uses)], key=lambda use: use.number)
    alone = len(uses) == 1
    return tuple(_draft_tool(reading, use, uses, alone=alone) for use in uses)


def _changed_to(path: Path, station: int) -> bool:
    return any(event.kind == "tool change" and int(event.value) == station for event in path.events)


def _draft_tool(reading: ProgramReading, use: ToolUse, uses: Sequence[ToolUse], *, alone: bool) -> DraftTool:
    path = reading.path
    rows = np.flatnonzero((np.array([s.tool for s in path.states])[path.state] == use.number) & (path.kind != MoveKind.RAPID))
    said, why_said = _said(reading, use.number, alone=alone), None
    if not said.sources:
        said, why_said = _said_of_as_deep(reading, use, uses)
    kind, why_kind = _kind(said, path, rows)
    pitch, why_pitch = _pitch(said, path, rows) if kind == "tap" else (said.pitch, None)
    diameter, why_size = _diameter(said, kind, pitch, reading)
    whys = (why_said, why_kind, why_size, why_pitch, *_contradicted(reading, use.number))
    evidence = [*_cited(said), *(why for why in whys if why is not None)]
    if use.rows == 0 and reading.unread is not None and use.number in reading.unread.tools:
        place = reading.unread.tools[use.number]
        evidence.append(cite(f"called in line {place.line}, behind where the reading stops", file=place.file, line=place.line))
    elif use.rows == 0 and not rows.size and use.line and not _changed_to(path, use.number):
        text = f"not called here; its register is in force in line {use.line}"
        evidence.append(cite(text, file=path.files[use.file], line=use.line))
    left = kind == "tap" and any(path.states[i].cycle == "G74" for i in np.unique(path.state[rows]).tolist())
    hand = _hand(path, rows, left=left)
    corner = min(said.corner_radius or 0.0, diameter / 2)
    tool = Tool(name=f"{kind} {length_text(diameter, inch=reading.inch)}", kind=kind, diameter=diameter, flute_length=diameter,
                corner_radius=corner if kind in ("end mill", "bull-nose mill", "face mill") else 0.0, flutes=said.flutes or 2,
                pitch=pitch, hand="left" if hand is not None and left else "right")  # fmt: skip
    if said.point_angle is not None and kind not in ("end mill", "face mill"):
        tool = tool.model_copy(update={"point_angle": said.point_angle})
    lowest = rows[np.argmin(np.minimum(path.start[rows, 2], path.end[rows, 2]))] if rows.size else -1
    least = float(min(path.start[lowest, 2], path.end[lowest, 2])) if rows.size else math.inf
    length_register = _register(use.number, _owners(uses, "length_registers"))
    radius_register = _register(use.number, _owners(uses, "radius_registers"))
    return DraftTool(use.number, tool, 0.0, length_register, radius_register, tuple(evidence), (), least,
                     int(path.line[lowest]) if rows.size else use.line,
                     path.files[int(path.file[lowest])] if rows.size else reading.names[0],
                     hand, None if said.diameter else (diameter * _SMALLER, diameter * _LARGER))  # fmt: skip


def _left_in_force(reading: ProgramReading, uses: Sequence[ToolUse]) -> list[ToolUse]:
    """Tools that are not called here, but whose length or radius is in force, as after one of an earlier clamping: each where its
    register is first used."""
    path, numbers = reading.path, {use.number for use in uses}
    found: dict[int, int] = {}
    for which in ("length_register", "radius_register"):
        owners = _owners(uses, f"{which}s")
        kept = {use.number: _register(use.number, owners) or use.number for use in uses}
        used = np.array([getattr(state, which) for state in path.states])[path.state]
        for register, station in owners.items():
            if kept[station] != register and register not in numbers:
                found.setdefault(register, int(np.flatnonzero(used == register)[0]))
    return [ToolUse(number, (), (), None, None, 0, 0, int(path.file[row]), int(path.line[row])) for number, row in found.items()]


def _owners(uses: Sequence[ToolUse], which: str) -> dict[int, int]:
    """Which tool each register belongs to, register → station: the tool of that number if it calls it, else the first that does.

    Where two tools call one register, the second is likely a slip: it keeps its own number, and the proof shows what happens.
    """
    called = [(use.number, register) for use in uses for register in getattr(use, which)]
    owners = {register: station for station, register in called if register == station}
    for station, register in called:
        owners.setdefault(register, station)
    return owners


def _register(station: int, owners: Mapping[int, int]) -> int | None:
    """The register to write for a tool; None where it is the station's own number or the tool has none."""
    own = [register for register, owner in owners.items() if owner == station]
    return own[0] if own and station not in own else None


# --- what the comments say ---------------------------------------------------------------------------------------------------


def _said(reading: ProgramReading, station: int, *, alone: bool) -> _Said:
    """The first value of every property; comments that name the tool come first."""
    hints = [(name, hint) for name, said in reading.hints.items() for hint in said.of_station(station)]
    if not hints and alone:
        # a program that calls no tool may still describe the one it is written for, by whatever number
        of = (None,) if station else tuple({hint.station for said in reading.hints.values() for hint in said.tools})
        loose = [(name, hint) for name, said in reading.hints.items() for one in of for hint in said.of_station(one)]
        same = {(hint.kind, hint.diameter) for _, hint in loose}
        hints = loose if len(same) == 1 else []
    found = _Said(sources=tuple(hints))
    for _, hint in hints:
        for part in ("kind", "diameter", "corner_radius", "point_angle", "flutes", "pitch"):
            if getattr(found, part) is None:
                found = replace(found, **{part: getattr(hint, part)})
    return found


def _said_of_as_deep(reading: ProgramReading, use: ToolUse, uses: Sequence[ToolUse]) -> tuple[_Said, Evidence | None]:
    """For a tool that no comment describes: what is said of the only tool that is never called and is said to go as deep, if it
    is the only one that goes so deep and is not described."""
    described = {hint.station: (name, hint) for name, said in reading.hints.items() for hint in said.tools if hint.named}
    called = {one.number for one in uses}
    deepest = {one.number: _deepest(reading.path, one.number) for one in uses if one.number not in described}
    own = deepest.get(use.number, math.nan)
    alike = [(name, hint) for station, (name, hint) in described.items()
             if station not in called and hint.deepest is not None and abs(hint.deepest - own) <= _SAME_DEPTH_MM]  # fmt: skip
    rivals = [depth for depth in deepest.values() if abs(depth - own) <= _SAME_DEPTH_MM]
    if len(alike) != 1 or len(rivals) != 1:
        return _Said(), None
    (name, hint), = alike
    said = _Said(hint.kind, hint.diameter, hint.corner_radius, hint.point_angle, hint.flutes, hint.pitch, ((name, hint),))
    deep = length_text(own, inch=reading.inch)
    return said, cite(f"said of T{hint.station}, which is never called; T{use.number} alone goes down to {deep}, as is said there")


def _deepest(path: Path, station: int) -> float:
    """The lowest feed position of a tool, mm; nan where it is fed nowhere."""
    rows = (np.array([state.tool for state in path.states])[path.state] == station) & (path.kind != MoveKind.RAPID)
    return float(np.minimum(path.start[rows, 2], path.end[rows, 2]).min()) if rows.any() else math.nan


def _cited(said: _Said) -> list[Evidence]:
    """The comments that gave kind and diameter."""
    wanted = [next((s for s in said.sources if getattr(s[1], part) is not None), None) for part in ("kind", "diameter")]
    return list(dict.fromkeys(cited(name, hint) for pair in wanted if pair is not None for name, hint in [pair]))


def _contradicted(reading: ProgramReading, station: int) -> list[Evidence]:
    return [
        cite(f"comments contradict each other in {name} lines {', '.join(map(str, one.lines))}: "
             + ", ".join(f'"({text})"' for text in dict.fromkeys(one.texts)), file=name, line=one.lines[0])
        for name, said in reading.hints.items() for one in said.contradictions if one.what == f"tool {station}"
    ]  # fmt: skip


# --- what the program does with it -----------------------------------------------------------------------------------------------


def _kind(said: _Said, path: Path, rows: NDArray[np.intp]) -> tuple[ToolKind, Evidence | None]:
    if said.kind is not None:
        return said.kind, None
    for row in rows.tolist():
        kind = _BY_CYCLE.get(path.states[int(path.state[row])].cycle)
        if kind is not None:
            cycle, file, line = path.states[int(path.state[row])].cycle, path.files[int(path.file[row])], int(path.line[row])
            return kind, cite(f"used with {cycle} in {file} line {line}", file=file, line=line)
    return "end mill", cite("no comment tells its kind" + ("; it is moved like a mill" if rows.size else ""))


def _hand(path: Path, rows: NDArray[np.intp], *, left: bool) -> Evidence | None:
    """What a tool that only ever turns counter-clockwise is taken for: a left-hand tap, else a right-hand tool that rubs."""
    rows = rows[path.end[rows, 2] <= path.start[rows, 2]]  # a tap comes out the other way round
    if rows.size == 0 or any(path.states[i].spindle_rpm >= 0 for i in np.unique(path.state[rows]).tolist()):
        return None
    file, line = path.files[int(path.file[rows[0]])], int(path.line[rows[0]])
    said = "a left-hand tap" if left else "a right-hand tool rubs, so write left here only if yours is made so"
    return cite(f"M4 turns it counter-clockwise, first in line {line}: {said}", file=file, line=line)


def _pitch(said: _Said, path: Path, rows: NDArray[np.intp]) -> tuple[float, Evidence | None]:
    """Feed over speed of a tapping cycle, else what the comment says, else 1 mm."""
    for row in rows.tolist():
        state, feed = path.states[int(path.state[row])], float(path.feed[row])
        if state.cycle in ("G84", "G74") and state.spindle_rpm and math.isfinite(feed) and feed > 0.0:
            pitch = round(feed / abs(state.spindle_rpm) / _PITCH_STEP) * _PITCH_STEP or _PITCH_STEP
            file, line = path.files[int(path.file[row])], int(path.line[row])
            where = f"feed over speed in line {line}"
            other = f"; the comment says {said.pitch:g} mm" if said.pitch and abs(said.pitch - pitch) > _PITCH_STEP else ""
            return round(pitch, 4), cite(f"pitch {pitch:.4g} mm from {where}{other}", file=file, line=line)
    return (said.pitch, None) if said.pitch else (1.0, cite("pitch 1 mm taken, nothing tells it"))


def _diameter(said: _Said, kind: ToolKind, pitch: float | None, reading: ProgramReading) -> tuple[float, Evidence | None]:
    if said.diameter is not None:
        return said.diameter, None
    if kind == "tap" and pitch is not None:
        size = next((diameter for step, diameter in _COARSE_MM if pitch <= step + _PITCH_STEP), _COARSE_MM[-1][1])
        return size, cite(f"diameter {size:g} mm taken as the coarse thread of that pitch")
    usual = _USUAL_MM[kind]
    size = _USUAL_IN[usual] * 25.4 if reading.inch else usual
    called = {use.number for use in reading.interpreted.tools}
    named = {hint.station for hints in reading.hints.values() for hint in hints.tools if hint.station is not None}
    others = sorted(named - called)
    speak = f"; the comments speak of {', '.join(f'T{n}' for n in others)}, never called" if others else ""
    return size, cite(f"no comment tells its diameter; {length_text(size, inch=reading.inch)} taken, measure it{speak}")


# --- lengths ---------------------------------------------------------------------------------------------------------------------


def with_depth(draft: DraftTool, *, top: float, inch: bool) -> DraftTool:
    """Flutes, shank, stick-out and holder long enough for the deepest cut below `top` (mm), rounded up to a usual step."""
    tool = draft.tool
    depth = max(top - draft.least_mm, 0.0) if math.isfinite(draft.least_mm) else 0.0
    usual = _least_flutes(tool)
    longest = max(usual, _SHORT_MM, _LONGEST.get(tool.kind, _LONGEST_MILL) * tool.diameter)
    flutes = tidy(min(max(usual, depth + 1.0), longest), inch=inch)
    shank = None
    if tool.kind in ("face mill", "boring bar"):
        usual = longest = flutes = tidy(_INSERT_EDGE_MM if tool.kind == "face mill" else _BAR_EDGE_MM, inch=inch)
        shank = Shank(diameter=round(tool.diameter * (0.85 if tool.kind == "face mill" else 0.75), 2))
    beside = max(tool.diameter / 2, _BESIDE_HOLDER_MM)
    most = min(max(_LONGEST_STICKOUT * tool.diameter, _STICKOUT_MM), max(_MOST_STICKOUT_MM, flutes + beside))
    stickout = tidy(max(flutes + beside, min(depth + _CLEAR_OF_METAL_MM, most)), inch=inch)
    holder = _HOLDER_SLIM if tool.diameter <= _SLIM else _HOLDER_MEDIUM if tool.diameter <= _MEDIUM else _arbor(tool.diameter)
    said = "default lengths and holder"
    if depth > 0.0:
        reaches = "enough for its deepest cut" if flutes > depth or stickout > depth else "too short for its deepest cut"
        said += f", {reaches} {length_text(depth, inch=inch)} below the top in line {draft.lowest_line}"
    lengths = (cite(said, file=draft.lowest_file, line=draft.lowest_line if depth > 0.0 else 0),)
    made = tool.model_copy(update={"flute_length": flutes, "shank": shank, "holder": holder})
    return replace(draft, tool=made, stickout=stickout, lengths=lengths, flutes=(min(usual, flutes), max(longest, flutes)),
                   stickouts=(min(usual + beside, stickout), max(most, stickout)))  # fmt: skip


def _least_flutes(tool: Tool) -> float:
    """The usual cutting length of a kind, and no less than its point is high."""
    usual = _REACH.get(tool.kind, 1.0) * tool.diameter
    if tool.kind == "slot mill":
        return max(tool.diameter / 5, 3.0)
    if tool.kind in ("spot drill", "chamfer mill", "drill"):
        angle = tool.point_angle or math.radians(118.0 if tool.kind == "drill" else 90.0)
        return max(usual, tool.diameter / 2 / math.tan(angle / 2) + 2.0)
    return max(usual, 2.0)


def _arbor(diameter: float) -> tuple[HolderStep, ...]:
    return (HolderStep(diameter=min(round(diameter * 0.7), 63.0), length=30.0), HolderStep(diameter=63.0, length=26.5))
