"""Cycle time of a path on a machine, by tool and by row."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import MoveKind, Moves
from setwright.motion import Dynamics, Pause, RapidPath, time_along
from setwright.program.path import Path, in_order

if TYPE_CHECKING:
    from setwright.model.machine import Machine

__all__ = ["Timing", "time_of"]


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds in all (None when a feed motion has no feed), by station, and by path row: how long it takes without the pauses
    before it, and when it ends, from the start of the program (float64 (n,) each, 0 when the time is not known)."""

    total_s: float | None
    by_tool: Mapping[int, float]
    by_row: NDArray[np.float64]
    end_by_row: NDArray[np.float64]


def time_of(path: Path, moves: Moves, machine: Machine, *, dog_leg: bool) -> Timing:
    """Time along `moves`, the gauge point's motions (`ident` = path row).

    Tool changes, dwells and spindle starts wait as long as the machine's data say. Error bound: exact for the motion model.
    """
    feed = path.feed[moves.ident]
    cutting = moves.kind != MoveKind.RAPID
    if not (np.isfinite(feed[cutting]) & (feed[cutting] > 0.0)).all():
        return Timing(None, {}, np.zeros(len(path)), np.zeros(len(path)))
    stops = np.array([state.exact_stop for state in path.states])
    line = time_along(moves, feed, _dynamics(machine, dog_leg=dog_leg), pauses=_pauses(path, moves, machine),
                      exact_stop=stops[path.state][moves.ident] if stops.any() else None)  # fmt: skip
    station = np.array([state.tool for state in path.states])[path.state][moves.ident]
    whole = np.diff(np.concatenate([[0.0], line.end]))  # a motion with the pause before it
    by_tool = {tool: float(whole[station == tool].sum()) for tool in in_order(station)}
    by_row = np.zeros(len(path))
    np.add.at(by_row, moves.ident, line.end - line.begin)
    end_by_row = np.zeros(len(path))
    np.maximum.at(end_by_row, moves.ident, line.end)
    return Timing(line.total_s, by_tool, by_row, end_by_row)


def _dynamics(machine: Machine, *, dog_leg: bool) -> Dynamics:
    rapid, accel = machine.rapid, machine.acceleration
    return Dynamics(rapid_mm_min=(rapid.x, rapid.y, rapid.z), accel_mm_s2=(accel.x, accel.y, accel.z),
                    rapid=RapidPath.DOG_LEG if dog_leg else RapidPath.STRAIGHT)  # fmt: skip


def _pauses(path: Path, moves: Moves, machine: Machine) -> list[Pause]:
    found = []
    turning = 0.0
    for event in path.events:
        seconds = 0.0
        if event.kind == "tool change":
            seconds = machine.tool_change
        elif event.kind == "dwell":
            seconds = float(event.value)
        elif event.kind == "spindle":
            speed = float(event.value)
            seconds = machine.spindle_start if speed != turning and (speed == 0.0 or turning == 0.0) else 0.0
            turning = speed
        if seconds > 0.0 and math.isfinite(seconds):
            found.append(Pause(int(np.searchsorted(moves.ident, event.before)), seconds))
    return found
