"""Requirements of the drawing measured on the simulated part.

A requirement is measured on all that is found of its faces: the fitted size, and the least and the greatest that any place of them
gives. Where it does not come out, what the face is made of is said in words.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.base.units import format_length, format_share, format_size
from setwright.kit.station import Kit
from setwright.model.job import Face, joined
from setwright.model.requirement import AngleOf, EvenOf, PositionOf, Requirement
from setwright.prove.case import WHOLE_SHARE, Feature, NoDatum, UnmadeFace
from setwright.prove.closer import Closer
from setwright.prove.sight import NEAREST_MM, REACH_MM, FaceAway, Seen, Sight, facing_of, is_round
from setwright.removal.evenness import Evenness, evenness
from setwright.removal.field import BLANK, Field
from setwright.removal.measure import PlaneFit, RoundFit, angle_between, centre_of, fit_plane, round_of, spacing
from setwright.removal.ready import Ready, made_ready

__all__ = ["face_ends", "faces_not_there", "measure_requirement", "measure_requirements", "measured_centres", "unmade_faces"]

_BANDS = 25
"""Slices of its depth in which the axis of a round face is looked at by itself."""

_LEVELS = 3
"""A face at more levels than this is told by its least and greatest."""

_MOST_OF_IT = 0.5
"""A face that stands in its place on less of its area is not there to take zero from."""

_STEP_MM = 0.002
"""Levels nearer than this are told as one."""

_Array = NDArray[np.float64]
_Spread = tuple[float, float]
_Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Part:
    """One face in a measurement: `gain`, by how much the size grows where metal stands 1 mm above the face's mean; None where the
    size does not follow it so plainly."""

    seen: Seen
    gain: float | None = None


@dataclass(frozen=True, slots=True)
class _Measured:
    """A number and how far off round-off and chords can have made it, mm, for an angle degrees; the least and the greatest that any
    place of its faces gives."""

    value: float
    bound: float
    spread: _Spread
    parts: tuple[_Part, ...]


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
            found.append(int((np.abs(sight.seen(face).away) <= NEAREST_MM).sum()))
        except InputRefused:
            found.append(0)
    return min(found)


def measured_centres(kit: Kit, part: Field | Ready) -> dict[str, tuple[float, float]]:
    """Where the axis of each round face lies that a position is asked of, X and Y in mm from the zero of its own part, by the name
    the requirement has in `measure_requirements`; one that is not found is left out."""
    found: dict[str, tuple[float, float]] = {}
    for behind, shift in (("", (0.0, 0.0, 0.0)), *((f" ({offset})", shift) for offset, shift in kit.setup.shifts.items())):
        sight = Sight(kit, part, shift)
        for requirement in kit.setup.requirement:
            if requirement.position is not None:
                try:
                    x, y = _seen_round(sight.face(requirement.position.of), sight)[1].centre
                except InputRefused:
                    continue
                found[requirement.name + behind] = (x - shift[0], y - shift[1])
    return found


def unmade_faces(kit: Kit, part: Field | Ready) -> tuple[UnmadeFace, ...]:
    """The faces stated as made of which some part is not cut by any motion, or that are not found where they are stated."""
    found = [_unmade(face, Sight(kit, part)) for face in kit.setup.face if face.made]
    return tuple(face for face in found if face is not None)


def _unmade(face: Face, sight: Sight) -> UnmadeFace | None:
    try:
        seen = sight.seen(face)
    except InputRefused as refusal:
        return UnmadeFace(face.name, why=refusal.problems[0].why if _lost(refusal) else _why(refusal), lost=_lost(refusal))
    skin = seen.ends.ident == BLANK
    uncut = seen.share(skin) + seen.proud / seen.area
    share = uncut + seen.outside / seen.area
    if share <= 1.0 - WHOLE_SHARE:
        return None
    behind = -seen.away[skin]
    missing = 0.0 if is_round(face) or not skin.any() else float(behind.max())
    beyond = seen.beyond(sight.kit.folder.units)
    return UnmadeFace(face.name, missing_mm=missing, share=min(1.0, share), beyond=beyond, uncut=uncut)


def faces_not_there(kit: Kit, before: Ready, part: Ready) -> tuple[NoDatum, ...]:
    """The faces stated as made by the program that the setup takes its zero from, and that the blank `before` it does not have in
    their places. `part`: what the program leaves."""
    datum = {"xyz"[axis]: names for axis, names in kit.setup.datum_names.items()} | {"angle": joined(kit.setup.datum.angle)}
    gives = {face.name: tuple(key for key, names in datum.items() if face.name in names) for face in kit.setup.face}
    named = [face for face in kit.setup.face if face.made and gives[face.name]]
    found = [_not_there(face, gives[face.name], Sight(kit, before), Sight(kit, part)) for face in named]
    return tuple(one for one in found if one is not None)


def _not_there(face: Face, gives: tuple[str, ...], before: Sight, after: Sight) -> NoDatum | None:
    try:
        seen = before.seen(face)
    except FaceAway as refusal:
        if refusal.lost <= 1.0 - WHOLE_SHARE:
            return None  # it leans there, or is curved
        return NoDatum(face.name, gives, None, _maker(face, after))
    except InputRefused:
        return None
    if seen.share(np.abs(seen.away) <= NEAREST_MM) >= _MOST_OF_IT:
        return None
    return NoDatum(face.name, gives, seen.mean, _maker(face, after))


def _maker(face: Face, after: Sight) -> int:
    """The motion that makes most of a face, -1 if none does."""
    try:
        made = after.seen(face).ends.ident
    except InputRefused:
        return -1
    motions, count = np.unique(made[made != BLANK], return_counts=True)
    return int(motions[np.argmax(count)]) if motions.size else -1


def _lost(refusal: InputRefused, *, wide: bool = False) -> float:
    """The share of a face that is surely not there, by what the refusal knows; `wide`: metal more than REACH_MM away may be it."""
    if not isinstance(refusal, FaceAway):
        return 0.0
    return refusal.outside if wide else refusal.lost


def _why(refusal: InputRefused) -> str:
    first = refusal.problems[0]
    return ", ".join(text for text in (first.what, first.why) if text)


def _feature(requirement: Requirement, sight: Sight, name: str, closer: Closer | None) -> Feature:
    size, unit = requirement.limits, "mm" if requirement.angle is None else "deg"
    wide = max(abs(size.lower), abs(size.upper)) >= REACH_MM  # so wide a limit may reach to where the face is
    try:
        measured = _measure(requirement, sight, closer)
    except InputRefused as refusal:
        return Feature(name, size, None, 0.0, _why(refusal), unit=unit, found=0.0, lost=_lost(refusal, wide=wide))
    worst = min((part.seen for part in measured.parts), key=lambda seen: seen.found)
    lost = max(part.seen.outside / part.seen.area if wide else part.seen.lost for part in measured.parts)
    feature = Feature(name, size, measured.value, measured.bound, unit=unit, found=worst.found, lost=lost,
                      least=measured.spread[0], greatest=measured.spread[1])  # fmt: skip
    return feature.saying(_reason(feature, measured, sight.kit.folder.units))


def _measure(requirement: Requirement, sight: Sight, closer: Closer | None) -> _Measured:
    if requirement.position is not None:
        return _position(requirement.position, sight)
    if requirement.diameter is not None:
        return _diameter(sight.face(requirement.diameter), sight)
    if requirement.flatness is not None or requirement.cusp is not None:
        wanted = requirement.flatness or requirement.cusp
        if wanted is None:
            raise AssertionError("one of the two is there")
        part = _Part(sight.seen(sight.face(wanted.of)))
        even = _evenness(wanted, sight, closer)
        value = even.flatness if requirement.flatness is not None else even.cusp
        return _Measured(value, even.bound, (value, value), (part,))
    if requirement.angle is not None:
        return _angle(requirement.angle, sight)
    if requirement.between is None:
        raise AssertionError("a requirement of no kind passed validation")
    first, second = requirement.between
    return _distance(sight.face(first), sight.face(second), sight)


def _seen_round(face: Face, sight: Sight) -> tuple[Seen, RoundFit]:
    if not is_round(face):
        raise InputRefused.because(f"“{face.name}” is flat", why="a diameter or a centre is wanted")
    seen, slack = sight.seen(face), made_ready(sight.part).slack
    return seen, seen.once("round", lambda: round_of(seen.ends, hole=face.bore is not None, slack=slack))


def _seen_plane(face: Face, sight: Sight) -> tuple[Seen, PlaneFit]:
    """A flat or leaning face, and the plane as it is stated to lie through the middle of it."""
    seen, slack = sight.seen(face), made_ready(sight.part).slack
    return seen, seen.once("plane", lambda: _plane_of(seen, slack))


def _plane_of(seen: Seen, slack: float) -> PlaneFit:
    facing = facing_of(seen.face)
    heights = seen.ends.points @ facing
    x, y, z = seen.ends.points.mean(axis=0).tolist()
    nx, ny, nz = facing.tolist()
    motions = tuple(np.unique(seen.ends.ident).tolist())
    return PlaneFit((nx, ny, nz), float(heights.mean()), (x, y, z), heights.size, float(np.ptp(heights)),
                    slack + COORDINATE_ROUND_OFF_MM, motions)  # fmt: skip


def _diameter(face: Face, sight: Sight) -> _Measured:
    """Twice the radius; the least and greatest twice the distance of a place from the fitted axis."""
    seen, fit = _seen_round(face, sight)
    radii = np.hypot(*(seen.ends.points[:, :2] - np.array(fit.centre)).T)
    gain = -2.0 if face.bore is not None else 2.0
    return _Measured(fit.diameter, fit.bound, (2 * float(radii.min()), 2 * float(radii.max())), (_Part(seen, gain),))


def _position(wanted: PositionOf, sight: Sight) -> _Measured:
    """Twice how far the axis lies off; the greatest that of any slice of the depth."""
    seen, fit = _seen_round(sight.face(wanted.of), sight)
    place = np.array([wanted.x, wanted.y]) + sight.shift[:2]
    off = 2.0 * np.linalg.norm(_centres(seen, fit) - place, axis=1)
    value = 2.0 * float(np.linalg.norm(np.array(fit.centre) - place))
    spread = min(value, float(off.min(initial=value))), max(value, float(off.max(initial=value)))
    return _Measured(value, 2.0 * math.sqrt(2.0) * fit.bound_centre, spread, (_Part(seen),))


def _centres(seen: Seen, fit: RoundFit) -> _Array:
    """Where the axis of a round face lies in slices of its depth, float64 (n, 2), mm; slices that do not settle it are left out."""
    found = seen.once("slices", lambda: _slices(seen))
    return np.array([centre for centre, arc_deg in found if arc_deg >= min(fit.arc_deg / 2, 180.0)], np.float64).reshape(-1, 2)


def _slices(seen: Seen) -> list[tuple[_Spot, float]]:
    """Centre and arc (degrees) of each slice of a round face that has a circle."""
    levels, of_end = np.unique(seen.level, return_inverse=True)
    slices = np.array_split(levels, min(_BANDS, levels.size))
    number = np.repeat(np.arange(len(slices)), [rows.size for rows in slices])[of_end]
    order, hole = np.argsort(number, kind="stable"), seen.face.bore is not None
    ends = seen.ends.where(order)
    edges = np.searchsorted(number[order], np.arange(len(slices) + 1)).tolist()
    each = (centre_of(ends.where(slice(a, b)), hole=hole) for a, b in itertools.pairwise(edges))
    return [one for one in each if one is not None]


def _angle(wanted: AngleOf, sight: Sight) -> _Measured:
    """The angle that lies nearer to the stated one, of the two that planes make; how even they are is in its bound."""
    faces = [sight.face(name) for name in wanted.between]
    for face in faces:
        if is_round(face):
            raise InputRefused.because(f"“{face.name}” is round", why="a flat face is wanted")
    parts = tuple(_Part(sight.seen(face)) for face in faces)
    one, two = (fit_plane(sight.part, sight.region(face), facing=facing_of(face).tolist(), tilt=True) for face in faces)
    angle, bound = angle_between(one, two)
    nearest = math.degrees(min((angle, math.pi - angle), key=lambda value: abs(value - wanted.is_)))
    return _Measured(nearest, math.degrees(bound), (nearest, nearest), parts)


def _evenness(wanted: EvenOf, sight: Sight, closer: Closer | None) -> Evenness:
    """A face's evenness; cut again with closer rays where the part's rays leave more doubt than a tenth of what is allowed."""
    face = sight.face(wanted.of)
    if is_round(face):
        raise InputRefused.because(f"“{face.name}” is round", why="a flat face is wanted")
    facing, region = facing_of(face).tolist(), sight.region(face)

    def whole(points: _Array) -> NDArray[np.bool_]:
        return sight.whole(face, points)

    even = evenness(sight.part, region, facing=facing, whole=whole)
    sharpest = _sharpest(sight.kit) if closer is None else closer.sharpest(even.motions)
    even = evenness(sight.part, region, facing=facing, sharpest_mm=sharpest, whole=whole)
    if closer is None or even.bound <= wanted.within / 10:
        return even
    return closer.again(even, region, facing=facing, wanted_mm=wanted.within / 10, whole=whole) or even


def _sharpest(kit: Kit) -> float:
    """The least corner or ball radius of any tool of the kit, mm; inf if none is round."""
    radii = [piece.rho for tool in kit.tools.values() for piece in tool.pieces if piece.rho > 0.0]
    return min(radii, default=math.inf)


def _distance(a: Face, b: Face, sight: Sight) -> _Measured:
    """Between two flats, from a flat to an axis, or between two axes."""
    if not is_round(a) and not is_round(b):
        return _flats_apart(a, b, sight)
    if is_round(a) and is_round(b):
        (seen, first), (other, second) = _seen_round(a, sight), _seen_round(b, sight)
        value = math.dist(first.centre, second.centre)
        spreads = [np.linalg.norm(_centres(one, fit) - np.array(far.centre), axis=1) - value
                   for one, fit, far in ((seen, first, second), (other, second, first))]  # fmt: skip
        bound = math.sqrt(2.0) * (first.bound_centre + second.bound_centre)
        return _Measured(value, bound, _added(value, spreads), (_Part(seen), _Part(other)))
    flat, other_face = (b, a) if is_round(a) else (a, b)
    (seen, plane), (around, axis) = _seen_plane(flat, sight), _seen_round(other_face, sight)
    normal = np.array(plane.normal)
    if abs(normal[2]) > abs(normal[0]) + abs(normal[1]):
        what = f"“{other_face.name}” is an upright bore and “{flat.name}” lies across it"
        raise InputRefused.because(what, why="they have no distance")
    away = float(normal[:2] @ np.array(axis.centre)) - plane.offset
    side = math.copysign(1.0, away)
    spreads = [-side * (seen.away - seen.mean), side * ((_centres(around, axis) - np.array(axis.centre)) @ normal[:2])]
    bound = plane.bound + math.sqrt(2.0) * axis.bound_centre
    return _Measured(abs(away), bound, _added(abs(away), spreads), (_Part(seen, -side), _Part(around)))


def _flats_apart(a: Face, b: Face, sight: Sight) -> _Measured:
    """Ray by ray where the same rays meet both, as those across a slot; else the least and greatest of each face."""
    (one, first), (two, second) = _seen_plane(a, sight), _seen_plane(b, sight)
    apart, parallel = spacing(first, second), float(np.dot(first.normal, second.normal))
    side = math.copysign(1.0, first.offset - parallel * second.offset)
    grows, shrinks = side * (one.away - one.mean), -side * parallel * (two.away - two.mean)
    _, mine, its = np.intersect1d(one.ray, two.ray, assume_unique=True, return_indices=True)
    if _same_bundle(one, two) and mine.size >= WHOLE_SHARE * max(one.ray.size, two.ray.size):
        spreads = [grows[mine] + shrinks[its]]
    else:
        spreads = [grows, shrinks]
    return _Measured(apart.distance, apart.bound, _added(apart.distance, spreads), (_Part(one, side), _Part(two, -side * parallel)))


def _same_bundle(one: Seen, two: Seen) -> bool:
    """Whether both faces are met by the rays of one bundle only, and of the same."""
    return np.unique(np.concatenate([one.ends.axis, two.ends.axis])).size == 1


def _added(value: float, spreads: Sequence[_Array]) -> _Spread:
    """The least and greatest where each of several deviations (mm) can be at its own."""
    low = value + sum(float(one.min(initial=0.0)) for one in spreads)
    return low, value + sum(float(one.max(initial=0.0)) for one in spreads)


def _reason(feature: Feature, measured: _Measured, units: str) -> str:
    """Why a requirement does not come out though its fitted size might: what its faces are made of, in words."""
    if feature.state not in ("out", "undecided") or feature.unit != "mm":
        return _left(measured, units) if feature.found < WHOLE_SHARE else ""
    told = [text for part in measured.parts if (text := _levels(part, measured.value, units))]
    if not told and feature.uneven:
        least, greatest = (format_length(value, units) for value in measured.spread)
        told = [f"it lies between {least.split()[0]} and {greatest}"]
    if feature.found < WHOLE_SHARE:
        told.append(_left(measured, units))
    return "; ".join(told)


def _left(measured: _Measured, units: str) -> str:
    """How much of a face is there, and what is where the rest should be."""
    seen = min((part.seen for part in measured.parts), key=lambda one: one.found)
    told, reach = [f"only {format_share(seen.found)} of “{seen.face.name}” is there"], format_size(REACH_MM, units)
    ways = (seen.proud, f"metal stands more than {reach} above it"), (seen.gone, f"more than {reach} of metal is missing")
    for area, what in ways:
        if area > (1.0 - WHOLE_SHARE) * seen.area:
            told.append(f"on {format_share(area / seen.area)} {what}")
    if seen.outside > (1.0 - WHOLE_SHARE) * seen.area:
        told.append(seen.beyond(units))
    if len(told) == 1:
        told.append("the rest leans or is curved")
    return ", ".join(told)


def _levels(part: _Part, value: float, units: str) -> str:
    """ "1.0 of 17.5 mm is at 32.020, the rest at 30.000": the levels a face stands at, the rarest first; nothing for one level."""
    seen = part.seen
    order = np.argsort(seen.away)
    step = np.diff(seen.away[order]) > _STEP_MM
    level = np.empty(order.size, np.int64)
    level[order] = np.concatenate([[0], np.cumsum(step)])
    if part.gain is None or not 1 <= level.max() < _LEVELS:
        return ""
    groups = [level == number for number in range(int(level.max()) + 1)]
    if any(np.ptp(seen.away[group]) > _STEP_MM for group in groups):
        return ""
    groups.sort(key=lambda group: seen.share(group))
    at = [format_length(value + part.gain * (float(seen.away[group].mean()) - seen.mean), units).split()[0] for group in groups]
    shares = [seen.share(group) for group in groups]
    tall = _tall(seen, groups)
    named = f" of “{seen.face.name}”"
    if tall > 0.0:
        per, unit = (25.4, "in") if units in ("in", "inch") else (1.0, "mm")
        much = [f"{share * tall / per:.1f} of {tall / per:.1f} {unit}" for share in shares]
    else:
        much = [format_share(share) for share in shares]
    told = [f"{some}{named} is at {size}" for some, size in zip(much, at, strict=True)]
    return ", ".join([told[0], *(text.replace(named, "") for text in told[1:-1]), f"the rest at {at[-1]}"])


def _tall(seen: Seen, groups: Sequence[NDArray[np.bool_]]) -> float:
    """The depth of a round face (mm) whose levels follow each other along it; 0 for others."""
    stated = seen.face.bore or seen.face.boss
    rows = sum(np.unique(seen.level[group]).size for group in groups)
    if stated is None or rows != np.unique(seen.level).size:
        return 0.0
    return abs(stated.to - stated.from_)
