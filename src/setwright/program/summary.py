"""What a path uses: tools with registers, feeds and speeds; the space its cutting moves take up, by work offset."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.program.path import MoveKind, Path

__all__ = ["Extent", "ToolUse", "extents", "tools_used"]

_QUARTER = math.pi / 2.0


@dataclass(frozen=True, slots=True)
class Extent:
    """A box in the work coordinates of one offset, mm, and how many cutting rows it holds."""

    least: tuple[float, float, float]
    greatest: tuple[float, float, float]
    rows: int


@dataclass(frozen=True, slots=True)
class ToolUse:
    """A tool as the program uses it: registers, feeds (mm/min) and speeds (rev/min) of its cutting moves, rows, first line.

    Registers are those in force while it cuts (while it moves at all, if it never cuts), in the order of their use.
    """

    number: int
    length_registers: tuple[int, ...]
    radius_registers: tuple[int, ...]
    feed_range: tuple[float, float] | None
    speed_range: tuple[float, float] | None
    rows: int
    cutting_rows: int
    file: int
    line: int


def extents(path: Path) -> dict[str, Extent]:
    """The box of the tool point over every cutting move, by work offset; arcs by their exact bounds. Empty for no cutting move."""
    names = list(dict.fromkeys(frame.offset for frame in path.frames))
    group = np.array([names.index(frame.offset) for frame in path.frames], np.int32)
    low, high = np.full((len(names), 3), np.inf), np.full((len(names), 3), -np.inf)
    count = np.zeros(len(names), np.int64)
    _boxes(path.kind, path.start, path.end, path.arc, path.frame, path.arc_centre, path.arc_axis, path.arc_sweep, group, low, high,
           count)
    return {name: Extent(_triple(low[i]), _triple(high[i]), int(count[i])) for i, name in enumerate(names) if count[i]}


def _triple(values: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return x, y, z


@kernel
def _boxes(
    kind: NDArray[np.uint8], start: NDArray[np.float64], end: NDArray[np.float64], arc: NDArray[np.int32],
    frame: NDArray[np.int32], centre: NDArray[np.float64], axis: NDArray[np.uint8], sweep: NDArray[np.float64],
    group: NDArray[np.int32], low: NDArray[np.float64], high: NDArray[np.float64], count: NDArray[np.int64],
) -> None:  # fmt: skip
    """Least and greatest coordinates (groups, 3), mm, over the cutting rows of each group of frames; columns as in Path."""
    for row in range(kind.size):
        if kind[row] == 0:
            continue
        g = group[frame[row]]
        count[g] += 1
        for i in range(3):
            low[g, i] = min(low[g, i], start[row, i], end[row, i])
            high[g, i] = max(high[g, i], start[row, i], end[row, i])
        number = arc[row]
        if number < 0:
            continue
        first = (axis[number] + 1) % 3
        second = (axis[number] + 2) % 3
        du, dv = start[row, first] - centre[number, first], start[row, second] - centre[number, second]
        radius, angle = math.hypot(du, dv), math.atan2(dv, du)
        begin, finish = min(angle, angle + sweep[number]), max(angle, angle + sweep[number])
        for quarter in range(4):
            place = quarter * _QUARTER
            if math.floor((finish - place) / (4.0 * _QUARTER)) < math.ceil((begin - place) / (4.0 * _QUARTER)):
                continue
            i = first if quarter % 2 == 0 else second
            if quarter < 2:
                high[g, i] = max(high[g, i], centre[number, i] + radius)
            else:
                low[g, i] = min(low[g, i], centre[number, i] - radius)


def tools_used(path: Path) -> tuple[ToolUse, ...]:
    """One entry per tool number, in the order of first use; rows made before any tool change count as tool 0."""
    numbers = np.array([state.tool for state in path.states], np.int64)
    used_states = np.bincount(path.state, minlength=len(path.states)) > 0
    changes = [int(event.value) for event in path.events if event.kind == "tool change"]
    found = []
    for tool in dict.fromkeys([*numbers[used_states].tolist(), *changes]):
        states = np.flatnonzero((numbers == tool) & used_states)
        rows = np.flatnonzero(np.isin(numbers, tool)[path.state]) if states.size else np.empty(0, np.intp)
        cutting = rows[path.kind[rows] != MoveKind.RAPID]
        if tool == 0 and cutting.size == 0 and 0 not in changes:
            continue
        found.append(_tool_use(path, tool, states, rows, cutting))
    return tuple(found)


def _tool_use(path: Path, tool: int, numbers: NDArray[np.intp], rows: NDArray[np.intp], cutting: NDArray[np.intp]) -> ToolUse:
    states = [path.states[i] for i in numbers.tolist()]
    cutting_states = [path.states[i] for i in np.flatnonzero(np.bincount(path.state[cutting])).tolist()]
    feeds = path.feed[cutting]
    feeds = feeds[np.isfinite(feeds)]
    speeds = [abs(state.spindle_rpm) for state in cutting_states]
    place = next(((event.file, event.line) for event in path.events if event.kind == "tool change" and int(event.value) == tool),
                 None)
    if place is None:
        place = (int(path.file[rows[0]]), int(path.line[rows[0]])) if rows.size else (0, 0)
    return ToolUse(
        tool,
        tuple(sorted({state.length_register for state in states} - {0})),
        tuple(sorted({state.radius_register for state in states} - {0})),
        (float(feeds.min()), float(feeds.max())) if feeds.size else None,
        (min(speeds), max(speeds)) if speeds else None,
        int(rows.size),
        int(cutting.size),
        *place,
    )
