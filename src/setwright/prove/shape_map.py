"""The simulated part's surface beside the wanted one, everywhere: a signed distance at each corner of its triangles.

Distances are computed where the simulated surface is known exactly, at the ends of the rays: from the end to the nearest
triangle of the wanted mesh, positive outside the wanted solid (metal is left), negative inside (metal is missing). A corner of the
drawn surface carries the distance of the ray end nearest to it, and how far off that end is. So no value stands for a place that
was only interpolated, and what is said of the worst places is said of ray ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from setwright.base.errors import InputRefused
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.prove.station import Proof
from setwright.prove.wanted import signed_distances, wanted_shapes
from setwright.removal.field import BLANK
from setwright.removal.surface import surface_of

__all__ = ["ShapeMap", "ShapePlace", "at_corners", "map_file", "shape_map"]

_Array = NDArray[np.float64]
_WORST: Final = 5  # lines named of each kind


@dataclass(frozen=True, slots=True)
class ShapePlace:
    """The greatest deviation of one kind that one line left: mm, positive for metal left, negative for metal missing; place (W,
    mm); path row (BLANK, no file and line 0 for the blank's own skin)."""

    distance_mm: float
    at: tuple[float, float, float]
    row: int
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class ShapeMap:
    """The surface of a simulated part with its distances from the wanted one.

    corners float64 (n, 3) W, mm; triangles int32 (m, 3), counter-clockwise seen from outside; distance float64 (n,) mm at the ray
    end nearest to each corner, apart float64 (n,) mm how far off that ray end is. `bound_mm`: how wrong a distance can be for its
    ray end, the mesh taken as it is. `share_within`: of the surface's area, what has all corners within `within_mm`. `places`:
    beyond `within_mm`, worst first, metal missing before metal left.
    """

    corners: _Array
    triangles: NDArray[np.int32]
    distance: _Array
    apart: _Array
    bound_mm: float
    within_mm: float
    share_within: float
    places: tuple[ShapePlace, ...]


def shape_map(proof: Proof) -> ShapeMap:
    """The map of a proof's part as the program leaves it. Raises InputRefused if its setup states no wanted shape, or if no metal
    is left."""
    kit, part, wanted = proof.kit, proof.after, proof.kit.setup.wanted
    if wanted is None:
        remedy = 'write wanted = { mesh = "FILE.stl" } in the setup, with the part as it shall be after it'
        what = f"setup “{kit.setup.name}” states no wanted shape"
        raise InputRefused.because(what, why="there is nothing to measure from", remedy=remedy)
    points, distance, row = signed_distances(part, wanted_shapes(kit))
    if not len(points):
        raise InputRefused.because("no metal is left", remedy="look at the first line that cuts away too much")
    surface = surface_of(part)
    values, apart = at_corners(surface.corners, points, distance)
    a, b, c = (surface.corners[surface.triangles[:, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    good = (np.abs(values)[surface.triangles] <= wanted.within).all(axis=1)
    share = float(area[good].sum() / area.sum()) if area.sum() > 0 else 0.0
    places = [place for kind in (-1.0, 1.0) for place in _worst_lines(proof, points, distance, row, kind, wanted.within)]
    return ShapeMap(surface.corners, surface.triangles, values, apart, part.slack + COORDINATE_ROUND_OFF_MM, wanted.within, share,
                    tuple(places))  # fmt: skip


def at_corners(corners: _Array, points: _Array, distance: _Array) -> tuple[_Array, _Array]:
    """For corners float64 (n, 3) the signed distance of the nearest of the `points` that `signed_distances` found, and how far
    off it is; float64 (n,) each, mm."""
    apart, nearest = cKDTree(points).query(corners)
    return distance[nearest], np.asarray(apart, np.float64)


def _worst_lines(
    proof: Proof, points: _Array, distance: _Array, row: NDArray[np.int64], kind: float, within: float
) -> list[ShapePlace]:
    """The worst ray end of each line, worst line first; `kind` +1: metal left, -1: metal missing."""
    path = proof.reading.interpreted.path
    beyond = np.flatnonzero(kind * distance > within)
    beyond = beyond[np.argsort(-np.abs(distance[beyond]), kind="stable")]
    _, first = np.unique(row[beyond], return_index=True)
    found: dict[tuple[str, int], ShapePlace] = {}
    for end in beyond[np.sort(first)].tolist():
        cut = int(row[end]) if 0 <= row[end] < len(path) else BLANK
        key = (path.files[int(path.file[cut])], int(path.line[cut])) if cut != BLANK else ("", 0)
        if key not in found:
            x, y, z = points[end].tolist()
            found[key] = ShapePlace(float(distance[end]), (x, y, z), cut, *key)
        if len(found) == _WORST:
            break
    return list(found.values())


def map_file(shown: ShapeMap) -> bytes:
    """The map as a binary PLY file: corners in double precision with `distance` and `apart`, triangles; lengths mm."""
    head = (
        "ply\nformat binary_little_endian 1.0\n"
        f"comment distance: mm from the wanted shape, positive: metal left, negative: metal missing, wrong by at most "
        f"{shown.bound_mm:.3g}\ncomment apart: mm from the corner to the place the distance is exact for\n"
        f"element vertex {len(shown.corners)}\n"
        + "".join(f"property double {name}\n" for name in ("x", "y", "z", "distance", "apart"))
        + f"element face {len(shown.triangles)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    faces = np.empty(len(shown.triangles), np.dtype([("count", "u1"), ("corner", "<i4", 3)]))
    faces["count"], faces["corner"] = 3, shown.triangles
    corners = np.column_stack([shown.corners, shown.distance, shown.apart]).astype("<f8")
    return head.encode("ascii") + corners.tobytes() + faces.tobytes()
