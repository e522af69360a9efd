"""Which contact does not agree with the others, what that usually means, and which contact to make next."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from setwright.base.units import format_length
from setwright.estimate.least_squares import Array
from setwright.estimate.outliers import check
from setwright.model.instrument import Instrument
from setwright.model.reading import Contact, Display
from setwright.touch.contacts import contact_rows
from setwright.touch.equations import Equations, Kind, Row
from setwright.touch.features import HOLDING_FACES, Flat, Round
from setwright.touch.setting import Setting
from setwright.touch.solution import Solution, solve
from setwright.touch.unknowns import Unknowns

__all__ = ["Next", "Outlier", "next_contact", "outliers", "short_arcs", "unchecked"]

_ALIKE = 0.99
_MOST = 3
_WEAK = 0.1
_SHORT_ARC = math.radians(90.0)


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that the others contradict.

    `reading`: its number in the order of entry (from 0); `early` mm: how much too early the contact came (negative: late), as the
    others see it; `w`: in units of its uncertainty; `rivals`: readings that would explain the contradiction just as well.
    """

    reading: int
    label: str
    early: float
    w: float
    rivals: tuple[int, ...]

    def text(self, units: str = "mm") -> str:
        """One sentence: how far off, and what that usually is."""
        size = format_length(abs(self.early), units)
        who = f"contact {self.reading + 1} ({self.label})"
        if self.rivals:
            others = " or ".join(str(n + 1) for n in self.rivals)
            return f"{who} and contact {others} contradict each other by {size}, and no other contact can tell which one is wrong"
        if self.early > 0.0:
            return f"{who} came {size} early: a burr or a chip under the tip, or a tip that does not run true"
        return f"{who} came {size} late: a chamfer or rounded edge, a tip above the edge, or the part has moved away or lifted"


def outliers(solution: Solution) -> list[Outlier]:
    """Readings beyond 3.291 standard uncertainties of what the others predict, worst first, each with the worse ones left out."""
    found: list[Outlier] = []
    now = solution
    while len(found) < _MOST and len(now.rows) > 1:
        looked = check(now.fit)
        worst = looked.worst
        if worst is None:
            break
        row = now.rows[worst]
        sizes = np.where(np.isnan(looked.w), 0.0, np.abs(looked.w))
        rivals = tuple(sorted({now.rows[i].reading for i in np.flatnonzero(sizes > _ALIKE * sizes[worst])} - {row.reading}))
        early = -float(looked.blunder[worst]) * (row.sense or 1)
        found.append(Outlier(row.reading, row.label, early, float(looked.w[worst]), rivals))
        if rivals:
            break
        now = solve([other for i, other in enumerate(now.rows) if i != worst], now.unknowns)
    return found


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
    """The contact that would help most: where, moving which way, and what it would make of the least certain number."""

    on: str
    toward: str
    near: tuple[float, float]
    number: str
    expanded_now: float
    expanded_then: float

    def text(self, units: str = "mm") -> str:
        """One sentence."""
        x, y = (format_length(value, units, places=0 if units == "mm" else 1) for value in self.near)
        return (f"touch {self.on} moving {self.toward} near X {x}, Y {y} of the program: {self.number} then known to "
                f"± {format_length(self.expanded_then, units)} instead of ± {format_length(self.expanded_now, units)}")  # fmt: skip


def next_contact(setting: Setting, solution: Solution, instrument: Instrument, *, reach: float) -> Next | None:
    """Of all faces of the part, the contact that shrinks the least certain of x, y and the angle (at `reach` mm from zero) most.

    Optimal design by one-step variance reduction, (cᵀQa)² / (u² + aᵀQa). None when no contact would take a tenth off.
    """
    goals = {"X": {"x": 1.0}, "Y": {"y": 1.0}, "the angle": {"angle": reach}}
    sizes = {name: solution.estimate(weights) for name, weights in goals.items()}
    name = max(sizes, key=lambda key: sizes[key].standard)
    now = sizes[name]
    best: tuple[float, Contact, tuple[float, float]] | None = None
    for contact, near in _candidates(setting, solution, instrument):
        unknowns = Unknowns(list(solution.unknowns.rows), {u.name: i for i, u in enumerate(solution.unknowns)})
        bench = replace(setting.bench, unknowns=unknowns)
        row = contact_rows(contact, setting.features[contact.on], instrument, bench, reading=len(setting.contacts))[0]
        gained = _gain(solution, unknowns, row, goals[name])
        if best is None or gained > best[0]:
            best = gained, contact, near
    if best is None or best[0] <= (1.0 - (1.0 - _WEAK) ** 2) * now.standard**2:
        return None
    then = now.k * math.sqrt(max(now.standard**2 - best[0], 0.0))
    return Next(best[1].on, best[1].toward, best[2], name, now.expanded, then)


def _gain(solution: Solution, unknowns: Unknowns, row: Row, weights: dict[str, float]) -> float:
    n = len(unknowns)
    covariance = np.diag(unknowns.prior.standard**2)
    old = len(solution.unknowns)
    covariance[:old, :old] = solution.fit.covariance
    x = np.concatenate([solution.fit.x, unknowns.start[old:]])
    slope: Array = Equations.of([row], unknowns)(x)[1][0]
    goal = np.zeros(n)
    for name, weight in weights.items():
        if (at := unknowns.row(name)) is not None:
            goal[at] = weight
    toward = covariance @ slope
    return float((goal @ toward) ** 2 / (row.standard**2 + slope @ toward))


def _candidates(setting: Setting, solution: Solution, instrument: Instrument) -> list[tuple[Contact, tuple[float, float]]]:
    """Contacts a finder could make before the program runs: near both ends of each upright face, at the four quarters of each
    boss and of each bore it goes into."""
    turn, zero = solution.machine_from_work
    not_there_yet = {face.name for face in setting.kit.setup.face if face.made}
    found = []
    for name, feature in sorted(setting.features.items()):
        too_narrow = isinstance(feature, Round) and feature.inside and 2 * feature.radius <= instrument.tip_diameter
        if name in HOLDING_FACES or name in not_there_yet or too_narrow:
            continue
        for toward, work in _places(feature):
            x, y, _ = (turn @ np.array([*work, 0.0]) + zero).tolist()
            said = {"setup": setting.kit.setup.name, "on": name, "with": instrument.name, "toward": toward}
            contact = Contact.model_validate(said | {"display": Display(x=x, y=y)})
            found.append((contact, work))
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


