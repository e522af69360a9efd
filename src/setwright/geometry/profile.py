"""Tool shapes of the trade as stacks of convex revolved pieces, from the tip (z = 0) upward; and the whole assembly with shank,
stepped holder and spindle nose."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from setwright.base.errors import InputRefused
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.base.units import format_apart, format_size
from setwright.geometry.pieces import Meridian, Piece, Role
from setwright.model.machine import Nose
from setwright.model.tool import BODY_SHARE, Tool

__all__ = ["Assembly", "assemble", "cutting_pieces", "standing_body", "standing_edge"]

_DRILL_POINT = math.radians(118.0)
_SPOT_POINT = math.radians(90.0)
_LARGEST_MM = 10000.0
_COUNTERSINK = math.radians(60.0)


@dataclass(frozen=True, slots=True)
class Assembly:
    """A tool as it hangs in the spindle.

    `length`: gauge line to tip, mm; `radius`: cutting radius, mm. `pieces`: from the tip upward, spindle nose last (if asked for).
    `has_holder`: false when the shop has given no holder, so that nothing can be said about it.
    """

    tool: Tool
    stickout: float
    length: float
    radius: float
    pieces: tuple[Piece, ...]
    has_holder: bool


def cutting_pieces(tool: Tool) -> list[Piece]:
    """The cutting part of a tool, tip at z = 0, all pieces convex, touching one another.

    >>> [round(p.z1, 3) for p in cutting_pieces(Tool(name="d", kind="drill", diameter=10, flute_length=50))]
    [3.004, 50.0]
    """
    radius, top = tool.diameter / 2, tool.flute_length
    if tool.kind == "free profile":
        return [_line(z0, z1, r0, r1) for (r0, z0), (r1, z1) in pairwise(tool.points) if z1 > z0]
    if tool.kind == "ball mill":
        return _with_side(_round_tip(radius, radius), radius, top)
    if tool.kind == "dovetail mill":
        flank = (tool.point_angle or _SPOT_POINT) / 2
        return [_line(0.0, top, radius, max(radius - top * math.tan(flank), 0.0))]
    if tool.kind in ("drill", "spot drill", "chamfer mill"):
        angle = tool.point_angle or (_DRILL_POINT if tool.kind == "drill" else _SPOT_POINT)
        return _with_side(_cone(tool.tip_diameter / 2, radius, 0.0, angle), radius, top)
    if tool.kind == "centre drill":
        pilot = tool.tip_diameter / 2 or radius / 3
        point = _cone(0.0, pilot, 0.0, tool.point_angle or _DRILL_POINT)
        pilot_end = point.z1 + 2 * pilot
        below = [point, _line(point.z1, pilot_end, pilot, pilot)]
        return _with_side(_cone(pilot, radius, pilot_end, _COUNTERSINK), radius, top, below=below)
    if tool.corner_radius > 0:
        return _with_side(_round_tip(radius, tool.corner_radius), radius, top)
    return [_line(0.0, top, radius, radius)]


def _line(z0: float, z1: float, r0: float, r1: float, role: Role = Role.CUTTING) -> Piece:
    return Piece(Meridian.LINE, z0, z1, r0, r1, role=role)


def _round_tip(radius: float, corner: float) -> Piece:
    """A quarter of a circle of radius `corner` between the flat bottom and the side."""
    return Piece(Meridian.ARC, 0.0, corner, radius - corner, radius, e=radius - corner, f=corner, rho=corner)


def _cone(r0: float, r1: float, z0: float, included_angle: float) -> Piece:
    return _line(z0, z0 + (r1 - r0) / math.tan(included_angle / 2), r0, r1)


def _with_side(tip: Piece, radius: float, top: float, *, below: list[Piece] | None = None) -> list[Piece]:
    """The tip and the cylindrical side above it, up to the top of the flutes."""
    side = [_line(tip.z1, top, radius, radius)] if top > tip.z1 else []
    return [*(below or []), tip, *side]


def assemble(
    tool: Tool, *, stickout: float, length: float | None = None, radius: float | None = None, nose: Nose | None = None,
    units: str = "mm",
) -> Assembly:  # fmt: skip
    """The tool with shank, holder and (if given) spindle nose.

    `length` (gauge line to tip, mm) is the measured one; without it the nominal stick-out plus holder. `radius` is the measured
    cutting radius; the shape's own diameter otherwise. `units`: of what is refused in words.
    Raises InputRefused when neither holder nor length says where the
    gauge line is, or when the stick-out cannot be.
    """
    if tool.length is not None and stickout > tool.length + SAME_PLACE_MM:
        told = format_apart((stickout, tool.length), units)
        raise InputRefused.because(f'tool "{tool.name}" sticks out {told[0]} but is only {told[1]} long',
                                   remedy="correct stickout in job.toml or length in the tool's file")  # fmt: skip
    holder_length = sum(step.length for step in tool.holder)
    if length is None and not tool.holder:
        said = f'nothing says how long tool "{tool.name}" is from gauge line to tip'
        raise InputRefused.because(said, remedy="write its holder in the tool's file, or preset = { length = ... } in job.toml")
    total = length if length is not None else stickout + holder_length
    if total < stickout:
        told = format_apart((total, stickout), units)
        said = f'tool "{tool.name}": its length {told[0]} is less than its stick-out {told[1]}'
        raise InputRefused.because(said, remedy="length runs from gauge line to tip, stickout from holder to tip")
    shape = tool if radius is None else tool.model_copy(update={"diameter": 2 * radius})
    if max(shape.diameter, total) > _LARGEST_MM:
        across, long = (format_size(size, units) for size in (shape.diameter, total))
        raise InputRefused.because(f'tool "{tool.name}" is {across} across and {long} long',
                                   why=f"nothing larger than {format_size(_LARGEST_MM, units)} is computed with",
                                   remedy="check unit and decimal point of its sizes")  # fmt: skip
    cutting = cutting_pieces(shape)
    top = max(piece.z1 for piece in cutting)
    body = _body(tool, top, stickout)
    holder = _holder(tool, stickout, total)
    end = [_line(total, total + nose.length, nose.diameter / 2, nose.diameter / 2, Role.NOSE)] if nose else []
    return Assembly(tool, stickout, total, shape.diameter / 2, (*cutting, *body, *holder, *end), bool(tool.holder))


def standing_body(assembly: Assembly) -> list[Piece]:
    """A single-edged tool that does not turn, without its edge: the bar about the axis, then shank, holder and nose."""
    tool = assembly.tool
    bar = (tool.body_diameter or BODY_SHARE * 2 * assembly.radius) / 2
    slim = [Role.CUTTING] if tool.shank is not None else [Role.CUTTING, Role.SHANK]
    return [_line(p.z0, p.z1, min(p.r0, bar), min(p.r1, bar), p.role) if p.role in slim else p for p in assembly.pieces]


def standing_edge(assembly: Assembly) -> tuple[list[Piece], float]:
    """The edge of a single-edged tool that does not turn, about an axis of its own, and how far (mm) that lies from the spindle's
    the way the edge points. It fills the circle from the spindle's axis to the edge: the true edge lies in it, it in what the
    turning edge sweeps, and both end where the edge does."""
    away = assembly.radius / 2
    return [_beside(piece, away) for piece in assembly.pieces if piece.role is Role.CUTTING], away


def _beside(piece: Piece, away: float) -> Piece:
    """A piece about an axis `away` off its own that reaches as far on that side."""
    if piece.meridian is Meridian.ARC and piece.e >= away:
        return replace(piece, r0=piece.r0 - away, r1=piece.r1 - away, e=piece.e - away)
    if piece.meridian is Meridian.ARC:
        return _line(piece.z0, piece.z1, piece.widest - away, piece.widest - away)
    return replace(piece, r0=max(piece.r0 - away, 0.0), r1=max(piece.r1 - away, 0.0))


def _body(tool: Tool, top: float, stickout: float) -> list[Piece]:
    """Neck and shank between the flutes and the holder."""
    pieces: list[Piece] = []
    shank = tool.shank
    if shank is not None and shank.neck_diameter is not None and shank.neck_length > 0:
        neck_top = min(top + shank.neck_length, stickout)
        if neck_top > top:
            pieces.append(_line(top, neck_top, shank.neck_diameter / 2, shank.neck_diameter / 2, Role.NECK))
            top = neck_top
    if stickout > top:
        radius = (shank.diameter if shank is not None else tool.body_diameter or tool.diameter) / 2
        pieces.append(_line(top, stickout, radius, radius, Role.SHANK))
    return pieces


def _holder(tool: Tool, stickout: float, total: float) -> list[Piece]:
    """The holder's steps; the last one reaches to the gauge line whatever the measured length is."""
    pieces: list[Piece] = []
    z = stickout
    for step in tool.holder:
        upper = step.upper_diameter if step.upper_diameter is not None else step.diameter
        pieces.append(_line(z, z + step.length, step.diameter / 2, upper / 2, Role.HOLDER))
        z += step.length
    if pieces and total > pieces[-1].z0:
        pieces[-1] = replace(pieces[-1], z1=total)
    return pieces
