"""Measure the simulated part: planes, bores, bosses, distances and widths, fitted to ray ends.

Ray ends lie on the surfaces themselves, so a feature is found as well as its surface is cut, whatever the pitch: lines and level
arcs leave it exact to round-off, chords that stand for other arcs within the field's `slack`. Every answer carries `bound`, how far
round-off and chords alone can have moved it, and `form`, the greatest less the least distance of its ends from the fitted surface:
a form above the bound says that the surface is not a plane or a cylinder there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.field import ACROSS, Field
from setwright.removal.ready import Ends, Ready, made_ready
from setwright.removal.regions import Region
from setwright.removal.rounds import IN_LINE, TOO_FEW, round_through

__all__ = ["PlaneFit", "RoundFit", "Spacing", "angle_between", "centre_of", "fit_plane", "fit_round", "round_of", "spacing"]

_Array = NDArray[np.float64]
_LEAST_FACING = 0.5  # a ray that meets a surface at less than 30 degrees tells little about where it is
_LEAST_AGREEING = 0.94  # ends whose normal is within 20 degrees of the wanted one belong to the feature


@dataclass(frozen=True, slots=True)
class PlaneFit:
    """A plane: normal · p = offset (mm), `centroid` of its ends, their number, form and bound (mm), motions that made it;
    `bound_angle` (rad): how far chords, round-off and form can have tilted it, 0 where its normal was given."""

    normal: tuple[float, float, float]
    offset: float
    centroid: tuple[float, float, float]
    ends: int
    form: float
    bound: float
    motions: tuple[int, ...]
    bound_angle: float = 0.0


@dataclass(frozen=True, slots=True)
class RoundFit:
    """A bore or a boss: centre (the two coordinates across its axis) and diameter, mm; `arc_deg`: how much of the circle has ends;
    bounds and form in mm; motions that made it."""

    centre: tuple[float, float]
    diameter: float
    axis: int
    arc_deg: float
    ends: int
    form: float
    bound: float
    bound_centre: float
    motions: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Spacing:
    """Distance of two planes (mm) halfway between their ends, the angle between them (rad), and the distance's bound."""

    distance: float
    angle: float
    bound: float


def fit_plane(field: Field | Ready, region: Region, *, facing: Sequence[float], tilt: bool = False) -> PlaneFit:
    """The plane surface in `region` whose outward normal is about `facing`.

    Without `tilt` the normal is `facing` itself and only the offset is fitted; with it the plane of least squares of distances.
    Raises InputRefused if too few ray ends lie there (1, with tilt 3 not in line).
    """
    part, key = made_ready(field), ("plane", region.packed, tuple(map(float, facing)), tilt)
    return part.once(key, region, lambda: _fitted_plane(part, region, np.asarray(facing, np.float64), tilt=tilt))


def _fitted_plane(part: Ready, region: Region, wanted: _Array, *, tilt: bool) -> PlaneFit:
    wanted = wanted / np.linalg.norm(wanted)
    ends = part.ends_in(region, squarely=_LEAST_FACING)
    ends = ends.where(ends.normals @ wanted >= _LEAST_AGREEING)
    if ends.axis.size < (least := 3 if tilt else 1):
        raise _too_few(ends.axis.size, least, "plane")
    centroid = ends.points.mean(axis=0)
    normal, amplification, lever = wanted, 1.0, 0.0
    if tilt:
        centred = ends.points - centroid
        _, sizes, rows = np.linalg.svd(centred, full_matrices=False)
        if sizes[1] <= COORDINATE_ROUND_OFF_MM:
            raise InputRefused.because("the ray ends of the plane lie in one line", remedy="widen the region or take a finer pitch")
        normal = rows[2] if rows[2] @ wanted > 0 else -rows[2]
        lever = math.sqrt(len(centred)) / float(sizes[1])
        amplification = 1.0 + lever * float(np.linalg.norm(centroid))
    away = ends.points @ normal
    error, form = part.slack + COORDINATE_ROUND_OFF_MM, float(np.ptp(away))
    return PlaneFit(_triple(normal), float(away.mean()), _triple(centroid), len(away), form, error * amplification,
                    _motions(ends.ident), (error + form) * lever)  # fmt: skip


def fit_round(field: Field | Ready, region: Region, *, hole: bool, axis: int = 2) -> RoundFit:
    """The bore (`hole`) or boss in `region` with its axis along X, Y or Z: circle of least squares of distances through the ends of
    both bundles across the axis, on surfaces parallel to it. Raises InputRefused with fewer than 3 ends or ends in one line."""
    part = made_ready(field)
    return part.once(("round", region.packed, hole, axis), region, lambda: _fitted_round(part, region, hole=hole, axis=axis))


def _fitted_round(part: Ready, region: Region, *, hole: bool, axis: int) -> RoundFit:
    return round_of(part.ends_in(region, squarely=_LEAST_FACING), hole=hole, axis=axis, slack=part.slack)


def round_of(ends: Ends, *, hole: bool, slack: float, axis: int = 2) -> RoundFit:
    """`fit_round` through given ends, of a part whose surfaces lie beside the programmed ones by up to `slack` (mm)."""
    what = "bore" if hole else "boss"
    why, rows, found = _through(ends, hole=hole, axis=axis)
    if why == TOO_FEW:
        raise _too_few(rows.size, 3, what)
    if why == IN_LINE:
        raise InputRefused.because("the ray ends lie in one line", why="no circle can be fitted", remedy="widen the region")
    cx, cy, radius, form, *gains, arc = found.tolist()
    error = slack + COORDINATE_ROUND_OFF_MM
    return RoundFit((cx, cy), 2 * radius, axis, math.degrees(arc), rows.size, form, 2 * gains[2] * error,
                    max(gains[0], gains[1]) * error, _motions(ends.ident[rows]))  # fmt: skip


def centre_of(ends: Ends, *, hole: bool) -> tuple[tuple[float, float], float] | None:
    """Centre (mm) and `arc_deg` alone of the upright round that `round_of` finds; None where it finds none."""
    why, _, found = _through(ends, hole=hole, axis=2)
    return None if why else ((float(found[0]), float(found[1])), math.degrees(float(found[7])))


def _through(ends: Ends, *, hole: bool, axis: int) -> tuple[int, NDArray[np.int64], _Array]:
    across = (*ACROSS[axis], axis)
    return round_through(ends.points, ends.normals, ends.axis, across, -1.0 if hole else 1.0, 1 - _LEAST_AGREEING)


def spacing(a: PlaneFit, b: PlaneFit) -> Spacing:
    """How far apart two about parallel planes are: thickness, depth, or width of a slot.

    Raises InputRefused for planes more than 20 degrees from parallel.
    """
    na, nb = np.array(a.normal), np.array(b.normal)
    cosine = float(abs(na @ nb))
    if cosine < _LEAST_AGREEING:
        raise InputRefused.because("the two planes are not parallel", why="they have no one distance",
                                   remedy="choose two parallel faces")  # fmt: skip
    first = abs(float(na @ np.array(b.centroid)) - a.offset)
    second = abs(float(nb @ np.array(a.centroid)) - b.offset)
    return Spacing((first + second) / 2, math.acos(min(1.0, cosine)), a.bound + b.bound)


def angle_between(a: PlaneFit, b: PlaneFit) -> tuple[float, float]:
    """The angle between two planes fitted with tilt, in [0, pi/2] rad, and its bound."""
    na, nb = np.array(a.normal), np.array(b.normal)
    angle = math.atan2(float(np.linalg.norm(np.cross(na, nb))), abs(float(na @ nb)))
    return angle, a.bound_angle + b.bound_angle


def _too_few(found: int, least: int, what: str) -> InputRefused:
    return InputRefused.because(f"only {found} ray ends lie on the {what}", why=f"{least} are needed",
                                remedy="look at the region given, or take a finer pitch")  # fmt: skip


def _motions(ident: NDArray[np.int32]) -> tuple[int, ...]:
    return tuple(np.unique(ident).tolist())


def _triple(values: _Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])
