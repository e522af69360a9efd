"""The path: what the control would make of a program, one row per elementary motion, as arrays.

Positions are of the controlled point (the tool tip once its length is applied) in WORK coordinates: the frame of the row's
work offset, with rotation, scaling, cutter compensation and any local or preset shift already worked in. What the axes do
follows from the row's `frame`: machine = work + shift, shift being offset + external offset + applied tool length.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import MoveKind

__all__ = ["Event", "Frame", "MoveKind", "Path", "State", "in_order"]


def in_order(values: NDArray[np.integer[Any]]) -> list[int]:
    """The different values of an array whose neighbours are mostly alike, in the order of their first places.

    >>> in_order(np.array([3, 3, 1, 3, 2, 2]))
    [3, 1, 2]
    """
    changed = np.ones(values.size, np.bool_)
    changed[1:] = values[1:] != values[:-1]
    return list(dict.fromkeys(values[changed].tolist()))


@dataclass(frozen=True, slots=True)
class Frame:
    """How machine coordinates follow from work coordinates for the rows that name it.

    `offset` is the register's name ("G54", "G54.1 P3"; "machine" for rows that no offset acts on); `shift` mm: machine position
    of the gauge point = Rz(rotation) * work + shift. `length_applied`: tool length (mm, signed, wear included) inside the shift.
    """

    offset: str
    shift: tuple[float, float, float]
    length_applied: float = 0.0
    rotation: float = 0.0


@dataclass(frozen=True, slots=True)
class State:
    """Modal state shared by a run of rows. `spindle_rpm` is signed: + clockwise (M3), - counter-clockwise (M4), 0 stopped;
    `oriented`: it stands at its one angle (M19, or the stop in G76 and G87)."""

    tool: int = 0
    length_register: int = 0
    radius_register: int = 0
    spindle_rpm: float = 0.0
    coolant: str = ""
    compensation: str = ""
    cycle: str = ""
    exact_stop: bool = False
    feed_mode: str = "per minute"
    oriented: bool = False


@dataclass(frozen=True, slots=True)
class Event:
    """Something that is no motion, in its place: it happens before path row `before`.

    `kind`: "tool change", "preselect", "spindle", "coolant", "dwell" (value s), "stop", "optional stop", "end", "message",
    "alarm", "offset", "length", "register" (G10), "pallet", "changed at" (work Z of a tool change to which the program has not
    itself brought Z home), "bore shift" (the next row moves a stopped boring bar by Q; value 1 off the wall, -1 back). `value`
    as the kind needs it.
    """

    kind: str
    before: int
    file: int
    line: int
    value: float | str = 0.0


@dataclass(frozen=True, slots=True)
class Path:
    """Rows of elementary motion in execution order.

    kind    uint8   (n,)    MoveKind
    start   float64 (n, 3)  work coordinates, mm
    end     float64 (n, 3)
    arc     int32   (n,)    row of the arc arrays, -1 for lines
    feed    float64 (n,)    mm/min along the path; nan for rapids
    line    int32   (n,)    source line, from 1
    file    int16   (n,)    index into `files`
    state   int32   (n,)    index into `states`
    frame   int32   (n,)    index into `frames`
    arc_centre float64 (k, 3), arc_axis uint8 (k,), arc_sweep float64 (k,): as in geometry.moves.Moves
    """

    kind: NDArray[np.uint8]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    arc: NDArray[np.int32]
    feed: NDArray[np.float64]
    line: NDArray[np.int32]
    file: NDArray[np.int16]
    state: NDArray[np.int32]
    frame: NDArray[np.int32]
    arc_centre: NDArray[np.float64]
    arc_axis: NDArray[np.uint8]
    arc_sweep: NDArray[np.float64]
    files: tuple[str, ...] = ()
    states: tuple[State, ...] = (State(),)
    frames: tuple[Frame, ...] = (Frame("G54", (0.0, 0.0, 0.0)),)
    events: tuple[Event, ...] = field(default=())

    def __len__(self) -> int:
        return int(self.kind.size)
