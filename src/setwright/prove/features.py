"""Requirements of the drawing measured on the simulated part."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from setwright.base.errors import InputRefused
from setwright.kit.station import Kit
from setwright.model.job import Face
from setwright.model.requirement import AngleOf, EvenOf, PositionOf, Requirement
from setwright.prove.case import Feature, UnmadeFace
from setwright.prove.closer import Closer
from setwright.prove.sight import NEAREST_MM, WIDEST_MM, Sight, facing_of
from setwright.removal.evenness import Evenness, evenness
from setwright.removal.field import BLANK, Field
from setwright.removal.measure import PlaneFit, RoundFit, angle_between, spacing
from setwright.removal.ready import Ready

__all__ = ["face_ends", "measure_requirement", "measure_requirements", "unmade_faces"]


@dataclass(frozen=True, slots=True)
class _Measured:
    """A number and how far off it can be: mm, for an angle degrees."""

    value: float
    bound: float


def measure_requirements(
    kit: Kit, part: Field | Ready, *, closer: Closer | None = None, names: Collection[str] | None = None
) -> tuple[Feature, ...]:
    """Every requirement of the setup as it comes out, or those of these `names`; one that cannot be measured says why, and is never
    passed. On a pallet each part is measured, and the offset of a part beside the first stands behind the name."""
    places = [("", Sight(kit, part)), *((f" ({offset})", Sight(kit, part, shift)) for offset, shift in kit.setup.shifts.items())]
    each = [(requirement, sight, requirement.name + behind) for behind, sight in places for requirement in kit.setup.requirement]
    return tuple(_feature(*one, closer) for one in each if names is None or one[2] in names)


def measure_requirement(requirement: Requirement, kit: Kit, part: Field | Ready, *, closer: Closer | None = None) -> Feature:
    """One requirement as it comes out, on a pallet on its first part."""
    return _feature(requirement, Sight(kit, part), requirement.name, closer)


def face_ends(requirement: Requirement, kit: Kit, part: Field | Ready) -> int:
    """How many ray ends lie on the faces of a requirement at their stated place; 0 for a face that is not found there."""
    sight, found = Sight(kit, part), []
    for face in (sight.face(name) for name in requirement.faces):
        try:
            fit: PlaneFit | RoundFit = sight.round(face, NEAREST_MM) if _is_round(face) else sight.plane(face, NEAREST_MM)
        except InputRefused:
            found.append(0)
        else:
            found.append(fit.ends)
    return min(found)


def unmade_faces(kit: Kit, part: Field | Ready) -> tuple[UnmadeFace, ...]:
    """The faces stated as made that no motion cuts, or that are not found where they are stated."""
    found = [_unmade(face, Sight(kit, part)) for face in kit.setup.face if face.made]
    return tuple(face for face in found if face is not None)


def _unmade(face: Face, sight: Sight) -> UnmadeFace | None:
    try:
        fit: PlaneFit | RoundFit = sight.round(face) if _is_round(face) else sight.plane(face)
    except InputRefused as refusal:
        return UnmadeFace(face.name, why=refusal.problems[0].what)
    if any(motion != BLANK for motion in fit.motions):
        return None
    stated = face.flat or face.slope
    if stated is None or isinstance(fit, RoundFit):
        return UnmadeFace(face.name)
    return UnmadeFace(face.name, float(np.dot(fit.normal, stated.at)) - fit.offset)


def _is_round(face: Face) -> bool:
    return face.bore is not None or face.boss is not None


def _feature(requirement: Requirement, sight: Sight, name: str, closer: Closer | None) -> Feature:
    size, unit = requirement.limits, "mm" if requirement.angle is None else "deg"
    try:
        measured = _measure(requirement, sight, closer)
    except InputRefused as refusal:
        first = refusal.problems[0]
        why = ", ".join(text for text in (first.what, first.why) if text)
        return Feature(name, size, None, 0.0, why, unit=unit)
    return Feature(name, size, measured.value, measured.bound, unit=unit)


def _measure(requirement: Requirement, sight: Sight, closer: Closer | None) -> _Measured:
    if requirement.position is not None:
        return _position(requirement.position, sight)
    if requirement.diameter is not None:
        found = sight.round(sight.face(requirement.diameter))
        return _Measured(found.diameter, found.bound + found.form)
    if requirement.flatness is not None:
        even = _evenness(requirement.flatness, sight, closer)
        return _Measured(even.flatness, even.bound)
    if requirement.cusp is not None:
        even = _evenness(requirement.cusp, sight, closer)
        return _Measured(even.cusp, even.bound)
    if requirement.angle is not None:
        return _angle(requirement.angle, sight)
    if requirement.between is None:
        raise AssertionError("a requirement of no kind passed validation")
    first, second = requirement.between
    return _distance(sight.face(first), sight.face(second), sight)


def _position(wanted: PositionOf, sight: Sight) -> _Measured:
    found = sight.round(sight.face(wanted.of))
    off = math.hypot(found.centre[0] - wanted.x - sight.shift[0], found.centre[1] - wanted.y - sight.shift[1])
    return _Measured(2.0 * off, 2.0 * math.sqrt(2.0) * found.bound_centre + found.form / 2)


def _angle(wanted: AngleOf, sight: Sight) -> _Measured:
    """The angle that lies nearer to the stated one, of the two that planes make."""
    one, two = (sight.plane(sight.face(name), tilt=True) for name in wanted.between)
    angle, bound = angle_between(one, two)
    nearest = min((angle, math.pi - angle), key=lambda value: abs(value - wanted.is_))
    return _Measured(math.degrees(nearest), math.degrees(bound))


def _evenness(wanted: EvenOf, sight: Sight, closer: Closer | None) -> Evenness:
    """A face's evenness; cut again with closer rays where the part's rays leave more doubt than a tenth of what is allowed."""
    face = sight.face(wanted.of)
    facing, region = facing_of(face).tolist(), sight.region(face, WIDEST_MM)
    even = evenness(sight.part, region, facing=facing)
    sharpest = _sharpest(sight.kit) if closer is None else closer.sharpest(even.motions)
    even = evenness(sight.part, region, facing=facing, sharpest_mm=sharpest)
    if closer is None or even.bound <= wanted.within / 10:
        return even
    return closer.again(even, region, facing=facing, wanted_mm=wanted.within / 10) or even


def _sharpest(kit: Kit) -> float:
    """The least corner or ball radius of any tool of the kit, mm; inf if none is round."""
    radii = [piece.rho for tool in kit.tools.values() for piece in tool.pieces if piece.rho > 0.0]
    return min(radii, default=math.inf)


def _distance(a: Face, b: Face, sight: Sight) -> _Measured:
    """Between two flats, from a flat to an axis, or between two axes."""
    if not _is_round(a) and not _is_round(b):
        one, two = sight.plane(a), sight.plane(b)
        apart = spacing(one, two)
        return _Measured(apart.distance, apart.bound + (one.form + two.form) / 2)
    if _is_round(a) and _is_round(b):
        first, second = sight.round(a), sight.round(b)
        bound = math.sqrt(2.0) * (first.bound_centre + second.bound_centre) + (first.form + second.form) / 2
        return _Measured(math.dist(first.centre, second.centre), bound)
    flat, other = (b, a) if _is_round(a) else (a, b)
    plane, axis = sight.plane(flat), sight.round(other)
    if abs(plane.normal[2]) > abs(plane.normal[0]) + abs(plane.normal[1]):
        what = f"“{other.name}” is an upright bore and “{flat.name}” lies across it"
        raise InputRefused.because(what, why="they have no distance")
    away = plane.normal[0] * axis.centre[0] + plane.normal[1] * axis.centre[1] - plane.offset
    return _Measured(abs(away), plane.bound + plane.form / 2 + math.sqrt(2.0) * axis.bound_centre + axis.form / 2)
