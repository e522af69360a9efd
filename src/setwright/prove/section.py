"""The place a finding speaks of, and an upright section through it: metal, bodies and tool as they stand at that moment."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape, MeshShape
from setwright.geometry.moves import MoveKind, Moves, extent_of
from setwright.geometry.pieces import Meridian, PieceTable, Role
from setwright.model.finding import Finding
from setwright.prove.case import BLANK
from setwright.prove.compute import PARTS
from setwright.prove.stage import hung_tools
from setwright.prove.station import Proof
from setwright.removal.cut import cut
from setwright.removal.field import Field

__all__ = ["Outline", "Section", "place_of", "section_of"]

_Array = NDArray[np.float64]
_ALONG_MOTION = 65
_AROUND_ARC = 12
_LEAST_HALF, _MOST_HALF = 12.0, 60.0
_ALONG_PIECE, _CLOSING_IN = 33, 3


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed line in the plane of a section: points float64 (n, 2), along the plane's level axis and Z, mm; `what` it belongs to:
    "metal", a part of the tool, or the name of a body."""

    what: str
    points: _Array


@dataclass(frozen=True, slots=True)
class Section:
    """What an upright plane through a place shows within a square of `half` mm to each side of it.

    `axis`: the level axis the plane is square to (0: X, 1: Y); `at`: the place, W, mm. `way`: where the tip goes, float64 (n, 2).
    """

    axis: int
    at: tuple[float, float, float]
    half: float
    metal: tuple[Outline, ...]
    bodies: tuple[Outline, ...]
    tool: tuple[Outline, ...]
    way: _Array

    @property
    def level(self) -> int:
        """The axis that runs to the right in the picture."""
        return 1 - self.axis


def place_of(proof: Proof, finding: Finding) -> tuple[float, float, float] | None:
    """Where a finding lies in W, mm: its contact, deviation or thin place, else the end of its motion; None if it has no place."""
    for row, slugs, at in _places(proof):
        if finding.slug in slugs and finding.motion == row and np.isfinite(at).all():
            return at
    rows = np.flatnonzero(proof.moves.ident == finding.motion) if finding.motion >= 0 else np.zeros(0, np.intp)
    if not rows.size or finding.slug == "overtravel":
        return None
    x, y, z = proof.moves.end[rows[-1]].tolist()
    return x, y, z


def _places(proof: Proof) -> Iterator[tuple[int, tuple[str, ...], tuple[float, float, float]]]:
    case = proof.case
    for contact in case.contacts:
        yield contact.row, ("rapid-into-material", "cut-without-spindle", "body-into-material", "tool-into-holding"), contact.at
    for place in case.thin:
        yield place.row, ("thinner-than-asked",), place.at
    if case.wanted is not None:
        for slug, deviation in (("cut-into-part", case.wanted.cut_into), ("metal-left", case.wanted.left)):
            if deviation is not None:
                yield deviation.row, (slug,), deviation.at
    for piece in case.parted:
        yield piece.row, ("cut-loose",), piece.middle


def section_of(proof: Proof, finding: Finding) -> Section | None:
    """The section that shows a finding; None for one without a place. The metal is what the motions before have left; for what is
    only seen at the end (a thin wall, a deviation) it is the finished part."""
    at = place_of(proof, finding)
    if at is None:
        return None
    moves, tip, way = proof.moves, None, np.zeros((0, 3))
    rows = np.flatnonzero(moves.ident == _row_shown(proof, finding))
    if rows.size:
        way = np.concatenate([_along(moves, int(row)) for row in rows])
        tip = _nearest(way, at)
    axis = 1
    if rows.size and abs(moves.end[rows[-1]] - moves.start[rows[0]])[1] > abs(moves.end[rows[-1]] - moves.start[rows[0]])[0]:
        axis = 0
    half = _half(proof, finding, int(moves.tool[rows[0]]) if rows.size else -1)
    at_end = finding.slug in ("thinner-than-asked", "cut-into-part", "metal-left", "cut-loose")
    field = proof.after if at_end else _metal_before(proof, int(rows[0]) if rows.size else 0, at, half)
    level = 1 - axis
    window = np.array([at[level], at[2]])
    bodies = [outline for body in proof.kit.placement.bodies if body.role is not BodyRole.BLANK
              for outline in _body(body, axis, at[axis])]  # fmt: skip
    tool = () if tip is None or at_end else tuple(_tool(proof, int(moves.tool[rows[0]]), tip, axis, at[axis]))
    return Section(axis, at, half, tuple(_metal(field, axis, at[axis], window, half)), tuple(bodies), tool, way[:, [level, 2]])


def _row_shown(proof: Proof, finding: Finding) -> int:
    """The motion to show: of a contact the deepest one."""
    for contact in proof.case.contacts:
        if contact.row == finding.motion and contact.body == (finding.body or BLANK):
            return contact.deepest_row
    return finding.motion


def _half(proof: Proof, finding: Finding, tool: int) -> float:
    """Half the side of the square shown: the tool's width and the depth at hand fit in."""
    _, pieces = hung_tools(proof.kit)
    wide = 0.0
    if tool >= 0:
        rows = slice(int(pieces.first[tool]), int(pieces.first[tool + 1]))
        wide = float(np.where(pieces.role[rows] == Role.CUTTING, pieces.shape[rows, 2:4].max(axis=1), 0.0).max(initial=0.0))
    return min(max(2.5 * wide, 1.5 * abs(finding.value or 0.0), _LEAST_HALF), _MOST_HALF)


def _along(moves: Moves, row: int) -> _Array:
    """Points along one motion, float64 (n, 3)."""
    share = np.linspace(0.0, 1.0, _ALONG_MOTION)[:, None]
    start, end = moves.start[row], moves.end[row]
    points = start + share * (end - start)
    if moves.kind[row] == MoveKind.ARC:
        axis = int(moves.axis[row])
        u, v = (axis + 1) % 3, (axis + 2) % 3
        turns = np.linspace(0.0, 1.0, max(_ALONG_MOTION, int(_AROUND_ARC * abs(moves.sweep[row])))) * moves.sweep[row]
        du, dv = (start - moves.centre[row])[[u, v]]
        points = np.empty((turns.size, 3))
        points[:, u] = moves.centre[row, u] + du * np.cos(turns) - dv * np.sin(turns)
        points[:, v] = moves.centre[row, v] + du * np.sin(turns) + dv * np.cos(turns)
        points[:, axis] = np.linspace(start[axis], end[axis], turns.size)
    return np.asarray(points, np.float64)


def _nearest(way: _Array, at: tuple[float, float, float]) -> _Array:
    """The place of the tip on its way whose axis passes nearest; of several the lowest."""
    away = np.hypot(way[:, 0] - at[0], way[:, 1] - at[1])
    near = np.flatnonzero(away <= away.min() + SAME_PLACE_MM)
    return np.asarray(way[near[np.argmin(way[near, 2])]], np.float64)


def _metal_before(proof: Proof, row: int, at: tuple[float, float, float], half: float) -> Field:
    """What the motions before `row` have left near a place; away from it the blank."""
    _, pieces = hung_tools(proof.kit)
    moves = proof.moves[:row]
    low, high = extent_of(moves)
    widest = np.maximum.reduceat(pieces.shape[:, 2:4].max(axis=1), pieces.first[:-1]) if len(pieces.role) else np.zeros(1)
    room = (half + widest[moves.tool])[:, None]
    near = ((low[:, :2] - room <= np.array(at[:2])) & (np.array(at[:2]) <= high[:, :2] + room)).all(axis=1) & moves.cuts
    return cut(proof.before, moves[near], pieces).field


def _metal(field: Field, axis: int, through: float, window: _Array, half: float) -> Iterator[Outline]:
    """The metal on the rays along Z nearest the plane, as strips a cell wide."""
    level = 1 - axis
    grid = field.grid
    if not grid.low[axis] <= through <= grid.high[axis]:
        return
    row = int(np.clip(round((through - grid.first[axis]) / grid.pitch[axis]), 0, int(grid.count[axis]) - 1))
    rays = field.bundles[2].rays()
    u, v = rays.ray % field.bundles[2].nu, rays.ray // field.bundles[2].nu
    across, along = (v, u) if axis == 1 else (u, v)
    place = grid.first[level] + grid.pitch[level] * along
    shown = (across == row) & (np.abs(place - window[0]) <= half + grid.pitch[level])
    shown &= (rays.ends[:, 0] <= window[1] + half) & (rays.ends[:, 1] >= window[1] - half)
    wide = float(grid.pitch[level]) / 2
    for middle, (bottom, top) in zip(place[shown].tolist(), rays.ends[shown].tolist(), strict=True):
        yield Outline("metal", _rectangle(middle - wide, bottom, middle + wide, top))


def _body(body: Body, axis: int, through: float) -> Iterator[Outline]:
    shape, level = body.shape, 1 - axis
    if isinstance(shape, BoxShape):
        if shape.low[axis] <= through <= shape.high[axis]:
            yield Outline(body.name, _rectangle(shape.low[level], shape.low[2], shape.high[level], shape.high[2]))
    elif isinstance(shape, CylinderShape):
        square = shape.radius**2 - (through - shape.centre[axis]) ** 2
        if square > 0.0:
            wide, middle = math.sqrt(square), shape.centre[level]
            yield Outline(body.name, _rectangle(middle - wide, shape.bottom, middle + wide, shape.top))
    else:
        yield from (Outline(body.name, line) for line in _sliced(shape, axis, through))


def _sliced(mesh: MeshShape, axis: int, through: float) -> Iterator[_Array]:
    """The lines in which a plane cuts a mesh's triangles, each as two points."""
    beside = mesh.triangles[:, :, axis] - through
    crossed = (beside.min(axis=1) < 0.0) & (beside.max(axis=1) >= 0.0)
    for corners, away in zip(mesh.triangles[crossed], beside[crossed], strict=True):
        points = []
        for a, b in ((0, 1), (1, 2), (2, 0)):
            if (away[a] < 0.0) != (away[b] < 0.0):
                points.append(corners[a] + (corners[b] - corners[a]) * (away[a] / (away[a] - away[b])))
        yield np.array(points)[:, [1 - axis, 2]]


def _tool(proof: Proof, tool: int, tip: _Array, axis: int, through: float) -> Iterator[Outline]:
    """The pieces of the tool at a place of its tip, as the plane cuts them."""
    _, pieces = hung_tools(proof.kit)
    aside = through - float(tip[axis])
    for row in range(int(pieces.first[tool]), int(pieces.first[tool + 1])):
        wide, height = _met(pieces, row, aside)
        if wide.size:
            middle, up = float(tip[1 - axis]), tip[2] + height
            points = np.concatenate([np.column_stack([middle - wide, up]), np.column_stack([middle + wide, up])[::-1]])
            yield Outline(PARTS[Role(int(pieces.role[row]))], points)


def _met(pieces: PieceTable, row: int, aside: float) -> tuple[_Array, _Array]:
    """Where a plane `aside` from the axis cuts a piece: half widths and heights over the tip, from lowest to highest.

    The heights between which it does are closed in on, so that a point is drawn to its end.
    """
    z0, z1, r0, r1, e, f, rho = pieces.shape[row].tolist()
    low, high = z0, z1
    for _ in range(_CLOSING_IN):
        height = np.linspace(low, high, _ALONG_PIECE)
        if pieces.meridian[row] == Meridian.ARC:
            radius = e + np.sqrt(np.maximum(0.0, rho**2 - (height - f) ** 2))
        else:
            radius = r0 + (r1 - r0) * (height - z0) / (z1 - z0) if z1 > z0 else np.full(height.size, max(r0, r1))
        met = np.flatnonzero(radius > abs(aside))
        if not met.size:
            return np.zeros(0), np.zeros(0)
        low, high = float(height[max(met[0] - 1, 0)]), float(height[min(met[-1] + 1, height.size - 1)])
    return np.sqrt(radius[met] ** 2 - aside**2), height[met]


def _rectangle(left: float, bottom: float, right: float, top: float) -> _Array:
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
