"""Requirements of the drawing measured on the simulated part."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np

from setwright.base.errors import InputRefused
from setwright.kit.station import Kit
from setwright.model.job import BOX_FACES, Bore, Face, Flat
from setwright.model.requirement import Requirement, Size
from setwright.prove.case import Feature, UnmadeFace
from setwright.removal.field import BLANK, Field
from setwright.removal.measure import BandRegion, BoxRegion, PlaneFit, RoundFit, fit_plane, fit_round, spacing

__all__ = ["measure_requirements", "unmade_faces"]

_SEARCH_MM: Final = (0.02, 0.2, 2.0)
"""How far from its stated place a face is looked for: near first, so that a neighbour is not taken for it."""

_AXES: Final = {"X": 0, "Y": 1, "Z": 2}
F = TypeVar("F", PlaneFit, RoundFit)


@dataclass(frozen=True, slots=True)
class _Measured:
    """A number in mm and how far off it can be."""

    value: float
    bound: float


def measure_requirements(kit: Kit, part: Field) -> tuple[Feature, ...]:
    """Every requirement of the setup as it comes out; one that cannot be measured says why, and is never passed."""
    return tuple(_feature(requirement, kit, part) for requirement in kit.setup.requirement)


def unmade_faces(kit: Kit, part: Field) -> tuple[UnmadeFace, ...]:
    """The faces stated as made that no motion cuts, or that are not found where they are stated."""
    found = [_unmade(face, part) for face in kit.setup.face if face.made]
    return tuple(face for face in found if face is not None)


def _unmade(face: Face, part: Field) -> UnmadeFace | None:
    try:
        fit: PlaneFit | RoundFit = _round(face, part) if face.flat is None else _plane(face.flat, part)
    except InputRefused as refusal:
        return UnmadeFace(face.name, why=refusal.problems[0].what)
    if any(motion != BLANK for motion in fit.motions):
        return None
    if face.flat is None or isinstance(fit, RoundFit):
        return UnmadeFace(face.name)
    return UnmadeFace(face.name, float(np.dot(fit.normal, face.flat.at)) - fit.offset)


def _feature(requirement: Requirement, kit: Kit, part: Field) -> Feature:
    size = requirement.size
    if requirement.position is not None:
        size = Size(0.0, 0.0, requirement.position.within)
    if size is None:
        raise AssertionError("a requirement without size passed validation")
    try:
        measured = _measure(requirement, kit, part)
    except InputRefused as refusal:
        first = refusal.problems[0]
        return Feature(requirement.name, size, None, 0.0, ", ".join(text for text in (first.what, first.why) if text))
    return Feature(requirement.name, size, measured.value, measured.bound)


def _measure(requirement: Requirement, kit: Kit, part: Field) -> _Measured:
    if requirement.position is not None:
        wanted = requirement.position
        found = _round(_face(wanted.of, kit), part)
        off = math.hypot(found.centre[0] - wanted.x, found.centre[1] - wanted.y)
        return _Measured(2.0 * off, 2.0 * math.sqrt(2.0) * found.bound_centre + found.form / 2)
    if requirement.diameter is not None:
        found = _round(_face(requirement.diameter, kit), part)
        return _Measured(found.diameter, found.bound + found.form)
    if requirement.between is None:
        raise AssertionError("a requirement of no kind passed validation")
    first, second = requirement.between
    return _distance(_face(first, kit), _face(second, kit), part)


def _distance(a: Face, b: Face, part: Field) -> _Measured:
    """Between two flats, from a flat to an axis, or between two axes."""
    if a.flat is not None and b.flat is not None:
        one, two = _plane(a.flat, part), _plane(b.flat, part)
        apart = spacing(one, two)
        return _Measured(apart.distance, apart.bound + (one.form + two.form) / 2)
    if a.flat is None and b.flat is None:
        first, second = _round(a, part), _round(b, part)
        bound = math.sqrt(2.0) * (first.bound_centre + second.bound_centre) + (first.form + second.form) / 2
        return _Measured(math.dist(first.centre, second.centre), bound)
    flat, other = (a, b) if a.flat is not None else (b, a)
    if flat.flat is None:
        raise AssertionError("one of the two is a flat")
    plane, axis = _plane(flat.flat, part), _round(other, part)
    if abs(plane.normal[2]) > abs(plane.normal[0]) + abs(plane.normal[1]):
        what = f"“{other.name}” is an upright bore and “{flat.name}” lies across it"
        raise InputRefused.because(what, why="they have no distance")
    away = plane.normal[0] * axis.centre[0] + plane.normal[1] * axis.centre[1] - plane.offset
    return _Measured(abs(away), plane.bound + plane.form / 2 + math.sqrt(2.0) * axis.bound_centre + axis.form / 2)


def _face(name: str, kit: Kit) -> Face:
    """A face by its name: one the setup states, or one of the blank's six."""
    for face in kit.setup.face:
        if face.name == name:
            return face
    if name in BOX_FACES or name.removesuffix(" face") in BOX_FACES:
        return _box_face(name.removesuffix(" face"), kit)
    known = ", ".join(f"“{face.name}”" for face in kit.setup.face) or "none but the blank's six"
    raise InputRefused.because(f"no face is called “{name}”", why=f"the setup states {known}")


def _box_face(name: str, kit: Kit) -> Face:
    low, high = kit.extent
    middle, size = (low + high) / 2, high - low
    axis, positive = BOX_FACES.index(name) // 2, BOX_FACES.index(name) % 2 == 1  # in the order left, right, front, back, ...
    at = middle.copy()
    at[axis] = high[axis] if positive else low[axis]
    across = [size[i] for i in range(3) if i != axis]
    facing = f"{'+' if positive else '-'}{'XYZ'[axis]}"
    return Face.model_validate({"name": name, "flat": {"facing": facing, "at": at.tolist(), "size": across}, "made": False})


def _nearest(fits: Iterator[Callable[[], F]]) -> F:
    """The first search that finds the face; the last refusal if none does."""
    for fit in fits:
        try:
            return fit()
        except InputRefused as refusal:
            last = refusal
    raise last


def _plane(flat: Flat, part: Field) -> PlaneFit:
    axis = _AXES[flat.facing[1]]
    facing = np.zeros(3)
    facing[axis] = 1.0 if flat.facing[0] == "+" else -1.0
    half = np.zeros(3)
    half[[i for i in range(3) if i != axis]] = np.array(flat.size) / 2

    def search(reach: float) -> Callable[[], PlaneFit]:
        around = half.copy()
        around[axis] = reach
        region = BoxRegion((np.array(flat.at) - around).tolist(), (np.array(flat.at) + around).tolist())
        return lambda: fit_plane(part, region, facing=facing.tolist())

    return _nearest(search(reach) for reach in _SEARCH_MM)


def _round(face: Face, part: Field) -> RoundFit:
    stated = face.bore or face.boss
    if stated is None:
        raise InputRefused.because(f"“{face.name}” is flat", why="a diameter or a centre is wanted")
    bore: Bore = stated
    bottom, top = sorted((bore.from_, bore.to))
    radius = bore.diameter / 2

    def search(reach: float) -> Callable[[], RoundFit]:
        region = BandRegion(bore.centre, max(radius - reach, 0.0), radius + reach, bottom, top)
        return lambda: fit_round(part, region, hole=face.bore is not None)

    return _nearest(search(reach) for reach in _SEARCH_MM)
