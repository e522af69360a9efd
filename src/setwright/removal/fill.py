"""Solids as intervals on rays: boxes, upright cylinders, closed meshes, and their union."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.geometry.bodies import BoxShape, CylinderShape, MeshShape
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.normals import pack_all

__all__ = ["Grid", "Shape", "inside_spans"]

Shape = BoxShape | CylinderShape | MeshShape
_Spans = tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]
_OTHER = ((1, 2), (0, 2), (0, 1))


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the rays stand: box low and high float64 (3,), first ray's coordinate on each axis float64 (3,), distance of rays
    float64 (3,), all mm; rays on each axis int64 (3,)."""

    low: NDArray[np.float64]
    high: NDArray[np.float64]
    first: NDArray[np.float64]
    pitch: NDArray[np.float64]
    count: NDArray[np.int64]

    def places(self, axis: int) -> NDArray[np.float64]:
        """Coordinates of the rays on one axis, float64 (count,), mm."""
        return np.asarray(self.first[axis] + self.pitch[axis] * np.arange(int(self.count[axis])), np.float64)


def inside_spans(solids: Sequence[Shape], axis: int, grid: Grid) -> tuple[Longs, Floats, Ints]:
    """Intervals of the union of solids on the rays along `axis`: ray int64 (n,), ends float64 (n, 2) mm, packed outward normals
    int32 (n, 2); sorted by ray, then along it. Raises InputRefused for a mesh that is not closed."""
    parts = [_spans(solid, axis, grid) for solid in solids]
    ray, ends, normal = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    order = np.lexsort((ends[:, 0], ray))
    ray, ends, packed = ray[order], ends[order], pack_all(normal[order])
    if len(solids) > 1:
        kept = _unite(ray, ends, packed)
        ray, ends, packed = ray[:kept], ends[:kept], packed[:kept]
    return ray, ends, packed


def _spans(solid: Shape, axis: int, grid: Grid) -> _Spans:
    if isinstance(solid, BoxShape):
        return _box_spans(solid, axis, grid)
    if isinstance(solid, CylinderShape):
        return _cylinder_spans(solid, axis, grid)
    return _mesh_spans(solid, axis, grid)


def _box_spans(box: BoxShape, axis: int, grid: Grid) -> _Spans:
    u, v = _OTHER[axis]
    pu, pv = grid.places(u), grid.places(v)
    inside = ((pv > box.low[v]) & (pv < box.high[v]))[:, None] & ((pu > box.low[u]) & (pu < box.high[u]))
    ray = np.flatnonzero(inside.ravel()).astype(np.int64)
    ends = np.broadcast_to(np.array([box.low[axis], box.high[axis]], np.float64), (ray.size, 2)).copy()
    normal = np.zeros((ray.size, 2, 3))
    normal[:, 0, axis], normal[:, 1, axis] = -1.0, 1.0
    return ray, ends, normal


def _cylinder_spans(cylinder: CylinderShape, axis: int, grid: Grid) -> _Spans:
    u, v = _OTHER[axis]
    pu, pv = np.meshgrid(grid.places(u), grid.places(v))
    if axis == 2:
        away = (pu - cylinder.centre[0]) ** 2 + (pv - cylinder.centre[1]) ** 2
        ray = np.flatnonzero((away < cylinder.radius**2).ravel()).astype(np.int64)
        ends = np.broadcast_to(np.array([cylinder.bottom, cylinder.top], np.float64), (ray.size, 2)).copy()
        normal = np.zeros((ray.size, 2, 3))
        normal[:, 0, 2], normal[:, 1, 2] = -1.0, 1.0
        return ray, ends, normal
    beside = (pu - cylinder.centre[u]).ravel()
    height = pv.ravel()
    inside = (np.abs(beside) < cylinder.radius) & (height > cylinder.bottom) & (height < cylinder.top)
    ray = np.flatnonzero(inside).astype(np.int64)
    beside = beside[inside]
    half = np.sqrt((cylinder.radius - beside) * (cylinder.radius + beside))
    ends = np.column_stack([cylinder.centre[axis] - half, cylinder.centre[axis] + half])
    normal = np.zeros((ray.size, 2, 3))
    normal[:, 0, axis], normal[:, 1, axis] = -half, half
    normal[:, :, u] = beside[:, None]
    return ray, ends, normal


def _mesh_spans(mesh: MeshShape, axis: int, grid: Grid) -> _Spans:
    triangles = np.ascontiguousarray(mesh.triangles, np.float64)
    _refuse_open(triangles)
    u, v = _OTHER[axis]
    flat = np.ascontiguousarray(triangles[:, :, [u, v, axis]])
    first, pitch = grid.first[[u, v]], grid.pitch[[u, v]]
    counts = grid.count[[u, v]]
    ray, place, sign = _crossed(flat, first, pitch, counts)
    flip = 1 if axis != 1 else -1  # x, z, y is a left-handed order of the axes
    enters = flip * np.sign(sign) < 0
    order = np.lexsort((~enters, place, ray))
    ray, place, enters, row = ray[order], place[order], enters[order], np.abs(sign[order]) - 1
    depth = np.cumsum(np.where(enters, 1, -1))
    opens, closes = enters & (depth == 1), ~enters & (depth == 0)
    closed = depth.size == 0 or (depth.min() >= 0 and opens.sum() == closes.sum() and (ray[opens] == ray[closes]).all())
    if not closed:
        raise InputRefused.because("the mesh turns inside out somewhere", why="inside and outside cannot be told apart",
                                   remedy="export it again as a solid with all faces outward")  # fmt: skip
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    ends = np.column_stack([place[opens], place[closes]])
    return ray[opens], ends, np.stack([normals[row[opens]], normals[row[closes]]], axis=1)


def _crossed(flat: Floats, first: Floats, pitch: Floats, counts: Longs) -> tuple[Longs, Floats, Longs]:
    """`_crossings`, counted and then written down."""
    hits = int(_crossings(flat, first, pitch, counts, np.empty(0, np.int64), np.empty(0), np.empty(0, np.int64)))
    ray, place, sign = np.empty(hits, np.int64), np.empty(hits), np.empty(hits, np.int64)
    _crossings(flat, first, pitch, counts, ray, place, sign)
    return ray, place, sign


def _refuse_open(triangles: NDArray[np.float64]) -> None:
    """Raise InputRefused unless every edge is run once in each direction."""
    if triangles.ndim != 3 or triangles.shape[1:] != (3, 3) or not np.isfinite(triangles).all():
        raise InputRefused.because("the mesh has corners that are not numbers", remedy="export it again")
    corner = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)[1].reshape(-1, 3).astype(np.int64)
    a, b = corner[:, [0, 1, 2]].ravel(), corner[:, [1, 2, 0]].ravel()
    size = int(corner.max()) + 1
    balance = np.unique(np.minimum(a, b) * size + np.maximum(a, b), return_inverse=True)[1]
    net = np.bincount(balance, np.sign(b - a))
    if np.any(net != 0):
        raise InputRefused.because(f"the mesh is not closed: {int(np.count_nonzero(net))} edges have no partner",
                                   why="inside and outside cannot be told apart",
                                   remedy="close its holes in the program that made it, or export it as a solid")  # fmt: skip


@kernel
def _side(ax: float, ay: float, bx: float, by: float, x: float, y: float) -> int:
    """Which side of the edge a to b the point lies on (+1 left, -1 right, never 0), the same for an edge and its reverse."""
    swap = bx < ax or (bx == ax and by < ay)
    if swap:
        ax, ay, bx, by = bx, by, ax, ay
    cross = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
    left = cross > 0.0 or (cross == 0.0 and (by > ay or (by == ay and bx > ax)))
    return 1 if left != swap else -1


@kernel
def _reach_at(ax: float, ay: float, bx: float, by: float, y: float, low: float, high: float) -> tuple[float, float]:
    """`low` and `high` widened to where the edge a to b has the height y."""
    if y < min(ay, by) or y > max(ay, by):
        return low, high
    if ay == by:
        return min(low, ax, bx), max(high, ax, bx)
    x = ax + (y - ay) / (by - ay) * (bx - ax)
    return min(low, x), max(high, x)


@kernel
def _crossings(triangles: Floats, first: Floats, pitch: Floats, counts: Longs, ray: Longs, place: Floats, sign: Longs) -> int:
    """Where rays along the third coordinate cross triangles float64 (n, 3, 3); returns how many crossings there are and, if the
    three result arrays have room, writes ray number, place (mm) and sign * (row of the triangle + 1); sign + where the triangle
    runs counter-clockwise seen from the third coordinate's end."""
    hits = 0
    for t in range(triangles.shape[0]):
        ax, ay, az = triangles[t, 0, 0], triangles[t, 0, 1], triangles[t, 0, 2]
        bx, by, bz = triangles[t, 1, 0], triangles[t, 1, 1], triangles[t, 1, 2]
        cx, cy, cz = triangles[t, 2, 0], triangles[t, 2, 1], triangles[t, 2, 2]
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if area == 0.0:
            continue
        low_v, high_v = min(ay, by, cy), max(ay, by, cy)
        v0 = max(0, int(np.floor((low_v - first[1]) / pitch[1])))
        v1 = min(counts[1], int(np.ceil((high_v - first[1]) / pitch[1])) + 1)
        for v in range(v0, v1):
            y = first[1] + pitch[1] * v
            low_u, high_u = _reach_at(ax, ay, bx, by, y, np.inf, -np.inf)
            low_u, high_u = _reach_at(bx, by, cx, cy, y, low_u, high_u)
            low_u, high_u = _reach_at(cx, cy, ax, ay, y, low_u, high_u)
            if low_u > high_u:
                continue
            u0 = max(0, int(np.floor((low_u - first[0]) / pitch[0])))  # to the next ray at least, for round-off
            u1 = min(counts[0], int(np.ceil((high_u - first[0]) / pitch[0])) + 1)
            for u in range(u0, u1):
                x = first[0] + pitch[0] * u
                turn = _side(ax, ay, bx, by, x, y)
                if _side(bx, by, cx, cy, x, y) != turn or _side(cx, cy, ax, ay, x, y) != turn:
                    continue
                if hits < ray.size:
                    wb = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area
                    wc = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area
                    ray[hits] = v * counts[0] + u
                    place[hits] = az + wb * (bz - az) + wc * (cz - az)
                    sign[hits] = turn * (t + 1)
                hits += 1
    return hits


@kernel
def _unite(ray: Longs, ends: Floats, normal: Ints) -> int:
    """Join intervals that overlap or touch, in place; returns how many remain."""
    kept = 0
    for i in range(ray.size):
        if kept > 0 and ray[kept - 1] == ray[i] and ends[i, 0] <= ends[kept - 1, 1] + COORDINATE_ROUND_OFF_MM:
            if ends[i, 1] > ends[kept - 1, 1]:
                ends[kept - 1, 1], normal[kept - 1, 1] = ends[i, 1], normal[i, 1]
            continue
        ray[kept] = ray[i]
        for side in range(2):
            ends[kept, side], normal[kept, side] = ends[i, side], normal[i, side]
        kept += 1
    return kept
