"""Rapids as dog-legs: every axis runs at its own speed until it arrives, so the tool bends off the straight line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.program.path import MoveKind, Path

__all__ = ["dog_leg", "with_dog_legs"]


def dog_leg(start: NDArray[np.float64], end: NDArray[np.float64], rates: NDArray[np.float64]) -> NDArray[np.float64]:
    """The corners of a rapid from `start` to `end`, float64 (corners + 1, 3), the end last; one point for a straight one.

    `start`, `end` float64 (3,), mm along the machine's axes; `rates` float64 (3,), rapid speeds, any common unit, > 0. Exact for
    axes that start together and keep their speed (acceleration bends the corners by less than the axes need to reach speed).

    >>> dog_leg(np.zeros(3), np.array([30.0, 10.0, 0.0]), np.ones(3)).tolist()
    [[10.0, 10.0, 0.0], [30.0, 10.0, 0.0]]
    """
    way = end - start
    moving = np.abs(way) > COORDINATE_ROUND_OFF_MM
    times = np.where(moving, np.abs(way) / rates, 1.0)
    moments = np.unique(times[moving])
    if moments.size == 0:
        return np.array([end])
    points = np.array(np.where(moving, start + way * np.minimum(1.0, moments[:, None] / times), end))
    points[-1] = end
    keep = np.append(np.abs(np.diff(points, axis=0)).max(axis=1) > COORDINATE_ROUND_OFF_MM, [True])
    return np.array(points[keep])


def with_dog_legs(path: Path, rates: tuple[float, float, float]) -> Path:
    """The same path with every rapid given as its straight parts; `rates` are the rapid speeds of X, Y and Z.

    The axes are the machine's: where a work offset turns the work, the legs follow the machine. Events keep their places.
    """
    speeds = np.array(rates, np.float64)
    turns = np.array([frame.rotation for frame in path.frames])
    parts: list[NDArray[np.float64]] = []
    counts = np.ones(len(path), np.int64)
    rapid = path.kind == MoveKind.RAPID
    bent = np.flatnonzero(rapid & (np.count_nonzero(np.abs(path.end - path.start) > COORDINATE_ROUND_OFF_MM, axis=1) > 0))
    for row in bent.tolist():
        spin = _spin(float(turns[path.frame[row]]))
        points = dog_leg(spin @ path.start[row], spin @ path.end[row], speeds) @ spin
        points[-1] = path.end[row]
        parts.append(points)
        counts[row] = len(points)
    source = np.repeat(np.arange(len(path)), counts)
    end = path.end[source]
    start = path.start[source]
    first = np.concatenate([[0], np.cumsum(counts)])
    for row, points in zip(bent.tolist(), parts, strict=True):
        place = int(first[row])
        end[place : place + len(points)] = points
        start[place + 1 : place + len(points)] = points[:-1]
    columns = {name: getattr(path, name)[source] for name in ("kind", "arc", "feed", "line", "file", "state", "frame")}
    events = tuple(replace(event, before=int(first[event.before])) for event in path.events)
    return replace(path, start=start, end=end, events=events, **columns)


def _spin(angle: float) -> NDArray[np.float64]:
    """The turn from work to machine axes, float64 (3, 3)."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
