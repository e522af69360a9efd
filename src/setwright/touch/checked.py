"""The datum checked again over a shift: how far each face has moved since, whether it goes on, and when to touch again."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

import numpy as np

from setwright.base.errors import InputRefused
from setwright.base.units import format_length
from setwright.kit.instrument import find_instrument
from setwright.model.job import Setup
from setwright.model.reading import Contact
from setwright.touch.contacts import contact_rows
from setwright.touch.drift import Drift, datum_drift
from setwright.touch.equations import Equations
from setwright.touch.features import find_feature
from setwright.touch.setting import Setting
from setwright.touch.solution import Solution

__all__ = ["Drifted", "drifts"]

_USUAL_ALLOWED = 0.01
_SHARE_OF_TOLERANCE = 0.25
_LEAST_CHECKS = 3
_LONGEST_MINUTES = 24 * 60.0


@dataclass(frozen=True, slots=True)
class Drifted:
    """What the checks of one face say. `axis` "X", "Y", "Z"; `allowed`: by how much it may move, mm; `minutes_left`: until then."""

    on: str
    axis: str
    count: int
    drift: Drift
    allowed: float
    minutes_left: float

    @property
    def moves(self) -> bool:
        """Whether the place has moved beyond the readings' noise."""
        return self.drift.shape != "steady place"

    def text(self, units: str = "mm") -> str:
        """One sentence, with when to touch again."""
        said = f"{self.on}: {self.drift.text(self.axis, units)}"
        if not self.moves:
            return f"{said} in {self.count} checks"
        if self.minutes_left >= _LONGEST_MINUTES:
            return f"{said}; it stays within {format_length(self.allowed, units)} from here"
        more = format_length(self.allowed, units)
        return f"{said}; touch again within {self.minutes_left:.0f} min, before it has moved {more} more"


def drifts(setting: Setting, solution: Solution) -> tuple[Drifted, ...]:
    """The drift of every face that was checked at least three times (the contact of the touch-off counts as its first, if timed).

    Raises InputRefused for a check without the time of day.
    """
    for number, contact in enumerate(setting.checks, start=1):
        if not isinstance(contact.when, datetime.datetime):
            raise InputRefused.because(f'check {number} on "{contact.on}" has no time of day',
                                       remedy="write when = 2026-03-02T08:15:00")  # fmt: skip
    allowed = _allowed(setting.kit.setup)
    groups: dict[tuple[str, str, str], list[Contact]] = {}
    for contact in (*setting.contacts, *setting.checks):
        if isinstance(contact.when, datetime.datetime) and contact.toward != "sweep":
            groups.setdefault((contact.on, contact.toward, contact.with_), []).append(contact)
    found = []
    for (on, toward, _), members in sorted(groups.items()):
        checked = [contact for contact in members if contact.purpose == "check"]
        if not checked or len(members) < _LEAST_CHECKS:
            continue
        timed = sorted((_minutes(contact), *_moved(contact, setting, solution)) for contact in members)
        minutes, places, spreads = zip(*timed, strict=True)
        drift = datum_drift(minutes, places, standard=max(spreads))
        found.append(Drifted(on, toward[1], len(members), drift, allowed, drift.minutes_left(allowed)))
    return tuple(found)


def _minutes(contact: Contact) -> float:
    when = contact.when
    if not isinstance(when, datetime.datetime):
        raise AssertionError("only contacts with a time of day come here")
    return (when if when.tzinfo else when.replace(tzinfo=datetime.UTC)).timestamp() / 60.0


def _moved(contact: Contact, setting: Setting, solution: Solution) -> tuple[float, float]:
    """How far the face stands from where the touch-off has it, along the contact's axis, and one contact's own uncertainty; mm."""
    unknowns = solution.unknowns.with_rows(solution.unknowns.rows)
    basis = replace(setting.basis, unknowns=unknowns)
    instrument = find_instrument(setting.kit.folder.job.shop.instruments, contact.with_)
    feature = find_feature(setting.features, contact.on)
    row = contact_rows(contact, feature, instrument, basis, reading=len(setting.contacts))[0]
    x = np.concatenate([solution.fit.x, unknowns.start[len(solution.unknowns) :]])
    residuals, jacobian = Equations.of([row], unknowns)(x)
    slope = float(jacobian[0, "xyz".index(contact.toward[1].lower())])
    return -float(residuals[0]) / slope, row.standard / abs(slope)


def _allowed(setup: Setup) -> float:
    """A quarter of the narrowest tolerance of the setup's requirements; 0.01 mm where none is given."""
    zones = [r.limits.upper - r.limits.lower for r in setup.requirement if r.size is not None and r.limits.upper > r.limits.lower]
    zones += [r.position.within for r in setup.requirement if r.position is not None]
    return _SHARE_OF_TOLERANCE * min(zones) if zones else _USUAL_ALLOWED
