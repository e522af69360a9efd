"""Cycle time of a path on a machine, by tool and by row."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import MoveKind, Moves
from setwright.model.machine import Accelerations, Timed
from setwright.motion import Dynamics, Pause, RapidPath, Timeline, time_along
from setwright.program.path import Path, in_order

if TYPE_CHECKING:
    from setwright.model.machine import Machine

__all__ = ["Timing", "line_of", "pauses_of", "time_of", "varied"]

_K: Final = 2.0


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds in all (None when a feed motion has no feed), by station, and by path row: how long it takes without the pauses
    before it, and when it ends, from the start of the program (float64 (n,) each, 0 when the time is not known). `within_s`: the
    expanded uncertainty of the whole (k = 2), None where nobody has timed this machine."""

    total_s: float | None
    by_tool: Mapping[int, float]
    by_row: NDArray[np.float64]
    end_by_row: NDArray[np.float64]
    within_s: float | None = None


def time_of(path: Path, moves: Moves, machine: Machine, *, dog_leg: bool) -> Timing:
    """Time along `moves`, the gauge point's motions (`ident` = path row).

    Tool changes, dwells and spindle starts wait as long as the machine's data say. Error bound: exact for the motion model.
    """
    line = line_of(path, moves, machine, dog_leg=dog_leg)
    if line is None:
        return Timing(None, {}, np.zeros(len(path)), np.zeros(len(path)))
    station = np.array([state.tool for state in path.states])[path.state][moves.ident]
    whole = np.diff(np.concatenate([[0.0], line.end]))  # a motion with the pause before it
    by_tool = {tool: float(whole[station == tool].sum()) for tool in in_order(station)}
    by_row = np.zeros(len(path))
    np.add.at(by_row, moves.ident, line.end - line.begin)
    end_by_row = np.zeros(len(path))
    np.maximum.at(end_by_row, moves.ident, line.end)
    within = None if machine.timed is None else _within(path, moves, machine, machine.timed, line.total_s, dog_leg=dog_leg)
    return Timing(line.total_s, by_tool, by_row, end_by_row, within)


def line_of(path: Path, moves: Moves, machine: Machine, *, dog_leg: bool) -> Timeline | None:
    """When each of `moves` begins and ends on the machine, pauses included; None when a feed motion has no feed."""
    feed = path.feed[moves.ident]
    cutting = moves.kind != MoveKind.RAPID
    if not (np.isfinite(feed[cutting]) & (feed[cutting] > 0.0)).all():
        return None
    stops = np.array([state.exact_stop for state in path.states])
    pauses = [Pause(int(np.searchsorted(moves.ident, row)), seconds) for _, row, seconds in pauses_of(path, machine)]
    return time_along(moves, feed, _dynamics(machine, dog_leg=dog_leg), pauses=pauses,
                      exact_stop=stops[path.state][moves.ident] if stops.any() else None)  # fmt: skip


def varied(machine: Machine, by: NDArray[np.float64]) -> Machine:
    """The machine with TIME_FIGURES changed: the first four by the factor exp(`by`), the two pauses by 1 + `by`; float64 (6,)."""
    xy, z, corner, block = np.exp(by[:4]).tolist()
    now = machine.acceleration
    change, start = np.maximum(1.0 + by[4:], 0.0).tolist()
    return machine.model_copy(update={
        "acceleration": Accelerations.model_construct(x=now.x * xy, y=now.y * xy, z=now.z * z),
        "corner_rounding": machine.corner_rounding * corner, "block_time": machine.block_time * block,
        "tool_change": machine.tool_change * change, "spindle_start": machine.spindle_start * start,
    })  # fmt: skip


def _within(path: Path, moves: Moves, machine: Machine, timed: Timed, total: float, *, dog_leg: bool) -> float:
    """Expanded uncertainty of the time: half of what one standard deviation to either side makes, along each main axis of what is
    known of the figures together, so that a figure without a slope just here counts for what it does a little farther."""
    values, axes = np.linalg.eigh(np.array(timed.together))
    square = (timed.share * total) ** 2
    for value, axis in zip(np.maximum(values, 0.0), axes.T, strict=True):
        step = math.sqrt(value) * axis * timed.spread
        ends = [line_of(path, moves, varied(machine, way * step), dog_leg=dog_leg) for way in (-1.0, 1.0)]
        times = [end.total_s for end in ends if end is not None]
        square += ((times[1] - times[0]) / 2.0) ** 2
    return _K * math.sqrt(square)


def _dynamics(machine: Machine, *, dog_leg: bool) -> Dynamics:
    rapid, accel = machine.rapid, machine.acceleration
    return Dynamics(rapid_mm_min=(rapid.x, rapid.y, rapid.z), accel_mm_s2=(accel.x, accel.y, accel.z),
                    junction_tolerance_mm=machine.corner_rounding, block_time_s=machine.block_time,
                    rapid=RapidPath.DOG_LEG if dog_leg else RapidPath.STRAIGHT)  # fmt: skip


def pauses_of(path: Path, machine: Machine) -> list[tuple[str, int, float]]:
    """Where the axes wait: what for ("tool change", "spindle", "dwell"), the path row that follows, and how long, s."""
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
            found.append((event.kind, event.before, seconds))
    return found
