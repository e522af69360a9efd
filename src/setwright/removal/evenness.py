"""How even a milled face is: its flatness, and the ridges that passes side by side leave on it.

Both are read from ray ends, so what lies between two rays is not measured; but it is bounded. A face that round edges cut is smooth
but for its ridges, and between a ray and any point of it the height changes by no more than the steepest slope times the way. The
steepest slope is the steepest seen on a ray and what the sharpest edge can add on half a diagonal of the rays' cell.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.field import ACROSS, Field
from setwright.removal.ready import Ready, ends_in
from setwright.removal.regions import Region

__all__ = ["Chosen", "Evenness", "between_rays", "evenness"]

_LEAST_AGREEING = 0.94  # ends whose normal is within 20 degrees of the wanted one belong to the face
_LEAST_ENDS = 9


@dataclass(frozen=True, slots=True)
class Evenness:
    """A face against its plane of least squares, mm.

    `flatness`: greatest less least distance of its points from that plane. `cusp`: the same among the points that one motion made,
    the greatest of all motions: the height of the ridges beside a pass. `bound`: how much more either can be, between the rays.
    `low`, `high`: the heights its points lie between, along `axis`. `steepest`: tangent of the steepest slope on a ray.
    """

    flatness: float
    cusp: float
    bound: float
    axis: int
    low: float
    high: float
    steepest: float
    motions: tuple[int, ...]


Chosen = Callable[[NDArray[np.float64]], NDArray[np.bool_]]
"""Which of points float64 (n, 3), mm, belong to a face."""


def evenness(
    field: Field | Ready, region: Region, *, facing: Sequence[float], sharpest_mm: float = math.inf, whole: Chosen | None = None
) -> Evenness:
    """The face in `region` whose outward normal is about `facing`. `sharpest_mm`: the least radius of the edges that cut it, inf
    for sharp corners, whose bottom leaves no curve; `whole`: which points are looked at, by default all. A strip or step narrower
    than the ray spacing is not seen.

    Raises InputRefused with fewer than 9 ray ends on it, or ends in one line.
    """
    wanted = np.asarray(facing, np.float64) / np.linalg.norm(facing)
    axis = int(np.argmax(np.abs(wanted)))
    ends = ends_in(field, region)
    ends = ends.where((ends.axis == axis) & (ends.normals @ wanted >= _LEAST_AGREEING))
    ends = ends if whole is None else ends.where(whole(ends.points))
    if ends.axis.size < _LEAST_ENDS:
        raise InputRefused.because(f"only {ends.axis.size} ray ends lie on the face", why=f"{_LEAST_ENDS} are needed",
                                   remedy="look at the region given, or take a finer pitch")  # fmt: skip
    normal = _plane_through(ends.points, wanted)
    away = (ends.points - ends.points.mean(axis=0)) @ normal
    cosine = np.clip(ends.normals @ normal, -1.0, 1.0)
    steepest = float(np.sqrt(np.maximum(0.0, 1.0 - cosine**2)).max() / cosine.min())
    u, v = ACROSS[axis]
    bound = between_rays(float(field.grid.pitch[u]), float(field.grid.pitch[v]), steepest, sharpest_mm)
    along = ends.points[:, axis]
    return Evenness(float(np.ptp(away)), _ridge(away, ends.ident), bound + 2.0 * (field.slack + COORDINATE_ROUND_OFF_MM), axis,
                    float(along.min()), float(along.max()), steepest, tuple(np.unique(ends.ident).tolist()))  # fmt: skip


def between_rays(pitch_u: float, pitch_v: float, steepest: float, sharpest_mm: float) -> float:
    """How much higher a point and how much lower another may lie than all ends of rays so far apart, together, mm."""
    reach = 0.5 * math.hypot(pitch_u, pitch_v)
    bend = math.sqrt(1.0 + steepest * steepest)
    return 2.0 * reach * (steepest + reach / sharpest_mm * bend * bend * bend)


def _plane_through(points: NDArray[np.float64], wanted: NDArray[np.float64]) -> NDArray[np.float64]:
    """Unit normal of the plane of least squares of distances."""
    _, sizes, rows = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)
    if sizes[1] <= COORDINATE_ROUND_OFF_MM:
        raise InputRefused.because("the ray ends of the face lie in one line", remedy="widen the region or take a finer pitch")
    return np.asarray(rows[2] if rows[2] @ wanted > 0 else -rows[2], np.float64)


def _ridge(away: NDArray[np.float64], ident: NDArray[np.int32]) -> float:
    """The greatest spread of heights that one motion left."""
    _, group = np.unique(ident, return_inverse=True)
    low, high = np.full(group.max() + 1, np.inf), np.full(group.max() + 1, -np.inf)
    np.minimum.at(low, group, away)
    np.maximum.at(high, group, away)
    return float((high - low).max())
