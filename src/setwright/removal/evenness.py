"""How even a milled face is: its flatness, and the ridges that passes side by side leave on it.

Both are read from ray ends, so what lies between two rays is not measured; but it is bounded. A face that round edges cut is smooth
but for its ridges, and between a ray and any point of it the height changes by no more than the steepest slope times the way. The
steepest slope is the steepest seen on a ray and what the sharpest edge can add on half a diagonal of the rays' cell.

Flatness is the distance of the two parallel planes, nearest to each other, between which the face lies (ISO 1101: minimum zone),
not what the plane of least squares leaves: that one tilts with a step, and says more of two levels than their distance.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.field import ACROSS, Field
from setwright.removal.ready import Ends, Ready, ends_in
from setwright.removal.regions import Region

__all__ = ["Chosen", "Evenness", "between_rays", "evenness"]

_LEAST_AGREEING = 0.94  # ends whose normal is within 20 degrees of the wanted one belong to the face
_LEAST_ENDS = 9
_Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Evenness:
    """A face between two parallel planes, mm.

    `flatness`: the distance of the nearest such planes, with what can lie between the rays counted in when they are tilted. `cusp`:
    the same among the points that one motion made, the greatest of all motions: the height of the ridges beside a pass. `bound`:
    how much more either can be, between the rays. `low`, `high`: the heights its points lie between, along `axis`. `steepest`:
    tangent of the steepest slope on a ray.
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
    pitch_u, pitch_v = (float(field.grid.pitch[c]) for c in ACROSS[axis])
    normal = _zone(ends, wanted, math.hypot(pitch_u, pitch_v))
    away = (ends.points - ends.points.mean(axis=0)) @ normal
    steepest = _steepest(ends.normals, normal)
    bound = between_rays(pitch_u, pitch_v, steepest, sharpest_mm)
    along = ends.points[:, axis]
    return Evenness(float(np.ptp(away)), _ridge(away, ends.ident), bound + 2.0 * (field.slack + COORDINATE_ROUND_OFF_MM), axis,
                    float(along.min()), float(along.max()), steepest, tuple(np.unique(ends.ident).tolist()))  # fmt: skip


def between_rays(pitch_u: float, pitch_v: float, steepest: float, sharpest_mm: float) -> float:
    """How much higher a point and how much lower another may lie than all ends of rays so far apart, together, mm."""
    reach = 0.5 * math.hypot(pitch_u, pitch_v)
    bend = math.sqrt(1.0 + steepest * steepest)
    return 2.0 * reach * (steepest + reach / sharpest_mm * bend * bend * bend)


def _steepest(normals: _Array, normal: _Array) -> float:
    """Tangent of the steepest of slopes against a plane."""
    cosine = np.clip(normals @ normal, -1.0, 1.0)
    return float(np.sqrt(np.maximum(0.0, 1.0 - cosine**2)).max() / cosine.min())


def _zone(ends: Ends, wanted: _Array, across: float) -> _Array:
    """Unit normal of two parallel planes between which all ends lie, the nearest together of all when to their distance is added
    how much the surface can rise and fall between rays, `across` (mm) the diagonal of a cell. A tilt that only the gaps between
    rays make room for gains nothing so: two level steps keep their distance."""
    centred = ends.points - ends.points.mean(axis=0)
    _, sizes, rows = np.linalg.svd(centred, full_matrices=False)
    if sizes[1] <= COORDINATE_ROUND_OFF_MM:
        raise InputRefused.because("the ray ends of the face lie in one line", remedy="widen the region or take a finer pitch")
    facing = np.asarray(rows[2] if rows[2] @ wanted > 0 else -rows[2], np.float64)
    tangents = rows[:2]
    lean = ends.normals @ facing
    slopes = -(ends.normals @ tangents.T) / lean[:, None]  # of the surface over the plane of least squares
    tilts = [np.zeros(2), np.median(slopes, axis=0), -(tangents @ wanted) / (facing @ wanted)]
    along, heights = centred @ tangents.T, centred @ facing
    if float(np.ptp(heights)) > COORDINATE_ROUND_OFF_MM:
        tilts.append(_tilt(along, heights, slopes, across))
    normals = [facing - tilt @ tangents for tilt in tilts]
    normals = [one / np.linalg.norm(one) for one in normals]
    return min(normals, key=lambda one: float(np.ptp(centred @ one)) + across * _steepest(ends.normals, one))


_WAYS: Final = 16
"""Directions in which the steepest slope against a tilted plane is held down: a circle to 2 %."""
_ROUNDS: Final = 40
"""Points that stand out are taken in so often; in a dozen rounds none does any more."""


def _tilt(along: _Array, heights: _Array, slopes: _Array, across: float) -> _Array:
    """The slopes of a plane over (n, 2) places that make least of the range of `heights` (n,) above it and `across` times the
    steepest of `slopes` (n, 2) against it: a linear programme in two slopes, an upper and a lower level and a steepness, over the
    few points that stand out."""
    from scipy.optimize import linprog  # few parts have a face to be even, and it takes long to load

    wide, tall = float(np.abs(along).max()), float(np.ptp(heights))
    places, rise, turn = along / wide, heights / tall, np.arange(_WAYS) * (math.tau / _WAYS)
    ways = np.column_stack([np.cos(turn), np.sin(turn)])
    most = (slopes @ ways.T).max(axis=0) * wide / tall
    cost = np.array([0.0, 0.0, 1.0, -1.0, across / wide])
    steep = np.column_stack([-ways, np.zeros((_WAYS, 2)), np.full(_WAYS, -1.0)])
    chosen = [int(np.argmax(rise)), int(np.argmin(rise)), *(places @ ways.T).argmax(axis=0).tolist()]
    tilt = np.zeros(2)
    for _ in range(_ROUNDS):
        some, level = places[chosen], np.ones((len(chosen), 1))
        above = np.hstack([-some, -level, 0.0 * level, 0.0 * level])
        below = np.hstack([some, 0.0 * level, level, 0.0 * level])
        limits = np.concatenate([-rise[chosen], rise[chosen], -most])
        found = linprog(cost, A_ub=np.vstack([above, below, steep]), b_ub=limits, bounds=(None, None))
        if found.x is None:
            break  # the planes beside it are tried as well
        tilt = found.x[:2]
        over = rise - places @ tilt
        high, low = int(np.argmax(over)), int(np.argmin(over))
        if high in chosen and low in chosen:
            break
        chosen += [high, low]
    return np.asarray(tilt * tall / wide, np.float64)


def _ridge(away: NDArray[np.float64], ident: NDArray[np.int32]) -> float:
    """The greatest spread of heights that one motion left."""
    _, group = np.unique(ident, return_inverse=True)
    low, high = np.full(group.max() + 1, np.inf), np.full(group.max() + 1, -np.inf)
    np.minimum.at(low, group, away)
    np.maximum.at(high, group, away)
    return float((high - low).max())
