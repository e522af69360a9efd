"""Which contact does not agree with the others, what that usually means, and which touch to make next."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np

from setwright.base.units import format_length
from setwright.estimate.least_squares import Array
from setwright.estimate.outliers import check
from setwright.kit.instrument import find_instrument
from setwright.model.instrument import Instrument
from setwright.model.reading import Contact, Display, LengthReading
from setwright.touch.contacts import contact_rows, length_row
from setwright.touch.equations import Equations, Kind, Row
from setwright.touch.features import HOLDING_FACES, Flat, Round, ways_of
from setwright.touch.setting import Setting
from setwright.touch.solution import Solution
from setwright.touch.unknowns import Unknowns
from setwright.touch.wording import shown_digits

__all__ = ["Next", "Outlier", "next_contact", "short_arcs", "tells_apart", "unchecked"]

_WEAK = 0.1
_SHORT_ARC = math.radians(90.0)
_OPPOSITE = {"back": "front", "front": "back", "left": "right", "right": "left"}
_FINDERS = ("mechanical edge finder", "electronic finder", "3D indicator", "touch-trigger probe")
_USUAL_FINDER = "mechanical edge finder 10 mm"
_USUAL_UNDER = "paper"
_APART = 3.0
_CLEARLY = 10.0


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that the others contradict.

    `reading`: its number in the order of entry (from 0); `name`: how it is spoken of; `early` mm: how much too early the contact
    came (negative: late), as the others see it; `w`: in units of its uncertainty; `rivals`: readings that would explain the
    contradiction nearly as well, the odds between them below 20 to 1; `others`: how those are spoken of. `slug`, `why`: what was
    most likely done to a number that is grossly wrong. `kept`: it counts all the same, because a part of another size would explain
    it.
    """

    reading: int
    label: str
    early: float
    w: float
    rivals: tuple[int, ...]
    slug: str = ""
    why: str = ""
    kept: bool = False
    name: str = ""
    others: str = ""

    def text(self, units: str = "mm") -> str:
        """One sentence: how far off, and what that usually is."""
        size = format_length(abs(self.early), units)
        who = f"{self.name} ({self.label})"
        if self.rivals:
            return f"{who} and {self.others} contradict each other by {size}, and no other contact can tell which one is wrong"
        if self.why.startswith(who):
            return self.why
        if self.why:
            return f"{who} is off by {size}: {self.why}"
        if self.early > 0.0:
            return f"{who} came {size} early: a burr or a chip under the tip, or a tip that does not run true"
        return f"{who} came {size} late: a chamfer or rounded edge, a tip above the edge, or the part has moved away or lifted"


def unchecked(solution: Solution) -> list[tuple[int, float]]:
    """Readings whose blunders could hide: (reading, smallest error that the others would find, mm; inf if none would)."""
    looked = check(solution.fit)
    found: dict[int, float] = {}
    for i, row in enumerate(solution.rows):
        if looked.redundancy[i] < _WEAK:
            found[row.reading] = max(found.get(row.reading, 0.0), float(looked.least_found[i]))
    return sorted(found.items())


def short_arcs(setting: Setting, solution: Solution) -> list[tuple[str, float]]:
    """Bores and bosses whose contacts span less than a quarter of the circle: (name, span in rad). Their centre is uncertain."""
    turn, zero = solution.machine_from_work
    found = []
    for name, feature in setting.features.items():
        if isinstance(feature, Flat):
            continue
        rows = [row for row in solution.rows if row.kind == Kind.ROUND and setting.contacts[row.reading].on == name]
        if len(rows) < 3:
            continue
        away = np.array([(np.array(row.point) - zero) @ turn for row in rows])[:, :2] - feature.centre
        angles = np.sort(np.arctan2(away[:, 1], away[:, 0]))
        gaps = np.diff(np.append(angles, angles[0] + 2.0 * math.pi))
        span = 2.0 * math.pi - float(gaps.max())
        if span < _SHORT_ARC:
            found.append((name, span))
    return found


@dataclass(frozen=True, slots=True)
class Next:
    """The contact that would help most: where (`near`, W, mm), moving which way, and what it would do.

    `checks`: readings, unchecked so far, whose blunders it would show; `number`: what it makes more certain, from `expanded_now`
    to `expanded_then` (mm, 95 %).
    """

    on: str
    toward: str
    near: tuple[float, float]
    checks: tuple[int, ...]
    number: str
    expanded_now: float
    expanded_then: float

    def text(self, units: str = "mm") -> str:
        """One sentence."""
        place = f"touch {self.on} moving {self.toward} near {_near(self.near, units)}"
        then, now = format_length(self.expanded_then, units), format_length(self.expanded_now, units)
        sure = f"{self.number} is then known to ± {then} instead of ± {now}"
        if not self.checks:
            return f"{place}: {sure}"
        checks = f"{place}: it checks contact {' and '.join(str(reading + 1) for reading in self.checks)}"
        return f"{checks}, and {sure}" if then != now else checks


def next_contact(setting: Setting, solution: Solution, *, reach: float) -> Next | None:
    """Of all faces of the part, the contact to make next with the finder in use; None when none is worth it.

    While contacts are unchecked: the one that adds most redundancy to them. Then: the one that shrinks most the place that is least
    certain for its tolerance, among the features the drawing gives one for (without any: x, y, and the angle at `reach` mm). Both
    follow from the one-step change of the covariance (optimal design): Q − Q aᵀa Q / (u² + aQaᵀ).
    """
    instrument = _finder_in_use(setting)
    goals, wanted = _goals(setting, reach)
    blind = {reading for reading, _ in unchecked(solution) if reading < len(setting.contacts)}
    candidates = [_tried(setting, solution, contact, near, instrument, blind) for contact, near in
                  _candidates(setting, solution, instrument)]  # fmt: skip
    if not candidates:
        return None
    best = max(candidates, key=lambda tried: sum(tried.added.values()))
    checks = tuple(sorted(reading for reading, more in best.added.items() if more > _WEAK))
    if not checks:
        widest = max(goals, key=lambda name: solution.estimate(goals[name]).standard / wanted[name])
        best = max(candidates, key=lambda tried: tried.gain(goals[widest]))
    number = max(goals, key=lambda name: best.gain(goals[name]) / wanted[name] ** 2)
    now, gained = solution.estimate(goals[number]), best.gain(goals[number])
    if not checks and gained <= (1.0 - (1.0 - _WEAK) ** 2) * now.standard**2:
        return None
    then = now.k * math.sqrt(max(now.standard**2 - gained, 0.0))
    return Next(best.contact.on, best.contact.toward, best.near, checks, number, now.expanded, then)


def tells_apart(setting: Setting, solution: Solution, one: Array, other: Array, *, not_on: Collection[str] = (),
                units: str = "mm") -> str:  # fmt: skip
    """The touch that tells two beliefs about the unknowns of the tied fit, (n,) each, from one another, and what the display shows
    there by either; "" where no touch differs by three times what is known of it. `not_on`: faces whose next touch nobody can tell.
    """
    best, words = 0.0, ""
    for said, axis, shown, row, unknowns in _touches(setting, solution, not_on, units):
        more = unknowns.start[len(solution.unknowns) :]
        equations = Equations.of([row], unknowns)
        residual, jacobian = equations(np.concatenate([one, more]))
        place = unknowns.row("xyz"[axis])
        slope = 1.0 if row.kind == Kind.LINEAR or place is None else -float(jacobian[0, place])
        if abs(slope) < _WEAK:
            continue
        then = float(equations(np.concatenate([other, more]))[0][0])
        known = solution.tied.covariance
        known = np.where(np.isfinite(known), known, 0.0)
        old, new = jacobian[0, : len(one)], jacobian[0, len(one) :]
        of_new = float(new**2 @ unknowns.prior.standard[len(one) :] ** 2) if new.size else 0.0
        spread = math.sqrt(row.standard**2 + max(float(old @ known @ old), 0.0) + of_new)
        sure = min(abs(then - float(residual[0])) / spread, _CLEARLY)
        if sure > max(best, _APART):
            first, second = (shown_digits(shown - value / slope, units) for value in (float(residual[0]), then))
            best, words = sure, f"{said}: the display at {'XYZ'[axis]} {first} speaks for the first, {second} for the second"
    return words


def _touches(setting: Setting, solution: Solution, not_on: Collection[str],
             units: str) -> Iterator[tuple[str, int, float, Row, Unknowns]]:  # fmt: skip
    """Touches that can be made now: in words, along which axis, a display to begin from (mm), its row, and the unknowns with it."""
    finder = _finder_in_use(setting)
    tried: list[tuple[str, int, Contact | LengthReading, Instrument]] = []
    for contact, near in _candidates(setting, solution, finder):
        words = f"touch {contact.on} moving {contact.toward} near {_near(near, units)}"
        tried.append((words, "XYZ".index(contact.toward[1]), contact, finder))
    tried += [(words, 2, read, own) for words, read, own in _heights(setting, solution)]
    for words, axis, read, own in tried:
        if read.on in not_on:
            continue
        unknowns = solution.unknowns.with_rows(solution.unknowns.rows)
        basis, reading = replace(setting.basis, unknowns=unknowns), len(setting.contacts) + len(setting.lengths)
        row = (length_row(read, own, basis, reading=reading) if isinstance(read, LengthReading) else
               contact_rows(read, setting.features[read.on], own, basis, reading=reading)[0])  # fmt: skip
        yield words, axis, getattr(read.display, "xyz"[axis]) or 0.0, row, unknowns


def _near(at: tuple[float, float], units: str) -> str:
    x, y = (format_length(value, units, places=0 if units == "mm" else 1) for value in at)
    return f"X {x}, Y {y} of the program"


def _heights(setting: Setting, solution: Solution) -> Iterator[tuple[str, Contact | LengthReading, Instrument]]:
    """Tools that came down before, or whose length is known, brought down on every face that looks up and can be reached, and on
    the shop's tool setters."""
    made, shop = {face.name for face in setting.kit.setup.face if face.made}, setting.kit.folder.job.shop.instruments
    downs = [c for c in setting.contacts if c.toward == "-Z" and c.tool is not None]
    under = downs[0].with_ if downs else _USUAL_UNDER
    below = find_instrument(shop, under)
    touched = {c.on for c in downs}
    faces = [f for f in setting.features.values() if isinstance(f, Flat) and "-Z" in ways_of(f) and f.name not in made
             and (f.name != "parallels" or f.name in touched)]  # fmt: skip
    said = {"setup": setting.kit.setup.name}
    for station in setting.basis.tool_lengths:
        if solution.unknowns.row(f"length of tool {station}") is None:
            continue
        length = solution.value(f"length of tool {station}")
        for face in faces:
            z = solution.value("z") + face.at + length
            more = {"on": face.name, "with": under, "toward": "-Z", "tool": station, "display": Display(z=z)}
            yield f"touch {face.name} with tool {station}, {below.name} under it", Contact.model_validate(said | more), below
        for name in sorted(name for name, one in shop.items() if one.kind == "tool setter"):
            more = {"tool": station, "with": name, "display": Display(z=setting.kit.machine.table.z + length)}
            yield f"bring tool {station} to the {shop[name].name}", LengthReading.model_validate(said | more), shop[name]


def _goals(setting: Setting, reach: float) -> tuple[dict[str, dict[str, float]], dict[str, float]]:
    """Places whose certainty matters, as sums of unknowns, and the tolerance (mm) each is wanted for."""
    goals: dict[str, dict[str, float]] = {}
    wanted: dict[str, float] = {}
    made = {face.name for face in setting.kit.setup.face if face.made}
    for requirement in setting.kit.setup.requirement:
        at = requirement.position
        if at is not None:
            for axis, lever in (("x", -at.y), ("y", at.x)):
                name = f"{at.of} along {axis.upper()}"
                goals[name], wanted[name] = {axis: 1.0, "angle": lever}, at.within
        elif requirement.between is not None and requirement.limits.upper > requirement.limits.lower:
            for face in (setting.features.get(name) for name in requirement.between):
                if isinstance(face, Flat) and face.axis < 2 and face.name in made:
                    name = f"{face.name} along {'XY'[face.axis]}"
                    goals[name] = {"xy"[face.axis]: 1.0, "angle": face.middle[0] if face.axis else -face.middle[1]}
                    wanted[name] = requirement.limits.upper - requirement.limits.lower
    if not goals:
        goals = {"X": {"x": 1.0}, "Y": {"y": 1.0}, "the far corner by the angle": {"angle": reach}}
        wanted = dict.fromkeys(goals, 1.0)
    return goals, wanted


def _finder_in_use(setting: Setting) -> Instrument:
    shop = setting.kit.folder.job.shop.instruments
    for contact in setting.contacts:
        instrument = find_instrument(shop, contact.with_)
        if instrument.kind in _FINDERS:
            return instrument
    return find_instrument({}, _USUAL_FINDER)


@dataclass(frozen=True, slots=True)
class _Tried:
    """A contact not yet made. `toward_x`: Q aᵀ, (n,); `spread`: u² + a Q aᵀ; `added`: unchecked reading -> gain in redundancy."""

    contact: Contact
    near: tuple[float, float]
    unknowns: Unknowns
    toward_x: Array
    spread: float
    added: dict[int, float]

    def gain(self, weights: dict[str, float]) -> float:
        """By how much the variance of Σ weight × unknown would fall."""
        rows = [(self.unknowns.row(name), weight) for name, weight in weights.items()]
        return sum(weight * float(self.toward_x[row]) for row, weight in rows if row is not None) ** 2 / self.spread


def _tried(setting: Setting, solution: Solution, contact: Contact, near: tuple[float, float], instrument: Instrument,
           blind: set[int]) -> _Tried:  # fmt: skip
    unknowns = solution.unknowns.with_rows(solution.unknowns.rows)
    basis = replace(setting.basis, unknowns=unknowns)
    row = contact_rows(contact, setting.features[contact.on], instrument, basis, reading=len(setting.contacts))[0]
    old = len(solution.unknowns)
    covariance = np.diag(unknowns.prior.standard**2)
    covariance[:old, :old] = solution.fit.covariance
    slope: Array = Equations.of([row], unknowns)(np.concatenate([solution.fit.x, unknowns.start[old:]]))[1][0]
    toward_x = covariance @ slope
    spread = float(row.standard**2 + slope @ toward_x)
    added: dict[int, float] = {}
    for i, made in enumerate(solution.rows):
        if made.reading in blind:
            seen = float(solution.fit.jacobian[i] @ toward_x[:old]) ** 2 / (made.standard**2 * spread)
            added[made.reading] = max(added.get(made.reading, 0.0), seen)
    return _Tried(contact, near, unknowns, toward_x, spread, added)


def _candidates(setting: Setting, solution: Solution, instrument: Instrument) -> list[tuple[Contact, tuple[float, float]]]:
    """Contacts a finder could make before the program runs: near both ends of each free upright face, at the four quarters of
    each boss and of each bore it goes into; on faces of the holding, and between its jaws, only where they were met before."""
    turn, zero = solution.machine_from_work
    not_there_yet = {face.name for face in setting.kit.setup.face if face.made}
    covered = {*HOLDING_FACES, *_clamped(setting)}
    found = []
    for name, feature in sorted(setting.features.items()):
        too_narrow = isinstance(feature, Round) and feature.inside and 2 * feature.radius <= instrument.tip_diameter
        if name in not_there_yet or too_narrow:
            continue
        for toward, work in _met_before(setting, solution, name) if name in covered else _places(feature):
            x, y, _ = (turn @ np.array([*work, 0.0]) + zero).tolist()
            said = {"setup": setting.kit.setup.name, "on": name, "with": instrument.name, "toward": toward}
            contact = Contact.model_validate(said | {"display": Display(x=x, y=y)})
            found.append((contact, work))
    return found


def _clamped(setting: Setting) -> tuple[str, ...]:
    """Faces of the part between fixed and moving jaw."""
    jaw = setting.kit.setup.holding.fixed_jaw
    return () if jaw is None else (jaw.against, _OPPOSITE.get(jaw.against, ""))


def _met_before(setting: Setting, solution: Solution, name: str) -> list[tuple[str, tuple[float, float]]]:
    turn, zero = solution.machine_from_work
    found: list[tuple[str, tuple[float, float]]] = []
    for row in solution.rows:
        contact = setting.contacts[row.reading] if row.reading < len(setting.contacts) else None
        if contact is not None and contact.on == name and contact.toward in ("+X", "-X", "+Y", "-Y") and row.unread == 0.0:
            x, y, _ = ((np.array(row.point) - zero) @ turn).tolist()
            found.append((contact.toward, (x, y)))
    return found


def _places(feature: Flat | Round) -> list[tuple[str, tuple[float, float]]]:
    if isinstance(feature, Round):
        cx, cy = feature.centre
        wall = feature.radius if feature.inside else -feature.radius
        return [("+X", (cx + wall, cy)), ("-X", (cx - wall, cy)), ("+Y", (cx, cy + wall)), ("-Y", (cx, cy - wall))]
    if feature.axis == 2:
        return []
    toward = ("+" if feature.side < 0 else "-") + "XY"[feature.axis]
    other = 1 - feature.axis
    found = []
    for end in (-0.8, 0.8):
        place = [0.0, 0.0]
        place[feature.axis] = feature.at
        place[other] = feature.middle[other] + end * feature.half[other]
        found.append((toward, (place[0], place[1])))
    return found


