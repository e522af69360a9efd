"""Hold points: for each tool the block to stop before when it first comes down to the work, and what must be seen there.

A tool comes down to the work with the first motion that brings its tip lower than APPROACH above the highest metal of the blank. If
the tip stands where a rule reaches when that block begins, its length active, the hold is before the block. Else it is within the
block, on the way down, CLEARANCE above the highest metal: feed hold when Z has as far to go as is said. The control shows what each
axis still has to go, and the tip stands a known height over the surface below it, in the metal as the tools before have left it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body, BodyRole
from setwright.geometry.frames import turned_about_z
from setwright.geometry.moves import Moves, extent_of
from setwright.program.path import Event, Path
from setwright.prove.plunges import with_cores
from setwright.prove.stage import cores_of, hung_tools
from setwright.prove.station import Proof
from setwright.removal.cut import cut
from setwright.removal.field import BLANK, Field

__all__ = ["APPROACH", "CLEARANCE", "REACH", "HoldPoint", "Stopped", "hold_points", "stopped_at"]

APPROACH: Final = 10.0
"""mm above the blank's top: below it a tool counts as coming down to the work."""

REACH: Final = 100.0
"""mm above the blank's top: a rule measures up to there."""

CLEARANCE: Final = 50.0
"""mm above the blank's top: so high the tip is stopped within a block that comes from farther up."""

_BESIDE = 1.0
_AROUND = 3.0
_BLOCK = re.compile(r"^/?\d*\s*[Nn]\s*(\d+)")
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """Where to stop with one tool before it meets the work. Lengths mm.

    `line`: the block that brings the tip down, `text` as it is written; hold before it runs, or `within` it. `shows`: the position
    the control then shows in work coordinates, `to_go` what each axis still has to go in this block. `at`: the same place in the
    coordinates of the block, its own offset and length active (other than `shows` only before a block that changes them). `tip`:
    the tip in W. `height`: of the tip over `surface`, the highest of the metal or holding below it, or, where nothing is below,
    beside it at the distance `beside`; `made_by`: station of the tool that cut this surface, None where it is the blank or the
    holding. `block`: the program's own block number of that line, "" if it has none; `stop`: a stop or optional stop written
    between tool change and here.
    """

    station: int
    file: str
    line: int
    text: str
    row: int
    offset: str
    shows: tuple[float, float, float]
    to_go: tuple[float, float, float]
    at: tuple[float, float, float]
    within: bool
    tip: tuple[float, float, float]
    height: float
    surface: str
    beside: float
    made_by: int | None
    block: str
    stop: str

    @property
    def place(self) -> str:
        """ "cap-1.nc line 42" with its block number."""
        return f"{self.file} line {self.line}" + (f" (N{self.block})" if self.block else "")

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data; lengths in `units`."""
        per = 25.4 if units in ("in", "inch") else 1.0

        def axes(values: tuple[float, float, float]) -> dict[str, float]:
            return {axis: value / per for axis, value in zip("xyz", values, strict=True)}

        return {
            "tool": self.station, "file": self.file, "line": self.line, "block": self.text.strip(),
            "block_number": self.block or None, "stop": self.stop or None, "offset": self.offset,
            "shows": axes(self.shows), "to_go": axes(self.to_go), "within": self.within,
            "height": self.height / per, "surface": self.surface, "beside": self.beside / per, "surface_made_by": self.made_by,
        }  # fmt: skip


def hold_points(proof: Proof) -> tuple[HoldPoint, ...]:
    """One for each tool that comes down to the work, in the order of the program; from the proof of the setup as it should be.

    The metal is cut once more up to the last of them; heights are exact along the rays of the proof and rest on the nearest ray.
    """
    path, moves, kit = proof.reading.interpreted.path, proof.moves, proof.kit
    if not len(path):
        return ()
    stations = np.array([state.tool for state in path.states])[path.state]
    top = float(proof.kit.extent[1][2]) + max(copy[2] for copy in kit.copies)
    used = [station for station in dict.fromkeys(stations.tolist()) if station in kit.tools]
    stops = {station: stopped_at(path, moves, station, top) for station in used}
    asked = sorted((stop.row, station) for station, stop in stops.items() if stop is not None)
    held = zip(asked, _stages(proof, asked), strict=True)
    return tuple(_held(proof, station, stop, metal) for (_, station), metal in held if (stop := stops[station]) is not None)


@dataclass(frozen=True, slots=True)
class Stopped:
    """Where a tool is stopped on its way down: row and first row of the block, positions as in `HoldPoint`."""

    row: int
    first: int
    within: bool
    shows: tuple[float, float, float]
    at: tuple[float, float, float]
    to_go: tuple[float, float, float]
    tip: Array


def stopped_at(path: Path, moves: Moves, station: int, top: float) -> Stopped | None:
    """Where to stop a tool that comes lower than APPROACH above `top` (mm, W); None if it never does. `moves`: of the tip in W."""
    own = np.array([state.tool == station for state in path.states])[path.state]
    candidates = np.flatnonzero(own[moves.ident])
    low = extent_of(moves[candidates])[0][:, 2]
    deep = np.flatnonzero(low < top + APPROACH)
    if not deep.size:
        return None
    row = int(moves.ident[candidates[deep[0]]])
    first = _block_begin(path, row)
    tip = moves.start[int(np.searchsorted(moves.ident, first))]
    at, end = path.start[first], path.end[row]
    if tip[2] <= top + REACH and not _changes(path, first)[1]:
        return Stopped(row, first, False, _three(at), _three(at), _three(end - at), tip)
    inside = _on_the_way(moves, first, row, top + CLEARANCE)
    if inside is None:
        return Stopped(row, first, False, _three(_shown_before(path, first)), _three(at), _three(end - at), tip)
    crossing, share, tip = inside
    at = path.start[crossing] + share * (path.end[crossing] - path.start[crossing])
    return Stopped(row, first, True, _three(at), _three(at), _three(path.end[crossing] - at), tip)


def _changes(path: Path, first: int) -> tuple[list[Event], list[Event]]:
    """Changes of offset or length up to the block that begins with this row: those before the block, and those in it."""
    place = int(path.file[first]), int(path.line[first])
    changes = [event for event in path.events if event.kind in ("length", "offset") and event.before <= first]
    inside = [event for event in changes if event.before == first and (event.file, event.line) == place]
    return [event for event in changes if event not in inside], inside


def _shown_before(path: Path, first: int) -> Array:
    """What the control shows before a block that changes offset or length: with the length that is active until then."""
    frame = path.frames[int(path.frame[first])]
    before = path.frames[int(path.frame[first - 1])] if first > 0 else frame
    if before.offset == "machine":  # an offset is active there too, though nothing moves by it
        before = frame
    lengths = [event.value for event in _changes(path, first)[0] if event.kind == "length"]
    active = before.length_applied if lengths and lengths[-1] else 0.0
    machine = turned_about_z(frame.rotation).points(path.start[first]) + np.array(frame.shift)
    shift = np.array(before.shift) + np.array([0.0, 0.0, active - before.length_applied])
    return turned_about_z(-before.rotation).points(machine - shift)


def _on_the_way(moves: Moves, first: int, row: int, level: float) -> tuple[int, float, Array] | None:
    """The row of a block in which the tip first comes down through `level` (mm, W), how much of it is then done, and the tip; None
    where the block begins below."""
    here = np.flatnonzero((moves.ident >= first) & (moves.ident <= row))
    over = here[(moves.start[here, 2] > level) & (moves.end[here, 2] <= level)]
    if not over.size:
        return None
    piece = int(over[0])
    share = float((moves.start[piece, 2] - level) / (moves.start[piece, 2] - moves.end[piece, 2]))
    tip = moves.start[piece] + share * (moves.end[piece] - moves.start[piece])
    crossing = int(moves.ident[piece])
    pieces = here[moves.ident[here] == crossing]
    begin, end = float(moves.start[pieces[0], 2]), float(moves.end[pieces[-1], 2])
    return crossing, (begin - level) / (begin - end), tip


def _stages(proof: Proof, asked: list[tuple[int, int]]) -> Iterator[Field]:
    """The metal when each of these rows begins."""
    order, pieces = hung_tools(proof.kit)
    cutting, _ = with_cores(proof.moves, cores_of(proof.kit, order))
    metal, done = proof.before, 0
    for row, _station in asked:
        until = int(np.searchsorted(cutting.ident, row))
        if until > done:
            metal, done = cut(metal, cutting[done:until], pieces).field, until
        yield metal


def _held(proof: Proof, station: int, stop: Stopped, metal: Field) -> HoldPoint:
    path, row = proof.reading.interpreted.path, stop.row
    height, surface, beside, maker = _below(proof, metal, stop.tip, proof.kit.tools[station].radius)
    file, line = path.files[int(path.file[row])], int(path.line[row])
    lines = proof.reading.lines[file]
    text = lines[line - 1] if 0 < line <= len(lines) else ""
    number = _BLOCK.match(text.strip())
    made_by = _station(proof, maker) if maker >= 0 else None
    return HoldPoint(
        station=station, file=file, line=line, text=text, row=row, offset=path.frames[int(path.frame[row])].offset,
        shows=stop.shows, to_go=stop.to_go, at=stop.at, within=stop.within, tip=_three(stop.tip), height=height,
        surface=surface, beside=beside, made_by=made_by, block=number[1] if number else "", stop=_stop(path, station, stop.first),
    )  # fmt: skip


def _block_begin(path: Path, row: int) -> int:
    """The first row of the block that a row belongs to (a cycle makes several)."""
    first = row
    while first > 0 and path.line[first - 1] == path.line[row] and path.file[first - 1] == path.file[row]:
        first -= 1
    return first


def _below(proof: Proof, metal: Field, tip: Array, radius: float) -> tuple[float, str, float, int]:
    """Height of the tip over the highest thing under it, its name, how far it lies beside (0: below), and the path row that cut it.

    Below is what lies within the tool's radius and the few millimetres around it where a rule can stand. Nothing below: the highest
    metal within a millimetre of the nearest.
    """
    points, rays = metal.points(2)
    tops, ident = points[:, 1, :], rays.ident[:, 1]
    away = np.hypot(tops[:, 0] - tip[0], tops[:, 1] - tip[1]) - radius
    under = away <= _AROUND
    beside = 0.0 if under.any() else float(away.min(initial=np.inf))
    near = under if under.any() else away <= beside + _BESIDE
    rows = np.flatnonzero(near)
    best, name, maker = -np.inf, "nothing", -1
    if rows.size:
        at = int(rows[np.argmax(tops[rows, 2])])
        best, name, maker = float(tops[at, 2]), "the blank", int(ident[at])
        if maker == BLANK:
            name = "the blank's top" if best >= float(proof.kit.extent[1][2]) - SAME_PLACE_MM else "the blank"
        else:
            name = f"the face T{_station(proof, maker)} cut"
    for body in proof.kit.placement.bodies:
        z = _top_under(body, tip, radius)
        if z > best and body.role is BodyRole.HOLDING and (under.any() or beside > 0.0):
            best, name, maker, beside = z, body.name, -1, 0.0
    return float(tip[2]) - best, name, beside, maker


def _station(proof: Proof, row: int) -> int:
    path = proof.reading.interpreted.path
    return path.states[int(path.state[row])].tool


def _top_under(body: Body, tip: Array, radius: float) -> float:
    """The top of a body's box where the tool's circle meets it; −inf where it does not."""
    low, high = body.bounds()
    nearest = np.clip(tip[:2], low[:2], high[:2])
    inside = float(np.hypot(*(nearest - tip[:2]))) <= radius
    return float(high[2]) if inside else -np.inf


def _stop(path: Path, station: int, first: int) -> str:
    """A stop or optional stop between the tool's change and the hold; the last one."""
    words = {"stop": "stop", "optional stop": "optional stop"}
    own = np.flatnonzero(np.array([state.tool == station for state in path.states])[path.state])
    changes = [event.before for event in path.events if event.kind == "tool change" and event.before <= first]
    change = max(changes, default=int(own[0]))
    found = [event for event in path.events if event.kind in words and change <= event.before <= first]
    return f"{words[found[-1].kind]} in line {found[-1].line}" if found else ""


def _three(values: Array) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return x, y, z
