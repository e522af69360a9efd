"""Where on the table the holding may stand: how far it can be moved, with everything on it, before an end of travel or the edge of
the table is in the way.

The programs are run with the registers that fit the place stated and with those that fit a place a little farther along every axis.
A point of the path that went along moves with the holding, one that did not (a tool change, home) stays. So each end of travel
leaves room that is linear in the shift, and the least of it is the border: exact to round-off, arcs included.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.frames import shifted
from setwright.geometry.moves import extent_of
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit
from setwright.program.motions import moves_in_machine
from setwright.program.path import Path
from setwright.prove.reading import held_for, interpret_setup

__all__ = ["Border", "Standing", "standing_of"]

_STEP_MM: Final = 1.0
_NAMES: Final = "XYZ"


@dataclass(frozen=True, slots=True)
class Border:
    """An end of the room along an axis: `shift` mm from the place stated (negative: too little already), and what is in the way:
    the end of travel at machine position `limit` with the line and the tool that get there first, or the table's edge (line 0)."""

    shift: float
    limit: float
    file: str = ""
    line: int = 0
    tool: int = 0

    def as_plain(self) -> dict[str, Any]:
        """For the document."""
        why = "travel" if self.line else "table"
        return {"shift_mm": self.shift, "limit_mm": self.limit, "why": why, "file": self.file, "line": self.line, "tool": self.tool}


@dataclass(frozen=True, slots=True)
class Standing:
    """How far the holding may be moved from where it is stated, along X, Y, Z: the lesser and the greater border; mm in M.

    `offset`: name and place (mm) of the setup's work offset for the place stated. `guessed`: the travel or the place is a guess.
    """

    borders: tuple[tuple[Border, Border], ...]
    offset: tuple[str, tuple[float, float, float]]
    guessed: bool

    @property
    def room(self) -> bool:
        """Whether there is a place at all: along every axis the borders leave something between them."""
        return all(low.shift <= high.shift for low, high in self.borders)

    @property
    def best(self) -> tuple[float, float]:
        """The shift along X and Y after which it stands as far from both borders as can be; mm."""
        (x0, x1), (y0, y1), _ = self.borders
        return (x0.shift + x1.shift) / 2.0, (y0.shift + y1.shift) / 2.0

    def as_plain(self) -> dict[str, Any]:
        """For the document."""
        axes = {name.lower(): {"low": low.as_plain(), "high": high.as_plain()}
                for name, (low, high) in zip(_NAMES, self.borders, strict=True)}  # fmt: skip
        name, place = self.offset
        return {**axes, "room": self.room, "best_shift_mm": list(self.best), "offset": name, "offset_mm": list(place),
                "guessed": self.guessed}  # fmt: skip


def standing_of(kit: Kit) -> Standing:
    """Where the holding may stand, with the tools as they hang and the programs as they are.

    Raises InputRefused where offsets are stated (then nothing moves along) or the program takes another way from another place.
    """
    here, there = _path(kit, 0.0), _path(kit, _STEP_MM)
    if len(here) != len(there) or not (here.line == there.line).all():
        raise InputRefused.because("the program takes another way from another place", why="it reads positions of the machine",
                                   remedy="prove it at each place that you think of")  # fmt: skip
    (low, high), (low_there, high_there) = _reached(here), _reached(there)
    borders = []
    for axis, travel in enumerate((kit.machine.travel.x, kit.machine.travel.y, kit.machine.travel.z)):
        along = (low_there[:, axis] - low[:, axis] > _STEP_MM / 2.0, high_there[:, axis] - high[:, axis] > _STEP_MM / 2.0)
        if not (along[0].any() and along[1].any()):
            raise InputRefused.because(f"nothing moves along {_NAMES[axis]} with the holding", why="the offsets are stated",
                                       remedy="leave them out of registers.toml to ask where the holding may stand")  # fmt: skip
        lesser = _nearest(here, low[:, axis] - travel[0], along[0], travel[0], -1.0)
        greater = _nearest(here, travel[1] - high[:, axis], along[1], travel[1], 1.0)
        edges = _edges(kit, axis)
        borders.append((max(lesser, edges[0], key=_shift), min(greater, edges[1], key=_shift)))
    x, y, z = kit.placement.machine_from_work.points(np.zeros(3)).tolist()
    job, name = kit.folder.job, kit.setup.name
    guessed = not kit.placement.placed or any(job.guessed(name, key) for key in _travel_keys(kit))
    return Standing(tuple(borders), (kit.setup.offset, (x, y, z)), guessed)


def _shift(border: Border) -> float:
    return border.shift


def _path(kit: Kit, by: float) -> Path:
    """The path with everything moved by so much along every axis."""
    truth = nominal_truth(kit)
    moved = replace(truth, machine_from_work=shifted(by, by, by) @ truth.machine_from_work)
    return interpret_setup(kit, held_for(kit, moved)).path


def _reached(path: Path) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest positions in M, float64 (3 n, 3): of the motions, and of their starts and ends by themselves, of which one
    may go along and the other not."""
    moves = moves_in_machine(path)
    low, high = extent_of(moves)
    return np.concatenate([low, moves.start, moves.end]), np.concatenate([high, moves.start, moves.end])


def _nearest(path: Path, room: NDArray[np.float64], along: NDArray[np.bool_], limit: float, way: float) -> Border:
    """The border that the motions which go along leave; the first of them in the program where several are as near."""
    least = float(room[along].min())
    row = int((np.flatnonzero(along & (room <= least + SAME_PLACE_MM)) % len(path)).min())
    return Border(way * least, limit, path.files[int(path.file[row])], int(path.line[row]), path.states[int(path.state[row])].tool)


def _edges(kit: Kit, axis: int) -> tuple[Border, Border]:
    """The edges of the table for the blank: a vise may stand over them, what is cut should not. Of a height there is none."""
    if axis == 2:
        return Border(-np.inf, -np.inf), Border(np.inf, np.inf)
    low, high = (float(corner[axis]) for corner in kit.placement.machine_from_work.points(np.array(kit.extent)))
    least, greatest = kit.machine.table.x if axis == 0 else kit.machine.table.y
    return Border(least - low, least), Border(greatest - high, greatest)


def _travel_keys(kit: Kit) -> tuple[str, ...]:
    return (f"shop/machines/{kit.setup.machine}.toml: travel", "job.toml: setup.holding.place")
