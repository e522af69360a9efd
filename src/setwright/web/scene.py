"""A setup as the bench draws it: bodies in W, tools as stacks of revolved pieces; and the path as columns of numbers.

Columns are one binary document: a JSON head (its length as 4 bytes, little-endian, before it, padded with blanks so that what
follows begins at a multiple of 8) that names every column with its type, shape and place in bytes from the end of the head; then
the columns, each beginning at a multiple of 8.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.bodies import Body, BoxShape, CylinderShape
from setwright.geometry.pieces import Meridian
from setwright.geometry.profile import Assembly
from setwright.kit.report import plain
from setwright.kit.station import Kit

if TYPE_CHECKING:
    from setwright.read.station import Reading
    from setwright.removal.surface import Surface

__all__ = ["COLUMNS_TYPE", "columns", "kit_scene", "path_columns", "surface_columns"]

COLUMNS_TYPE: Final = "application/octet-stream"
_ALIGNED: Final = 8


def kit_scene(kit: Kit) -> dict[str, Any]:
    """The kit's own report, and the shapes of everything in it: lengths mm, bodies in W, tools from the tip upward."""
    return plain(kit) | {
        "scene": {
            "blank": None if kit.blank is None else _body(kit.blank),
            "bodies": [_body(body) for body in kit.placement.bodies],
            "tools": {str(station): _tool(assembly) for station, assembly in sorted(kit.tools.items())},
            "machine_from_work": {
                "rotation": kit.placement.machine_from_work.rotation.tolist(),
                "shift": kit.placement.machine_from_work.shift.tolist(),
            },
            "copies": [list(copy) for copy in kit.copies],
        }
    }  # fmt: skip


def _body(body: Body) -> dict[str, Any]:
    named = {"name": body.name, "role": body.role.value}
    shape = body.shape
    if isinstance(shape, BoxShape):
        return named | {"box": {"low": list(shape.low), "high": list(shape.high)}}
    if isinstance(shape, CylinderShape):
        ends = {"bottom": shape.bottom, "top": shape.top}
        return named | {"cylinder": {"centre": list(shape.centre), "radius": shape.radius, **ends}}
    return named | {"mesh": {"triangles": shape.triangles.reshape(-1).tolist()}}


def _tool(assembly: Assembly) -> dict[str, Any]:
    pieces = [
        {"part": piece.role.name.casefold(), "meridian": "line" if piece.meridian is Meridian.LINE else "arc", "z0": piece.z0,
         "z1": piece.z1, "r0": piece.r0, "r1": piece.r1, "e": piece.e, "f": piece.f, "rho": piece.rho}
        for piece in assembly.pieces
    ]  # fmt: skip
    return {"name": assembly.tool.name, "length": assembly.length, "pieces": pieces}


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


def surface_columns(surface: Surface, setup: str) -> bytes:
    """The surface in W: corners (mm), triangles counter-clockwise from outside, and the motion that cut each (-1 for none)."""
    arrays = {"corners": surface.corners.astype(np.float32), "triangles": surface.triangles, "motion": surface.motion}
    return columns({"setup": setup}, arrays)


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
