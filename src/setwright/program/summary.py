"""What a path uses: tools with registers, feeds and speeds; the space its cutting moves take up, by work offset."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.program.arc import PLANES
from setwright.program.path import MoveKind, Path

__all__ = ["Extent", "ToolUse", "extents", "tools_used"]


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
    cutting = path.kind != MoveKind.RAPID
    low, high = _bounds(path)
    names = np.array([frame.offset for frame in path.frames])
    found: dict[str, Extent] = {}
    for name in dict.fromkeys(names.tolist()):
        rows = cutting & np.isin(path.frame, np.flatnonzero(names == name))
        if rows.any():
            least, greatest = low[rows].min(axis=0).tolist(), high[rows].max(axis=0).tolist()
            found[name] = Extent(tuple(least), tuple(greatest), int(rows.sum()))
    return found


def _bounds(path: Path) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest coordinates of each row, float64 (n, 3), mm."""
    low, high = np.minimum(path.start, path.end), np.maximum(path.start, path.end)
    rows = np.flatnonzero(path.arc >= 0)
    arcs = path.arc[rows]
    for first, second, normal in PLANES:
        chosen = rows[path.arc_axis[arcs] == normal]
        if chosen.size == 0:
            continue
        number = path.arc[chosen]
        centre, sweep = path.arc_centre[number], path.arc_sweep[number]
        du, dv = path.start[chosen, first] - centre[:, first], path.start[chosen, second] - centre[:, second]
        radius, angle = np.hypot(du, dv), np.arctan2(dv, du)
        begin, finish = np.minimum(angle, angle + sweep), np.maximum(angle, angle + sweep)
        for quarter, axis, sign in ((0, first, 1.0), (1, second, 1.0), (2, first, -1.0), (3, second, -1.0)):
            place = quarter * np.pi / 2.0
            passed = np.floor((finish - place) / (2.0 * np.pi)) >= np.ceil((begin - place) / (2.0 * np.pi))
            far = centre[:, axis] + sign * radius
            side = high if sign > 0.0 else low
            better = np.maximum if sign > 0.0 else np.minimum
            side[chosen[passed], axis] = better(side[chosen[passed], axis], far[passed])
    return low, high


def tools_used(path: Path) -> tuple[ToolUse, ...]:
    """One entry per tool number, in the order of first use; rows made before any tool change count as tool 0."""
    numbers = np.array([state.tool for state in path.states])
    row_tool = numbers[path.state]
    found = []
    changes = dict.fromkeys(int(event.value) for event in path.events if event.kind == "tool change")
    used = [int(tool) for tool in dict.fromkeys(row_tool.tolist())]
    for tool in dict.fromkeys([*used, *changes]):
        rows = np.flatnonzero(row_tool == tool)
        cutting = rows[path.kind[rows] != MoveKind.RAPID]
        if tool == 0 and cutting.size == 0 and 0 not in changes:
            continue
        found.append(_tool_use(path, tool, rows, cutting))
    return tuple(found)


def _tool_use(path: Path, tool: int, rows: NDArray[np.intp], cutting: NDArray[np.intp]) -> ToolUse:
    states = [path.states[i] for i in np.unique(path.state[rows]).tolist()]
    cutting_states = [path.states[i] for i in np.unique(path.state[cutting]).tolist()]
    feeds = path.feed[cutting]
    feeds = feeds[np.isfinite(feeds)]
    speeds = [abs(state.spindle_rpm) for state in cutting_states]
    place = next(((event.file, event.line) for event in path.events if event.kind == "tool change" and int(event.value) == tool),
                 None)
    if place is None:
        place = (int(path.file[rows[0]]), int(path.line[rows[0]])) if rows.size else (0, 0)
    return ToolUse(
        tool,
        tuple(dict.fromkeys(state.length_register for state in cutting_states or states if state.length_register)),
        tuple(dict.fromkeys(state.radius_register for state in cutting_states or states if state.radius_register)),
        (float(feeds.min()), float(feeds.max())) if feeds.size else None,
        (min(speeds), max(speeds)) if speeds else None,
        int(rows.size),
        int(cutting.size),
        *place,
    )
