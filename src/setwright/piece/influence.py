"""How each feature of the part moves with each register, by cutting the part again with that register moved.

A column is the central difference of two parts cut with the register a hundredth of a millimetre above and below what it holds.
The fits to ray ends are exact to round-off, and sizes of flat walls and upright rounds follow a register in a straight line, so
that an entry is exact to about COORDINATE_ROUND_OFF_MM / step, 1e-7; what curves otherwise adds the third order of the step.

What moves features though no register holds it stands beside the registers: the diameter of a tool that is not compensated, the
direction of the part. A change of the features that only these explain cannot be typed away.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import null_space

from setwright.base.errors import InputRefused
from setwright.base.tolerance import INFLUENCE_SEEN
from setwright.hover.consequence import followed
from setwright.hover.reference import Reference, reference_of
from setwright.kit.station import Kit
from setwright.model.job import Face, SetupTool
from setwright.model.requirement import PositionOf, Requirement, Size
from setwright.prove.compute import Progress
from setwright.prove.features import measure_requirement, measure_requirements, measured_centres
from setwright.removal.ready import Ready
from setwright.slips.case import SlipCase, Typed
from setwright.slips.changes import Change, hung_by
from setwright.slips.world import World, part_turned

__all__ = ["Blind", "Cause", "Influence", "Place", "influence_of"]

_STEP_MM: Final = 0.01
"""How far a register is moved either way: far above round-off, far below what would bring other faces into a fit."""

_STEP_RAD: Final = 0.0001
_UNMEASURED_MM: Final = 0.5
"""One standard deviation of the length of a tool that nobody measured."""

_USUAL_RADIUS_MM: Final = 0.01
"""One standard deviation of the radius of a tool that nobody measured."""

_LEAST_TURN_RAD: Final = 0.00002
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cause:
    """What moves features: a register (`typed`), or something of the kit that no register holds. `standard`: one standard deviation
    of how far it may be off before a piece is measured, mm, for a direction rad; `station`: the tool it belongs to."""

    name: str
    typed: Typed | None
    standard: float
    station: int | None = None
    change: Change | None = field(default=None, repr=False, compare=False)
    unit: Literal["mm", "rad"] = "mm"

    @property
    def step(self) -> float:
        """How far it is moved."""
        return _STEP_MM if self.unit == "mm" else _STEP_RAD


@dataclass(frozen=True, slots=True)
class Place:
    """One number of the part that follows registers: a size, or a coordinate of a centre, by the name it is measured under.

    `simulated`: as the program makes it with every register right, `aim`: the middle of its limits, mm; `half`: half the width of
    the limits, None where there are none; a coordinate has half the zone of its position. `requirement`: what it belongs to.
    """

    name: str
    requirement: str
    axis: Literal["", "x", "y"]
    simulated: float
    aim: float
    half: float | None
    limits: Size


@dataclass(frozen=True, slots=True)
class Blind:
    """Registers that measured features cannot tell apart: `share` of each, with its sign, in a change that moves none of them;
    `apart`: what would tell them apart, "" where nothing on the part does."""

    share: tuple[tuple[str, float], ...]
    apart: str


@dataclass(frozen=True, slots=True)
class Influence:
    """`matrix[i, j]`: mm of place i for one mm (rad) of cause j, float64. `others`: places that nobody asks for, by words, with
    their rows; `left_out`: features that registers do not move in a straight line or that are not found, with why."""

    kit: Kit
    places: tuple[Place, ...]
    causes: tuple[Cause, ...]
    matrix: Array = field(repr=False)
    others: tuple[tuple[str, Array], ...] = field(default=(), repr=False)
    left_out: tuple[tuple[str, str], ...] = ()

    @property
    def registers(self) -> list[int]:
        """Numbers of the causes that are registers."""
        return [number for number, cause in enumerate(self.causes) if cause.typed is not None]

    def doubled(self, causes: Sequence[int]) -> Array:
        """By how much a register's number is greater than what the machine moves by: 2 for diameters, else 1."""
        diameters = self.kit.machine.control.radius_register == "diameter"
        kinds = [typed.kind if (typed := self.causes[number].typed) is not None else "" for number in causes]
        return np.array([2.0 if diameters and kind == "radius" else 1.0 for kind in kinds])

    def rows(self, names: Sequence[str]) -> list[int]:
        """Numbers of the places of these names, in their order."""
        by_name = {place.name: number for number, place in enumerate(self.places)}
        return [by_name[name] for name in names]

    def unseen(self, rows: Sequence[int]) -> list[str]:
        """Registers that none of these places shows."""
        seen = np.abs(self.matrix[list(rows)]).max(axis=0, initial=0.0) > INFLUENCE_SEEN
        return [self.causes[number].name for number in self.registers if not seen[number]]

    def blind(self, rows: Sequence[int]) -> list[Blind]:
        """Registers that these places see but cannot tell apart, in the smallest groups."""
        here = self.matrix[list(rows)]
        seen = [number for number in self.registers if np.abs(here[:, number]).max(initial=0.0) > INFLUENCE_SEEN]
        if not seen:
            return []
        basis = _reduced(null_space(here[:, seen], rcond=INFLUENCE_SEEN).T)
        found = []
        for vector in basis:
            whole = np.zeros(len(self.causes))
            whole[seen] = vector
            share = tuple((self.causes[number].name, float(whole[number])) for number in seen
                          if abs(whole[number]) > INFLUENCE_SEEN)  # fmt: skip
            found.append(Blind(share, self.apart(whole, rows)))
        return found

    def apart(self, direction: Array, rows: Sequence[int]) -> str:
        """What moves most along a direction of the causes, "" where nothing does: a place of the drawing that was not measured,
        else another distance on the part."""
        asked = [(abs(float(self.matrix[number] @ direction)), place.name) for number, place in enumerate(self.places)
                 if number not in rows]  # fmt: skip
        free = [(abs(float(row @ direction)), words) for words, row in self.others]
        for among in (asked, free):
            best = max(among, default=(0.0, ""), key=lambda one: one[0])
            if best[0] > INFLUENCE_SEEN:
                return best[1]
        return ""


def influence_of(world: World, *, pitch_mm: float | None = None, progress: Progress | None = None) -> Influence:
    """Cut the part of a world as it should be, and again with every register and cause moved. Raises InputRefused where the setup
    cannot be cut to its end."""
    reference = reference_of(world, pitch_mm=pitch_mm)
    kit, case = world.kit, reference.course.case
    extras = _extras(kit)
    good = _measure(world, reference, extras)
    if good is None:
        raise InputRefused.because("the program does not run to its end without a crash, so no feature follows a register",
                                   remedy=f"see: setwright prove, setup “{kit.setup.name}”")  # fmt: skip
    names = list(good)
    columns, causes = [], _causes(case)
    for number, cause in enumerate(causes):
        if progress is not None:
            progress("moving registers", number, len(causes))
        ends = [_measure(_moved(cause, sign * cause.step)(world), reference, extras) for sign in (-1.0, 1.0)]
        low, high = ends
        if low is None or high is None:
            raise InputRefused.because(f"{cause.name} cannot be moved by {cause.step:g} {cause.unit} without a crash",
                                       remedy=f"see: setwright prove, setup “{kit.setup.name}”")  # fmt: skip
        columns.append([(high.get(name, math.nan) - low.get(name, math.nan)) / (2.0 * cause.step) for name in names])
    rows = dict(zip(names, np.array(columns).T, strict=True))
    return _put_together(kit, causes, good, rows, extras)


def _put_together(kit: Kit, causes: Sequence[Cause], good: dict[str, float], rows: dict[str, Array],
                  extras: Sequence[tuple[str, Requirement]]) -> Influence:  # fmt: skip
    places, left_out = [], []
    for place, why in _places(kit, good):
        if place is not None and np.isfinite(rows[place.name]).all():
            places.append(place)
        else:
            left_out.append((place.name if place is not None else why[0], why[1]))
    others = tuple((words, rows[words]) for words, _ in extras if words in rows and np.isfinite(rows[words]).all())
    matrix = np.array([rows[place.name] for place in places]).reshape(len(places), len(causes))
    return Influence(kit, tuple(places), tuple(causes), matrix, others, tuple(left_out))


def _places(kit: Kit, good: dict[str, float]) -> list[tuple[Place | None, tuple[str, str]]]:
    """Every requirement as the numbers that follow registers, or None with its name and why it does not."""
    found: list[tuple[Place | None, tuple[str, str]]] = []
    for behind in ("", *(f" ({offset})" for offset in kit.setup.shifts)):
        for requirement in kit.setup.requirement:
            name, limits = requirement.name + behind, requirement.limits
            lost = (name, "its face is not found on the simulated part")
            if requirement.position is not None:
                for axis, nominal in _coordinates(requirement.position):
                    own = f"{name} {axis}"
                    place = Place(own, name, axis, good[own], nominal, limits.upper / 2, limits) if own in good else None
                    found.append((place, lost))
            elif requirement.between is not None or requirement.diameter is not None:
                middle, half = limits.nominal + (limits.lower + limits.upper) / 2, (limits.upper - limits.lower) / 2
                found.append((Place(name, name, "", good[name], middle, half or None, limits) if name in good else None, lost))
            else:
                found.append((None, (name, "it does not follow offsets, lengths and radii")))
    return found


def _coordinates(position: PositionOf) -> tuple[tuple[Literal["x", "y"], float], ...]:
    return ("x", position.x), ("y", position.y)


def _measure(world: World, reference: Reference, extras: Sequence[tuple[str, Requirement]]) -> dict[str, float] | None:
    """Every number of the part by its name; None where the program ends in a crash."""
    after = followed(world, reference).after
    if after is None:
        return None
    kit, part = reference.course.world.kit, Ready(after, before=reference.finished)
    found = {feature.name: feature.simulated for feature in measure_requirements(kit, part)}
    for name, (x, y) in measured_centres(kit, part).items():
        found |= {f"{name} x": x, f"{name} y": y}
    for words, requirement in extras:
        found[words] = measure_requirement(requirement, kit, part).simulated
    return {name: value for name, value in found.items() if value is not None}


def _moved(cause: Cause, by: float) -> Change:
    if cause.typed is not None:
        return cause.typed.holding(cause.typed.value + by)
    if cause.station is not None:
        return hung_by(cause.station, radius=by / 2)
    return lambda world: part_turned(world, by)


def _causes(case: SlipCase) -> list[Cause]:
    truth, kit = case.world.truth, case.kit
    tools = {tool.station: tool for tool in case.used}
    found = []
    for typed in case.offsets:
        found.append(Cause(typed.name, typed, max(truth.u_place[typed.axis], typed.step / 2)))
    for typed in case.lengths:
        standard = _UNMEASURED_MM if typed.station in truth.unmeasured else truth.u_length
        found.append(Cause(typed.name, typed, max(standard, typed.step / 2), typed.station))
    for typed in case.radii:
        standard = max(_radius_varies(tools[typed.station or 0]), typed.step / 2)
        found.append(Cause(typed.name, typed, standard, typed.station))
    compensated = {typed.station for typed in case.radii}
    for station, tool in tools.items():
        if station not in compensated and station in kit.tools:
            standard = 2.0 * max(_radius_varies(tool), kit.machine.control.increment)
            found.append(Cause(f"diameter of T{station}", None, standard, station))
    return [*found, Cause("direction of the part", None, max(truth.u_angle, _LEAST_TURN_RAD), unit="rad")]


def _radius_varies(tool: SetupTool) -> float:
    """One standard deviation of a tool's radius, mm."""
    return tool.preset.varies if tool.preset.radius is not None else _USUAL_RADIUS_MM


def _extras(kit: Kit) -> list[tuple[str, Requirement]]:
    """Distances from faces that the program makes to faces of the blank: what could be measured besides what the drawing asks."""
    sides = {"X": "left", "Y": "back", "Z": "bottom"}
    found = []
    for face in kit.setup.face:
        for axis in _axes(face) if face.made else "":
            words = f"the distance of “{face.name}” from the blank's {sides[axis]} face"
            distance = {"name": words[:200], "between": (face.name, sides[axis]), "size": 1.0}
            found.append((words, Requirement.model_validate(distance)))
    return found


def _axes(face: Face) -> str:
    """Along which axes a face has a place."""
    if face.flat is not None:
        return face.flat.facing[1]
    return "" if face.slope is not None else "XY"


def _reduced(basis: Array) -> Array:
    """The same space by vectors with as few entries as elimination gives, each with 1 as its first."""
    rows, done = basis.copy(), 0
    for column in range(rows.shape[1]):
        if done == len(rows):
            break
        pivot = done + int(np.argmax(np.abs(rows[done:, column])))
        if abs(rows[pivot, column]) <= INFLUENCE_SEEN:
            continue
        rows[[done, pivot]] = rows[[pivot, done]]
        rows[done] /= rows[done, column]
        others = np.arange(len(rows)) != done
        rows[others] -= np.outer(rows[others, column], rows[done])
        done += 1
    return rows[:done]
