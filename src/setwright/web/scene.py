"""A setup as the bench draws it: bodies in W, tools as stacks of revolved pieces."""

from __future__ import annotations

from typing import Any

from setwright.geometry.bodies import Body, BoxShape, CylinderShape
from setwright.geometry.pieces import Meridian
from setwright.geometry.profile import Assembly
from setwright.kit.report import plain
from setwright.kit.station import Kit

__all__ = ["body_plain", "kit_scene", "tool_plain"]


def kit_scene(kit: Kit) -> dict[str, Any]:
    """The kit's own report, and the shapes of everything in it: lengths mm, bodies in W, tools from the tip upward."""
    return plain(kit) | {
        "scene": {
            "blank": None if kit.blank is None else body_plain(kit.blank),
            "bodies": [body_plain(body) for body in kit.placement.bodies],
            "tools": {str(station): tool_plain(assembly) for station, assembly in sorted(kit.tools.items())},
            "machine_from_work": {
                "rotation": kit.placement.machine_from_work.rotation.tolist(),
                "shift": kit.placement.machine_from_work.shift.tolist(),
            },
            "copies": [list(copy) for copy in kit.copies],
        }
    }  # fmt: skip


def body_plain(body: Body) -> dict[str, Any]:
    """A body and its shape."""
    named = {"name": body.name, "role": body.role.value}
    shape = body.shape
    if isinstance(shape, BoxShape):
        return named | {"box": {"low": list(shape.low), "high": list(shape.high)}}
    if isinstance(shape, CylinderShape):
        ends = {"bottom": shape.bottom, "top": shape.top}
        return named | {"cylinder": {"centre": list(shape.centre), "radius": shape.radius, **ends}}
    return named | {"mesh": {"triangles": shape.triangles.reshape(-1).tolist()}}


def tool_plain(assembly: Assembly) -> dict[str, Any]:
    """A tool from the tip upward."""
    pieces = [
        {"part": piece.role.name.casefold(), "meridian": "line" if piece.meridian is Meridian.LINE else "arc", "z0": piece.z0,
         "z1": piece.z1, "r0": piece.r0, "r1": piece.r1, "e": piece.e, "f": piece.f, "rho": piece.rho}
        for piece in assembly.pieces
    ]  # fmt: skip
    return {"name": assembly.tool.name, "length": assembly.length, "pieces": pieces}
