"""The places of a setup a person can touch, in work coordinates, and how far each may lie from where the job says.

The datum defines the work frame: what it names lies exactly where the job says, and everything else may be off by what its
maker leaves. "left and right" as a datum is the middle between both faces; two bores joined by "and" give the angle.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from setwright.base.errors import InputRefused
from setwright.estimate.distribution import Rectangular
from setwright.geometry.frames import quarter_turns
from setwright.model.job import BOX_FACES, Blank, Face, Job, Setup, joined
from setwright.touch.conditions import Conditions
from setwright.touch.unknowns import Unknown

__all__ = ["HOLDING_FACES", "Feature", "Flat", "Round", "box_of", "features_of", "find_feature", "ways_of"]

Triple = tuple[float, float, float]
HOLDING_FACES = ("fixed jaw", "end stop", "parallels", "jaw top")
"""Faces of the holding rather than of the part."""

_FACING = {"left": (0, -1), "right": (0, 1), "front": (1, -1), "back": (1, 1), "bottom": (2, -1), "top": (2, 1)}
_AXES = "xyz"


@dataclass(frozen=True, slots=True)
class Flat:
    """A flat face. `axis` 0..2 and `side` ±1: its outward direction in W; `at`: coordinate of the face along the axis (mm).

    `terms`: unknown deviations, each with the factor by which it moves the face outward. `middle`, `half`: centre and half
    extent of the face, (3,) in W. `gives_angle`: the datum takes the part's direction from it.
    """

    name: str
    axis: int
    side: int
    at: float
    middle: Triple
    half: Triple
    terms: tuple[tuple[Unknown, float], ...] = ()
    gives_angle: bool = True

    @property
    def normal(self) -> Triple:
        """Outward unit normal in W."""
        normal = [0.0, 0.0, 0.0]
        normal[self.axis] = float(self.side)
        return normal[0], normal[1], normal[2]


@dataclass(frozen=True, slots=True)
class Round:
    """An upright cylindrical face: bore (`inside`) or boss, mm in W.

    `size`: its unknown radius deviation; `place`: unknown deviations of its centre, each with its axis. `level`, `half`: middle
    and half of its height.
    """

    name: str
    inside: bool
    centre: tuple[float, float]
    radius: float
    size: Unknown
    place: tuple[tuple[Unknown, int], ...] = ()
    level: float = 0.0
    half: float = 0.0


Feature = Flat | Round


def ways_of(feature: Feature) -> tuple[str, ...]:
    """The ways a tip can meet a face, as readings name them; none for a face that looks down."""
    if isinstance(feature, Round):
        return "+X", "-X", "+Y", "-Y", "sweep"
    if feature.axis == 2:
        return ("-Z",) if feature.side > 0 else ()
    return (("+" if feature.side < 0 else "-") + "XYZ"[feature.axis],)


def box_of(blank: Blank, job: Job) -> Triple | None:
    """Size of the box around the blank along X, Y, Z of its setup; None for a mesh."""
    if blank.box is not None:
        return blank.box
    if blank.cylinder is not None:
        return blank.cylinder.diameter, blank.cylinder.diameter, blank.cylinder.height
    if blank.from_ is None:
        return None
    before = box_of(job.setup_named(blank.from_).blank, job)
    if before is None:
        return None
    turn = quarter_turns(blank.turned)
    x, y, z = (float(sum(abs(int(turn[i, j])) * before[j] for j in range(3))) for i in range(3))
    return x, y, z


def features_of(job: Job, setup: Setup, conditions: Conditions) -> dict[str, Feature]:
    """Every touchable place of a setup by its name."""
    found: dict[str, Feature] = {}
    box = box_of(setup.blank, job)
    if box is not None and setup.blank.cylinder is None:
        for name in BOX_FACES:
            found[name] = _box_face(name, job, setup, box, conditions)
    elif box is not None:
        for name in ("bottom", "top"):
            found[name] = _box_face(name, job, setup, box, conditions)
        found["outside"] = _outside(setup, conditions)
    for face in setup.face:
        if face.slope is None:  # a leaning face is measured on the part, not touched
            found[face.name] = _written(face, setup, conditions)
    for name, against in (("fixed jaw", setup.holding.fixed_jaw), ("end stop", setup.holding.end_stop)):
        if against is not None and isinstance(touched := found.get(against.against), Flat):
            found[name] = _facing(name, touched)
    if setup.holding.parallels > 0.0 and isinstance(bottom := found.get("bottom"), Flat):
        found["parallels"] = _facing("parallels", bottom)
    vise = job.shop.holding[setup.holding.use].vise
    if vise is not None and isinstance(bottom := found.get("bottom"), Flat):
        rise = vise.jaw_height - setup.holding.parallels
        datum = setup.datum.z.face == "jaw top"
        at = setup.datum.z.is_ if datum else bottom.at + rise
        jaw = _facing("jaw top", bottom)
        found["jaw top"] = replace(jaw, at=at, middle=(*jaw.middle[:2], at), terms=() if datum else jaw.terms)
    return found


def find_feature(features: Mapping[str, Feature], name: str, *, who: str = "") -> Feature:
    """The feature of that name, refused with the nearest known name; `who`: the reading that names it ("contact 3")."""
    if name in features:
        return features[name]
    near = difflib.get_close_matches(name, features, n=1)
    hint = f'did you mean "{near[0]}"?' if near else f"this setup has: {', '.join(sorted(features))}"
    raise InputRefused.because(f'{who}: there is no face "{name}" in this setup'.removeprefix(": "), remedy=hint)


def _angle_names(setup: Setup) -> tuple[str, ...]:
    jaw = setup.holding.fixed_jaw
    return tuple(jaw.against if part == "fixed jaw" and jaw else part for part in joined(setup.datum.angle))


def _deviation(
    name: str, axis: int, setup: Setup, half_width: float, *, guess: str = ""
) -> tuple[tuple[Unknown, float], ...]:
    """How a flat face may be off along its axis, given what the datum names there. `guess`: what to measure where nobody did."""
    named = setup.datum_names[axis]
    label = f"size of the part along {_AXES[axis].upper()}"
    if name in named and len(named) == 1:
        return ()
    if half_width <= 0.0:
        return ()
    if name in named:
        return ((Unknown(f"width {_AXES[axis]}", 0.0, Rectangular(0.0, 2.0 * half_width), label, guess=guess), 0.5),)
    return ((Unknown(f"place of {name}", 0.0, Rectangular(0.0, half_width), label, guess=guess), 1.0),)


def _box_face(name: str, job: Job, setup: Setup, box: Triple, conditions: Conditions) -> Flat:
    axis, side = _FACING[name]
    least = setup.blank.corner
    most = tuple(c + s for c, s in zip(least, box, strict=True))
    at = most[axis] if side > 0 else least[axis]
    if axis == 2 and name in setup.datum_names[2]:
        at = setup.datum.z.is_
    middle = [least[i] + 0.5 * box[i] for i in range(3)]
    half = [0.5 * s for s in box]
    middle[axis], half[axis] = at, 0.0
    varies, guess = _varies(job, setup, axis, conditions)
    return Flat(name, axis, side, at, _triple(middle), _triple(half), _deviation(name, axis, setup, varies, guess=guess),
                _angle_from(name, axis, setup))  # fmt: skip


def _varies(job: Job, setup: Setup, axis: int, conditions: Conditions) -> tuple[float, str]:
    """How far the blank's size along an axis may be off, ± mm, and what to measure where a draft guessed it."""
    blank = setup.blank
    if "varies" not in blank.model_fields_set and job.guessed(setup.name, "job.toml: setup.blank"):
        return conditions.guessed_size, f"the blank's size along {_AXES[axis].upper()}"
    if blank.from_:
        return max(blank.varies[axis], conditions.feature_place), ""
    return blank.varies[axis] if "varies" in blank.model_fields_set else conditions.blank_size, ""


def _angle_from(name: str, axis: int, setup: Setup) -> bool:
    return axis == 2 or name in _angle_names(setup)


def _outside(setup: Setup, conditions: Conditions) -> Round:
    cylinder = setup.blank.cylinder
    if cylinder is None:
        raise ValueError("only a round blank has an outside")
    radius = 0.5 * cylinder.diameter
    centre = setup.blank.corner[0] + radius, setup.blank.corner[1] + radius
    half = max(setup.blank.varies[0], conditions.bore_size)
    height = setup.blank.corner[2], setup.blank.corner[2] + cylinder.height
    return _round("outside", setup, centre, radius, half, conditions, height=height, inside=False)


def _round(name: str, setup: Setup, centre: tuple[float, float], radius: float, half: float, conditions: Conditions, *,
           height: tuple[float, float], inside: bool) -> Round:  # fmt: skip
    size = Unknown(f"radius of {name}", 0.0, Rectangular(0.0, 0.5 * half), f"size of {name}")
    datum, angle = setup.datum_names, _angle_names(setup)
    place = []
    for axis in (0, 1):
        if name in datum[axis]:
            continue
        across = name in angle and len(angle) == 2 and axis == _across(setup, angle)
        if across and angle[0] != name:
            continue
        prior = Rectangular(0.0, conditions.feature_place)
        place.append((Unknown(f"place of {name} {_AXES[axis]}", 0.0, prior, f"place of {name}"), axis))
    return Round(name, inside, centre, radius, size, tuple(place), 0.5 * sum(height), 0.5 * abs(height[1] - height[0]))


def _across(setup: Setup, names: tuple[str, ...]) -> int:
    """The axis across the line through two bores: the one that tells the angle."""
    centres = {face.name: (face.bore or face.boss).centre for face in setup.face if face.bore or face.boss}  # type: ignore[union-attr]
    if not all(name in centres for name in names):
        return 1
    (ax, ay), (bx, by) = (centres[name] for name in names)
    return 1 if abs(bx - ax) >= abs(by - ay) else 0


def _written(face: Face, setup: Setup, conditions: Conditions) -> Feature:
    if face.flat is None:
        shape = face.bore or face.boss
        if shape is None:
            raise ValueError("a face is a bore, a boss or a flat")
        return _round(face.name, setup, shape.centre, 0.5 * shape.diameter, conditions.bore_size, conditions,
                      height=(shape.from_, shape.to), inside=face.bore is not None)  # fmt: skip
    axis, side = _AXES.index(face.flat.facing[1].lower()), 1 if face.flat.facing[0] == "+" else -1
    at = face.flat.at[axis]
    if axis == 2 and face.name in setup.datum_names[2]:
        at = setup.datum.z.is_
    middle, half = list(face.flat.at), [0.0, 0.0, 0.0]
    middle[axis] = at
    for other, size in zip([i for i in range(3) if i != axis], face.flat.size, strict=True):
        half[other] = 0.5 * size
    return Flat(face.name, axis, side, at, _triple(middle), _triple(half),
                _deviation(face.name, axis, setup, conditions.feature_place), _angle_from(face.name, axis, setup))  # fmt: skip


def _facing(name: str, touched: Flat) -> Flat:
    """The face of the holding that a face of the part sits against: same place, looking the other way."""
    terms = tuple((unknown, -factor) for unknown, factor in touched.terms)
    return Flat(name, touched.axis, -touched.side, touched.at, touched.middle, touched.half, terms, touched.gives_angle)


def _triple(values: list[float]) -> Triple:
    return values[0], values[1], values[2]
