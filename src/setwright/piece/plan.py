"""What to measure on a piece, in which order, with which gauge, and between which readings that gauge can prove it good.

The order is that of a person at a bench: one gauge after the other, so that none is fetched twice, and the gauge with the tightest
limits first; within one gauge the tightest limits first. Tight means by the width that is left once the gauge's uncertainty is
taken off at both ends (ISO 14253-1). A gauge is proposed where the job has used one on the same feature, else on the same kind of
feature, else among those of the shop that state that they measure such: the coarsest that takes no more than a fifth of the limits
(ten to one), or if none is so good the finest. Where no gauge states it there is none, and a person picks it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from setwright.base.units import format_half, format_length
from setwright.jobfolder.measured import measurable
from setwright.kit.station import Kit
from setwright.model.job import Face
from setwright.model.measurement import Gauge, Measured, MeasuredKind
from setwright.model.requirement import Requirement

__all__ = ["Instrument", "ToMeasure", "plan"]

_MM_PER_INCH: Final = 25.4
_DEGREES: Final = 3
_TEN_TO_ONE: Final = 0.2
"""Share of the limits that a gauge may take off at both ends to count as good enough: its U is a tenth of them then."""

_BOX: Final = {"left": (-1.0, 0.0, 0.0), "right": (1.0, 0.0, 0.0), "front": (0.0, -1.0, 0.0), "back": (0.0, 1.0, 0.0),
               "bottom": (0.0, 0.0, -1.0), "top": (0.0, 0.0, 1.0)}  # fmt: skip
_Used = str | tuple[str, str]


@dataclass(frozen=True, slots=True)
class Instrument:
    """A gauge of the shop on one feature: its `key` there and name, its expanded uncertainty (k = 2) in mm (an angle: deg), and
    between which readings a value is proved good, None where it can prove nothing good; of a centre the diameter of the zone;
    `takes`: the share of the limits' width that it takes off (1 and more: it can prove nothing good), None without limits."""

    key: str
    name: str
    expanded: float
    good: tuple[float, float] | None
    takes: float | None = None


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """One number to read from a piece, by the `feature` under which it is written; mm, of an angle deg.

    `requirement`: what it belongs to, as predictions name it; `axis`: "x" or "y" of a centre, else ""; `kind`: what is read with
    the same kind of gauge has the same word. `low`, `high`: the limits, None where the drawing gives none; `zone`: the diameter in
    which a centre must lie, else None. `faces` it is measured on, `shift` of its part on a pallet (mm). `gauge`: the key of the one
    proposed, "" for none; `instruments`: every gauge of the shop that can show it.
    """

    feature: str
    requirement: str
    axis: str
    kind: MeasuredKind
    nominal: float
    low: float | None
    high: float | None
    zone: float | None
    unit: str
    faces: tuple[str, ...]
    shift: tuple[float, float, float]
    gauge: str
    instruments: tuple[Instrument, ...]

    def as_plain(self, units: str) -> dict[str, Any]:
        """Plain data; lengths in `units`, the shift mm; `said`: the same for people."""
        per = _per(units) if self.unit == "mm" else 1.0
        limits = None if self.low is None or self.high is None else [self.low / per, self.high / per]
        return {
            "feature": self.feature, "requirement": self.requirement, "axis": self.axis, "kind": self.kind,
            "unit": self.unit if self.unit == "deg" else _unit(units), "nominal": self.nominal / per, "limits": limits,
            "zone": None if self.zone is None else self.zone / per, "faces": list(self.faces), "shift": list(self.shift),
            "gauge": self.gauge, "said": self.limits_said(units),
            "zone_said": "" if self.zone is None else f"within Ø {self._length(self.zone, units)}",
            "instruments": [{"gauge": one.key, "name": one.name, "uncertainty": one.expanded / per,
                             "good": None if one.good is None else [end / per for end in one.good], "takes": one.takes,
                             "said": self._good_said(one, units)} for one in self.instruments],
        }  # fmt: skip

    def _good_said(self, one: Instrument, units: str) -> str:
        """What a gauge can prove: "± 0.008 mm, proves good from 12.508 to 12.522 mm"."""
        half = f"{one.expanded:.{_DEGREES}f} deg" if self.unit == "deg" else format_half(one.expanded, units)
        if self.zone is None and self.low is None:
            return f"± {half}"
        if one.good is None:
            return f"± {half}: too coarse to prove it good"
        low, high = (self._length(end, units) for end in one.good)
        if self.zone is not None:
            return f"± {half}, proves good within Ø {high}"
        if self.low == self.nominal == 0.0:
            return f"± {half}, proves good up to {high}"
        return f"± {half}, proves good from {low.split()[0]} to {high}"

    def _length(self, value: float, units: str) -> str:
        return f"{value:.{_DEGREES}f} deg" if self.unit == "deg" else format_length(value, units)

    @property
    def group(self) -> str:
        """What is measured one after the other: with one gauge, or where none is proposed what has the same kind."""
        return self.gauge or self.kind

    @property
    def chosen(self) -> Instrument | None:
        """The gauge that is proposed."""
        return next((one for one in self.instruments if one.key == self.gauge), None)

    def proves_said(self, units: str) -> str:
        """What the proposed gauge can prove, and what it takes of the limits, for people; else what to do about it."""
        one = self.chosen
        if one is None:
            return f'No gauge of the shop states that it measures this; write measures = ["{self.kind}"] in the file of one'
        said = self._good_said(one, units)
        if one.takes is None:
            return said
        if one.good is not None:
            return f"{said}; takes {100.0 * one.takes:.0f} % of the limits"
        most = one.expanded / one.takes
        shown = f"{most:.{_DEGREES}f} deg" if self.unit == "deg" else format_length(most, units)
        return f"{said}; that takes a U below {shown}"

    def limits_said(self, units: str) -> str:
        """The limits as a person reads them: "12.500 to 12.530 mm"."""
        if self.zone is not None:
            return f"{self._length(self.nominal, units)}, within Ø {self._length(self.zone, units)}"
        if self.low is None or self.high is None:
            return f"{self._length(self.nominal, units)}, no limits"
        if self.low == self.nominal == 0.0:
            return f"at most {self._length(self.high, units)}"
        return f"{self._length(self.low, units).split()[0]} to {self._length(self.high, units)}"

    def room(self) -> float:
        """What the proposed gauge leaves of the limits' width, mm or deg; without limits, without end."""
        chosen = self.chosen
        if chosen is not None and chosen.good is not None:
            return chosen.good[1] - chosen.good[0]
        width = self.zone if self.zone is not None else None if self.low is None or self.high is None else self.high - self.low
        return math.inf if width is None else 0.0 if chosen is not None else width


def plan(kit: Kit, measured: Measured | None, *, guard: float = 2.0) -> tuple[ToMeasure, ...]:
    """Every number of a setup's requirements that can be measured, in the order in which to measure it. `guard`: see decide."""
    before = _used_before(kit, measured)
    shop = kit.folder.job.shop.gauges
    rows = [_row(kit, feature, requirement, axis, before, shop, guard)
            for feature, (requirement, axis) in measurable(kit.setup).items()
            if axis or requirement.position is None]  # fmt: skip
    tightest: dict[str, float] = {}
    for one in rows:
        tightest[one.group] = min(tightest.get(one.group, math.inf), one.room())
    return tuple(sorted(rows, key=lambda one: (tightest[one.group], one.group, one.room())))


def _row(kit: Kit, feature: str, requirement: Requirement, axis: str, before: Mapping[_Used, str], shop: Mapping[str, Gauge],
         guard: float) -> ToMeasure:  # fmt: skip
    limits, centre = requirement.limits, requirement.position
    angle, kind = requirement.angle is not None, _kind(kit, requirement)
    zone = limits.upper if centre is not None else None
    nominal = limits.nominal if centre is None else centre.x if axis == "x" else centre.y
    ends = None if centre is not None or limits.upper <= limits.lower else (nominal + limits.lower, nominal + limits.upper)
    able = {key: gauge for key, gauge in shop.items() if not angle or gauge.angle_uncertainty is not None}
    name = next((name for name in kit.setup.shifts if feature.removesuffix(f" {axis}").endswith(f"({name})")), "")
    instruments = tuple(_instrument(key, one, ends, zone, guard, angle=angle, open_below=limits.nominal == limits.lower == 0.0)
                        for key, one in able.items())  # fmt: skip
    gauge = next((key for key in (before.get(feature), before.get(("", kind))) if key in able), None)
    if gauge is None:
        gauge = _fitting([one for one in instruments if kind in able[one.key].measures])
    low, high = (None, None) if ends is None else ends
    owner = feature.removesuffix(f" {axis}") if axis else feature
    return ToMeasure(feature, owner, axis, kind, nominal, low, high, zone, "deg" if angle else "mm", requirement.faces,
                     kit.setup.shifts.get(name, (0.0, 0.0, 0.0)), gauge, instruments)  # fmt: skip


def _fitting(able: list[Instrument]) -> str:
    """The coarsest gauge that is good enough, else the finest; "" where there is none."""
    enough = [one for one in able if one.takes is not None and one.takes <= _TEN_TO_ONE]
    if enough:
        return max(enough, key=lambda one: one.expanded).key
    return min(able, key=lambda one: one.expanded).key if able else ""


def _instrument(key: str, gauge: Gauge, ends: tuple[float, float] | None, zone: float | None, guard: float, *,
                angle: bool, open_below: bool) -> Instrument:  # fmt: skip
    """A gauge on a feature, with what it can prove: of a centre both coordinates are read, and each counts twice."""
    expanded = math.degrees(gauge.angle_uncertainty or 0.0) if angle else gauge.uncertainty
    band = guard * expanded / 2.0
    if zone is not None:
        good = (0.0, zone - 2.0 * band) if zone > 2.0 * band else None
        return Instrument(key, gauge.name, expanded, good, 2.0 * band / zone if zone else None)
    if ends is None:
        return Instrument(key, gauge.name, expanded, None)
    low, high = ends[0] + (0.0 if open_below else band), ends[1] - band
    takes = (1.0 if open_below else 2.0) * band / (ends[1] - ends[0])
    return Instrument(key, gauge.name, expanded, (low, high) if low < high else None, takes)


def _kind(kit: Kit, requirement: Requirement) -> MeasuredKind:
    """Sizes that are read with the same kind of gauge have the same word: inside and outside, depths, ..."""
    faces = {face.name: face for face in kit.setup.face}
    if requirement.between is not None:
        return _between(*(_looks(faces.get(name), name) for name in requirement.between))
    if requirement.diameter is not None:
        face = faces.get(requirement.diameter)
        return "outside diameter" if face is not None and face.boss is not None else "inside diameter"
    kinds: tuple[MeasuredKind, ...] = ("position", "flatness", "cusp", "angle")
    return next(kind for kind in kinds if getattr(requirement, kind) is not None)


_Looks = tuple[tuple[float, ...], tuple[float, ...] | None]


def _looks(face: Face | None, name: str) -> _Looks | None:
    """Where a flat face looks, and a point of it, None for a side of the blank; None for an axis."""
    flat = None if face is None else face.flat or face.slope
    if flat is None:
        return (_BOX[name], None) if face is None and name in _BOX else None
    if isinstance(flat.facing, str):
        sign = -1.0 if flat.facing[0] == "-" else 1.0
        return tuple(sign if axis == flat.facing[1] else 0.0 for axis in "XYZ"), tuple(flat.at)
    return flat.facing, tuple(flat.at)


def _between(first: _Looks | None, second: _Looks | None) -> MeasuredKind:
    """A distance: to an axis as a position; a step where both faces look the same way; an inside where they look at each other."""
    if first is None or second is None:
        return "position"
    if sum(a * b for a, b in zip(first[0], second[0], strict=True)) > 0.0:
        return "depth"
    if first[1] is None or second[1] is None:
        return "outside width"
    ahead = sum(n * (b - a) for n, a, b in zip(first[0], first[1], second[1], strict=True))
    return "inside width" if ahead > 0.0 else "outside width"


def _used_before(kit: Kit, measured: Measured | None) -> dict[_Used, str]:
    """The gauge that was last used on each feature, and on each kind of feature that always had the same."""
    found: dict[_Used, str] = {}
    kinds: dict[str, set[str]] = {}
    names = measurable(kit.setup)
    for one in measured.measurements if measured is not None else ():
        if one.setup == kit.setup.name:
            found[one.feature] = one.gauge
            kinds.setdefault(_kind(kit, names[one.feature][0]), set()).add(one.gauge)
    return found | {("", kind): next(iter(used)) for kind, used in kinds.items() if len(used) == 1}


def _per(units: str) -> float:
    return _MM_PER_INCH if units in ("in", "inch") else 1.0


def _unit(units: str) -> str:
    return "in" if units in ("in", "inch") else "mm"
