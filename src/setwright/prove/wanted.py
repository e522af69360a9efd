"""The simulated part beside the wanted one: where metal is missing and where it is left.

Both solids are cut by the same rays. An end of the simulated part that has an end of the wanted one within the tolerance on its own
ray is right; for every other the distance from the wanted surface is computed exactly. Inside the wanted solid it is the
depth it is cut into, outside of it the height of metal left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import RAY_SHIFT_SHARE
from setwright.clearance.nearest import nearest_distance
from setwright.geometry.bodies import MeshShape
from setwright.geometry.meshes import read_mesh
from setwright.kit.station import Kit
from setwright.removal.field import ACROSS, Field
from setwright.removal.fill import inside_spans

__all__ = ["Compared", "Deviation", "against_wanted", "compare", "signed_distances", "wanted_shapes"]


@dataclass(frozen=True, slots=True)
class Deviation:
    """The greatest deviation of one kind: mm, the place (W, mm), and the motion that cut it, -1 where the blank's skin stands."""

    depth_mm: float
    at: tuple[float, float, float]
    row: int


@dataclass(frozen=True, slots=True)
class Compared:
    """The simulated part against the wanted one: where it is cut into, where metal is left. None: nothing of that kind beyond
    `within_mm`. `bound_mm`: by how much either can be more between the rays, on any piece of surface that a ray of each bundle
    that meets it well ends on."""

    within_mm: float
    cut_into: Deviation | None
    left: Deviation | None
    bound_mm: float = 0.0


def wanted_shapes(kit: Kit) -> list[MeshShape]:
    """The shape a setup asks for, one for every copy of the part, in W; none if it states no wanted shape."""
    wanted = kit.setup.wanted
    if wanted is None:
        return []
    millimetres = 25.4 if wanted.mesh_units == "in" else 1.0
    triangles = read_mesh(kit.folder.meshes[wanted.mesh], name=wanted.mesh, millimetres=millimetres) + np.array(wanted.shift)
    return [MeshShape(triangles + np.array(copy)) for copy in kit.copies]


def against_wanted(kit: Kit, part: Field) -> Compared | None:
    """The comparison a setup asks for, for every copy of the part; None if it states no wanted shape."""
    if kit.setup.wanted is None:
        return None
    return compare(part, wanted_shapes(kit), within_mm=kit.setup.wanted.within)


def compare(part: Field, wanted: Sequence[MeshShape], *, within_mm: float) -> Compared:
    """Where `part` is cut into deepest and where most metal is left, beyond `within_mm`; `wanted`: closed meshes in the
    field's frame.

    A deviation is seen where a ray ends in it, and its size is exact there.
    """
    triangles = np.concatenate([shape.triangles for shape in wanted])
    points, inside, at_most, row = (
        np.concatenate(columns) for columns in zip(*(_doubtful(part, wanted, axis, within_mm) for axis in range(3)), strict=True)
    )
    depth = nearest_distance(points, triangles, at_most)
    return Compared(within_mm, _worst(points, depth, row, inside & (depth > within_mm)),
                    _worst(points, depth, row, ~inside & (depth > within_mm)), _between_rays(part))  # fmt: skip


def _between_rays(part: Field) -> float:
    """How much farther from the wanted surface a point can lie than the nearest ray end, mm: a distance changes by no more than the
    way, and on a surface whose steepest axis it is met along, the way to the next end is at most root 3 times half a diagonal of
    the rays' cells."""
    widest = max(math.hypot(float(part.grid.pitch[u]), float(part.grid.pitch[v])) for u, v in ACROSS)
    return math.sqrt(3.0) * (0.5 + RAY_SHIFT_SHARE) * widest + part.slack


def signed_distances(
    part: Field, wanted: Sequence[MeshShape]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """How far every ray end of the part, bundle after bundle, lies from the wanted surface: points float64 (n, 3) mm; signed
    distance float64 (n,) mm, positive outside the wanted solid (metal left), negative inside (metal missing); motion that cut it
    int64 (n,), -1 where the blank's skin stands. `wanted`: closed meshes in the field's frame. Exact to round-off for the ray ends
    as they are, which lie on the simulated surface within the field's `slack`."""
    triangles = np.concatenate([shape.triangles for shape in wanted])
    points, inside, at_most, row = (
        np.concatenate(columns) for columns in zip(*(_doubtful(part, wanted, axis, -np.inf) for axis in range(3)), strict=True)
    )
    distance = nearest_distance(points, triangles, at_most)
    return points, np.where(inside, -distance, distance), row


def _doubtful(
    part: Field, wanted: Sequence[MeshShape], axis: int, within: float
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.float64], NDArray[np.int64]]:
    """Ray ends of the part with no end of the wanted solid within reach on their ray: points (n, 3), whether they lie inside the
    wanted solid, distance to its nearest end on the ray (inf: none), motion that cut them."""
    wanted_ray, wanted_ends, _ = inside_spans(wanted, axis, part.grid)
    points, rays = part.points(axis)
    ray, along = np.repeat(rays.ray, 2), rays.ends.ravel()
    inside, away = np.zeros(ray.size, np.bool_), np.full(ray.size, np.inf)
    first, stop = np.searchsorted(wanted_ray, ray), np.searchsorted(wanted_ray, ray, side="right")
    for step in range(int((stop - first).max(initial=0))):
        here = np.flatnonzero(first + step < stop)
        ends = wanted_ends[first[here] + step]
        inside[here] |= (ends[:, 0] < along[here]) & (along[here] < ends[:, 1])
        away[here] = np.minimum(away[here], np.abs(ends - along[here, None]).min(axis=1))
    doubtful = away > within
    return points.reshape(-1, 3)[doubtful], inside[doubtful], away[doubtful], rays.ident.ravel()[doubtful].astype(np.int64)


def _worst(
    points: NDArray[np.float64], depth: NDArray[np.float64], row: NDArray[np.int64], chosen: NDArray[np.bool_]
) -> Deviation | None:
    if not chosen.any():
        return None
    worst = int(np.argmax(np.where(chosen, depth, 0.0)))
    x, y, z = points[worst].tolist()
    return Deviation(float(depth[worst]), (x, y, z), int(row[worst]))
