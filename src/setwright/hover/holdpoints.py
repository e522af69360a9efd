"""Hold points: for each tool the block to stop before when it first comes down to the work, and what must be seen there.

A tool comes down to the work with the first motion that brings its tip lower than APPROACH above the highest metal of the blank.
The hold is at the start of that block: the control shows what each axis still has to go, and the tip stands a known height over the
surface below it, in the metal as the tools before have left it.
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
from setwright.geometry.moves import Moves, extent_of
from setwright.program.path import Path
from setwright.prove.plunges import with_cores
from setwright.prove.stage import cores_of, hung_tools
from setwright.prove.station import Proof
from setwright.removal.cut import cut
from setwright.removal.field import BLANK, Field

__all__ = ["APPROACH", "HoldPoint", "approach_row", "hold_points"]

APPROACH: Final = 10.0
"""mm above the blank's top: below it a tool counts as coming down to the work."""

_BESIDE = 1.0
_AROUND = 3.0
_BLOCK = re.compile(r"^/?\d*\s*[Nn]\s*(\d+)")
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """Where to stop with one tool before it meets the work. Lengths mm.

    `line`: the block that brings the tip down, `text` as it is written; hold before it runs. `shows`: the position the control then
    shows in work coordinates, `to_go` what each axis has to go once the block is started. `tip`: the tip in W. `height`: of the tip
    over `surface`, the highest of the metal or holding below it, or, where nothing is below, beside it at the distance `beside`;
    `made_by`: station of the tool that cut this surface, None where it is the blank or the holding. `block`: the program's own
    block number of that line, "" if it has none; `stop`: a stop or optional stop written between tool change and here.
    """

    station: int
    file: str
    line: int
    text: str
    row: int
    offset: str
    shows: tuple[float, float, float]
    to_go: tuple[float, float, float]
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
            "shows": axes(self.shows), "to_go": axes(self.to_go),
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
    rows = {station: approach_row(path, moves, station, top) for station in used}
    asked = sorted((row, station) for station, row in rows.items() if row >= 0)
    return tuple(_held(proof, station, row, metal) for (row, station), metal in zip(asked, _stages(proof, asked), strict=True))


def approach_row(path: Path, moves: Moves, station: int, top: float) -> int:
    """The path row in which a tool first comes lower than APPROACH above `top` (mm, W); -1 if it never does."""
    own = np.array([state.tool == station for state in path.states])[path.state]
    candidates = np.flatnonzero(own[moves.ident])
    low = extent_of(moves[candidates])[0][:, 2]
    deep = np.flatnonzero(low < top + APPROACH)
    return int(moves.ident[candidates[deep[0]]]) if deep.size else -1


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


def _held(proof: Proof, station: int, row: int, metal: Field) -> HoldPoint:
    path, moves = proof.reading.interpreted.path, proof.moves
    first = _block_begin(path, row)
    tip = moves.start[int(np.searchsorted(moves.ident, first))]
    height, surface, beside, maker = _below(proof, metal, tip, proof.kit.tools[station].radius)
    file, line = path.files[int(path.file[row])], int(path.line[row])
    lines = proof.reading.lines[file]
    text = lines[line - 1] if 0 < line <= len(lines) else ""
    number = _BLOCK.match(text.strip())
    made_by = _station(proof, maker) if maker >= 0 else None
    return HoldPoint(
        station=station, file=file, line=line, text=text, row=row, offset=path.frames[int(path.frame[row])].offset,
        shows=_three(path.start[first]), to_go=_three(path.end[row] - path.start[first]), tip=_three(tip), height=height,
        surface=surface, beside=beside, made_by=made_by, block=number[1] if number else "", stop=_stop(path, station, first),
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
