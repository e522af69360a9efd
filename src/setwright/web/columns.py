"""Numbers for the bench and the strip as columns: one binary document for each.

A JSON head (its length as 4 bytes, little-endian, before it, padded with blanks so that what follows begins at a multiple of 8)
names every column with its type, shape and place in bytes from the end of the head; then the columns, little-endian, rows first,
each beginning at a multiple of 8. What is not known is NaN.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from setwright.prove.bench import Course, Track
    from setwright.read.station import Reading
    from setwright.removal.surface import Surface

__all__ = ["COLUMNS_TYPE", "columns", "course_columns", "path_columns", "surface_columns", "track_columns"]

COLUMNS_TYPE: Final = "application/octet-stream"
_ALIGNED: Final = 8


def path_columns(reading: Reading) -> bytes:
    """The path of a program in W, one row a motion, and what its numbers refer to."""
    path = reading.interpreted.path
    tools = np.array([state.tool for state in path.states], np.int32)[path.state]
    speeds = np.array([state.spindle_rpm for state in path.states], np.float64)[path.state]
    head = {
        "files": list(path.files), "frames": [frame.offset for frame in path.frames],
        "events": [{"kind": e.kind, "before": e.before, "file": e.file, "line": e.line, "value": e.value} for e in path.events],
    }  # fmt: skip
    arrays: dict[str, NDArray[Any]] = {
        "kind": path.kind, "start": path.start, "end": path.end, "arc": path.arc, "feed_mm_per_min": path.feed, "line": path.line,
        "file": path.file, "frame": path.frame, "tool": tools, "spindle_rpm": speeds, "arc_centre": path.arc_centre,
        "arc_axis": path.arc_axis, "arc_sweep": path.arc_sweep,
    }  # fmt: skip
    return columns(head, arrays)


def surface_columns(surface: Surface, setup: str, *, row: int, bound_mm: float, whole: int) -> bytes:
    """The surface in W once motion `row` has run: corners (mm), triangles counter-clockwise from outside, and the motion that cut
    each (-1 for none). `bound_mm`: how far it may lie from the surface of all `whole` triangles, which it stands for."""
    head = {"setup": setup, "motion": row, "bound_mm": bound_mm, "whole_triangles": whole}
    arrays: dict[str, NDArray[Any]] = {"corners": surface.corners.astype(np.float32), "triangles": surface.triangles,
                                       "motion": surface.motion}  # fmt: skip
    return columns(head, arrays)


def course_columns(course: Course, setup: str) -> bytes:
    """What the strip shows, one row a motion: time, tool, feed, speed, metal removed, least clearance, likely power,
    place in the program."""
    from setwright.prove.bench import COURSE_WITHIN_MM

    head = {"setup": setup, "files": list(course.files), "total_s": course.total_s, "clearance_within_mm": COURSE_WITHIN_MM}
    arrays: dict[str, NDArray[Any]] = {
        "kind": course.kind, "tool": course.tool, "file": course.file, "line": course.line, "begin_s": course.begin,
        "end_s": course.end, "feed_mm_min": course.feed.astype(np.float32), "speed_rpm": course.speed.astype(np.float32),
        "removed_mm3": course.removed.astype(np.float32), "rate_mm3_min": course.rate.astype(np.float32),
        "clearance_mm": course.clearance.astype(np.float32), "power_kw": course.power.astype(np.float32),
    }  # fmt: skip
    return columns(head, arrays)


def track_columns(track: Track, setup: str) -> bytes:
    """The way of the tip in W as one polyline: points (mm), the motion that reaches each, how much of that motion's length lies
    behind it, and whether the tip moves there from the point before or is put there."""
    from setwright.prove.bench import TRACK_SAGITTA_MM

    arrays: dict[str, NDArray[Any]] = {
        "point": track.point.astype(np.float32), "motion": track.row, "share": track.share.astype(np.float32),
        "joined": track.joined.astype(np.uint8),
    }  # fmt: skip
    return columns({"setup": setup, "sagitta_mm": TRACK_SAGITTA_MM}, arrays)


def columns(head: Mapping[str, Any], arrays: Mapping[str, NDArray[Any]]) -> bytes:
    """The binary document of the columns; bytes little-endian, rows first."""
    places: list[dict[str, Any]] = []
    parts: list[bytes] = []
    at = 0
    for name, array in arrays.items():
        data = np.ascontiguousarray(array).astype(array.dtype.newbyteorder("<"), copy=False).tobytes()
        kind = np.dtype(array.dtype).name
        places.append({"name": name, "type": kind, "shape": list(array.shape), "at": at})
        padding = -len(data) % _ALIGNED
        parts += [data, b"\0" * padding]
        at += len(data) + padding
    text = json.dumps({**head, "columns": places}, ensure_ascii=False, allow_nan=False).encode()
    text += b" " * (-(len(text) + 4) % _ALIGNED)
    return b"".join((len(text).to_bytes(4, "little"), text, *parts))
