"""What the programs do in one world: motions of the tip over the part that lies there, and where the control stops by itself."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from setwright.base.digest import digest_bytes
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.base.units import format_length, format_size
from setwright.geometry.moves import MoveKind, Moves, extent_of
from setwright.geometry.pieces import PieceTable
from setwright.program.interpret import Interpreted
from setwright.program.library import Texts
from setwright.program.motions import moves_in_machine
from setwright.program.path import Path
from setwright.prove.reading import interpret_setup
from setwright.prove.stage import cores_of, hung_tools, tip_motions
from setwright.read.station import profile_of
from setwright.slips.case import SlipCase
from setwright.slips.world import World

__all__ = ["Course", "Ends", "Stretch", "course_of"]

Ends = Literal["refused", "to the limit", "wider"]
"""What becomes of a block that leads beyond the travel: it is refused, run up to the limit, or the travel is wider than stated."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of motions with one tool in the spindle: rows of the tip's motions, station, and what they are (a digest)."""

    rows: slice
    station: int
    key: str


@dataclass(frozen=True, slots=True)
class Course:
    """What the control does. `moves`: of the tip in W, rapids as they may run; up to `stop_row` (a row of the path), before which
    the control stops by itself for the reason `stopped` (its end of travel, a tool or register it has not); "" if it runs through.
    `beyond`: whether it is its end of travel. `texts`: what was read of the programs.

    `order` gives a station's row in `pieces`, `cores` that of a tool's core; `stretches` cut the motions where the tool changes.
    """

    world: World = field(repr=False)
    texts: Texts = field(repr=False)
    interpreted: Interpreted = field(repr=False)
    moves: Moves = field(repr=False)
    order: dict[int, int]
    cores: dict[int, int]
    pieces: PieceTable = field(repr=False)
    stretches: tuple[Stretch, ...]
    stop_row: int
    stopped: str
    beyond: bool

    @property
    def path(self) -> Path:
        """The rows."""
        return self.interpreted.path

    @property
    def case(self) -> SlipCase:
        """This setup as the catalogue of slips sees it."""
        return SlipCase(self.world, self.interpreted)

    def length(self, mm: float, *, places: int = 3) -> str:
        """A length as the job writes it, with its unit; `places` of a millimetre, one more of an inch."""
        units = self.world.kit.folder.units
        return format_length(mm, units, places=places + (units != "mm"))

    def size(self, mm: float) -> str:
        """A stated length, in as few digits as it was stated with."""
        return format_size(mm, self.world.kit.folder.units)

    def station(self, row: int) -> int:
        """The tool in the spindle in a row."""
        return self.path.states[int(self.path.state[row])].tool

    def place(self, row: int) -> tuple[str, int]:
        """File and line of a row; "" and 0 for -1."""
        return (self.path.files[int(self.path.file[row])], int(self.path.line[row])) if row >= 0 else ("", 0)

    def speed(self, row: int) -> float:
        """How fast the tip goes in a row, mm/min: the feed, or for a rapid what its slowest axis allows on the straight line."""
        if self.path.kind[row] != MoveKind.RAPID:
            return float(self.path.feed[row])
        way = np.abs(self.path.end[row] - self.path.start[row])
        rapid, length = self.world.kit.machine.rapid, float(np.linalg.norm(way))
        if length <= SAME_PLACE_MM:
            return float(rapid.z)
        share = way / length
        return float(min(limit / part for limit, part in zip((rapid.x, rapid.y, rapid.z), share, strict=True) if part > 0.0))


def course_of(world: World, *, like: Course | None = None, ends: Ends = "refused") -> Course:
    """Run the programs of a world; `ends`: at its end of travel. What a control makes of them is taken from `like` if that held and
    ran the same. Raises InputRefused for what is no program."""
    kit, held = world.kit, world.held
    same = like is not None and kit.machine is like.world.kit.machine and held == like.world.held
    profile = profile_of(kit.machine.control)
    texts = Texts(profile) if like is None else like.texts
    interpreted = like.interpreted if like is not None and same else interpret_setup(kit, held, texts=texts)
    path = interpreted.path
    stop_row, stopped, limit = _stop(world, interpreted, ends)
    order, pieces = hung_tools(kit)
    known = {state.tool: 0 for state in path.states} | order
    moves = tip_motions(kit, world.truth, path, known, profile)
    moves = moves[moves.ident < stop_row] if ends != "to the limit" or limit is None else _up_to(moves, stop_row, limit)
    stretches = _stretches(path, moves, pieces)
    return Course(world, texts, interpreted, moves, known, cores_of(kit, order), pieces, stretches, stop_row, stopped,
                  limit is not None)  # fmt: skip


def _up_to(moves: Moves, row: int, share: float) -> Moves:
    """Motions before a row, and of the row itself what it does before an axis meets its limit: `share` of it where it is one
    straight line, else the whole of it, which goes no less far."""
    kept = moves[moves.ident <= row]
    last = np.flatnonzero(kept.ident == row)
    if last.size != 1 or kept.kind[last[0]] == MoveKind.ARC:
        return kept
    end = kept.end.copy()
    end[last] = kept.start[last] + share * (kept.end[last] - kept.start[last])
    return replace(kept, end=end)


def _stop(world: World, interpreted: Interpreted, ends: Ends) -> tuple[int, str, float | None]:
    """The first row that is not run, and why; the number of rows and "" if all are. At an end of travel also how much of the row
    lies within it."""
    path, kit = interpreted.path, world.kit
    found: list[tuple[int, str, float | None]] = [(len(path), "", None)]
    if interpreted.problems:
        found.append((len(path), interpreted.problems[-1].what, None))
    stations = np.array([state.tool for state in path.states])[path.state]
    strange = np.flatnonzero(~np.isin(stations, [0, *kit.tools]))
    if strange.size:
        found.append((int(strange[0]), f"tool {stations[strange[0]]} is called, and no such tool is there", None))
    missing = [name for name in interpreted.missing if name.startswith("G5")]
    used = np.array([frame.offset in missing for frame in path.frames], np.bool_)[path.frame]
    if used.any():
        row = int(np.argmax(used))
        found.append((row, f"{path.frames[int(path.frame[row])].offset} is used, and nothing was entered in it", None))
    found += _overtravel(world, path) if ends != "wider" else []
    return min(found, key=lambda stop: (stop[0], stop[1] == ""))


def _overtravel(world: World, path: Path) -> list[tuple[int, str, float | None]]:
    """The first row that sends each axis beyond its travel; nothing where the machine's place is not known."""
    if not world.kit.placement.placed:
        return []
    moves = moves_in_machine(path)
    low, high = extent_of(moves)
    found: list[tuple[int, str, float | None]] = []
    for axis, name in enumerate("XYZ"):
        least, greatest = getattr(world.kit.machine.travel, name.lower())
        over = np.flatnonzero((least - low[:, axis] > SAME_PLACE_MM) | (high[:, axis] - greatest > SAME_PLACE_MM))
        if over.size:
            row = int(over[0])
            beyond = max(least - low[row, axis], high[row, axis] - greatest)
            units = world.kit.folder.units
            start, end = float(moves.start[row, axis]), float(moves.end[row, axis])
            at = least if least - low[row, axis] > SAME_PLACE_MM else greatest
            share = min(max((at - start) / (end - start), 0.0), 1.0) if end != start else 0.0
            found.append((int(moves.ident[row]), f"{name} is sent {format_length(beyond, units)} beyond its travel", share))
    first = min((stop[0] for stop in found), default=-1)
    shares = [stop[2] for stop in found if stop[0] == first and stop[2] is not None]
    return [(row, text, min(shares) if row == first else share) for row, text, share in found]


def _stretches(path: Path, moves: Moves, pieces: PieceTable) -> tuple[Stretch, ...]:
    if not len(moves):
        return ()
    stations = np.array([state.tool for state in path.states])[path.state[moves.ident]]
    starts = np.concatenate([[0], np.flatnonzero(np.diff(stations)) + 1, [len(moves)]]).tolist()
    return tuple(Stretch(slice(a, b), int(stations[a]), _key(moves[a:b], pieces)) for a, b in pairwise(starts))


def _key(moves: Moves, pieces: PieceTable) -> str:
    """A digest of motions and of the tool that makes them."""
    tool = int(moves.tool[0])
    hung = slice(int(pieces.first[tool]), int(pieces.first[tool + 1]))
    arrays: list[NDArray[np.generic]] = [moves.kind, moves.start, moves.end, moves.centre, moves.axis, moves.sweep, moves.cuts,
                                         moves.ident, pieces.role[hung], pieces.meridian[hung], pieces.shape[hung]]  # fmt: skip
    return digest_bytes(*(np.ascontiguousarray(array).tobytes() for array in arrays))
