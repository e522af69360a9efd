"""Touch: the readings of a setup become the numbers to type, how sure they are, and what is doubtful about them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np

from setwright.base.errors import InputRefused, Problem
from setwright.base.units import format_length
from setwright.geometry.frames import Transform
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal, worst_first
from setwright.model.reading import Readings
from setwright.touch.conditions import Conditions
from setwright.touch.doubts import Next, Outlier, next_contact, outliers, short_arcs, unchecked
from setwright.touch.instrument import find_instrument
from setwright.touch.registers import Entry, entries, g10_block, mixed_conventions, read_back
from setwright.touch.setting import Setting, prepare
from setwright.touch.slips import Diagnosis, Hovered, diagnose
from setwright.touch.solution import Contribution, Estimate, Solution, solve

__all__ = ["Determined", "TouchResult", "Wanted", "touch"]

_MM_PER_INCH = 25.4
_LOOSE_MM = 1.0
_WRONG_ENOUGH_MM = 0.05
_NAMED = 0.5


class Wanted(Enum):
    """Whether a touch-off that leaves an axis open is refused, or answered as far as it goes (while readings are being entered)."""

    WHOLE = "whole"
    AS_FAR = "as far as it goes"


@dataclass(frozen=True, slots=True)
class Determined:
    """What one number rests on: `by` "readings", "kit" or "nothing"; `text`: one sentence."""

    by: str
    text: str


@dataclass(frozen=True, slots=True)
class TouchResult:
    """The answer of the station; lengths mm, angles rad.

    `entries`: the numbers to type, in the machine's convention. `determined`: by axis ("x", "y", "z", "angle", "tilt about x" ...).
    `outliers`, `unchecked`: readings the others contradict, readings nothing checks. `diagnosis`: which slip would explain it.
    """

    kit: Kit
    solution: Solution
    entries: tuple[Entry, ...]
    angle: Estimate
    determined: Mapping[str, Determined]
    outliers: tuple[Outlier, ...]
    unchecked: tuple[tuple[int, float], ...]
    diagnosis: Diagnosis
    read_back: tuple[str, ...]
    next: Next | None
    findings: tuple[Finding, ...]

    @property
    def open_axes(self) -> tuple[str, ...]:
        """Axes that nothing fixes."""
        return tuple(axis for axis in ("x", "y", "z") if self.determined[axis].by != "readings")

    def keystrokes(self, units: str = "mm") -> list[str]:
        """What to type, one register at a time; registers that nothing fixes are left out."""
        return [entry.say(units) for entry in self.entries if self._fixed(entry)]

    def g10(self, units: str = "mm") -> str:
        """The work offsets as G10 blocks; "" while an axis is open."""
        return "" if self.open_axes else g10_block(self.entries, units=units)

    def truth(self) -> Truth:
        """What a proof should take as true from now on: place and lengths as measured, the kit's where nothing was."""
        turn, zero = self.solution.machine_from_work
        lengths = {station: assembly.length for station, assembly in self.kit.tools.items()}
        radii = {station: assembly.radius for station, assembly in self.kit.tools.items()}
        spread = [0.0]
        for station in lengths:
            name = f"length of tool {station}"
            estimate = self.solution.estimate({name: 1.0})
            if self.solution.unknowns.row(name) is not None and estimate.standard <= _LOOSE_MM:
                lengths[station] = estimate.value
                spread.append(estimate.standard)
        x, y, z = (self.solution.estimate({axis: 1.0}).standard for axis in "xyz")
        return Truth(Transform(turn, zero), lengths, radii, "touch", (x, y, z), max(spread))

    def _fixed(self, entry: Entry) -> bool:
        if entry.axis:
            return self.determined[entry.axis.lower()].by == "readings"
        return entry.estimate.standard <= _LOOSE_MM

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths in `units`, values null where nothing fixes them."""
        per = _MM_PER_INCH if units in ("in", "inch") else 1.0
        offsets: dict[str, dict[str, Any]] = {}
        lengths: dict[str, dict[str, Any]] = {}
        radii: dict[str, dict[str, Any]] = {}
        for entry in self.entries:
            said = _plain(entry.estimate, per, known=self._fixed(entry)) | {"type": entry.text(units), "register": entry.name}
            if entry.axis:
                offsets.setdefault(entry.register, {})[entry.axis.lower()] = said
            else:
                table = lengths if entry.register.startswith("length") else radii
                table[str(entry.station)] = said
        for offset in offsets.values():
            offset["rotation_deg"] = _plain(self.angle, math.radians(1.0), known=True)
        return {
            "offsets": offsets, "tool_lengths": lengths, "tool_radii": radii,
            "determined": {name: {"by": d.by, "text": d.text} for name, d in self.determined.items()},
            "contributions": {e.name: [_line(c, per) for c in e.estimate.contributions] for e in self.entries}
            | {"rotation_deg": [_line(c, math.radians(1.0)) for c in self.angle.contributions]},
            "outliers": [{"contact": o.reading + 1, "on": o.label, "early": o.early / per, "standardised": o.w,
                          "rivals": [r + 1 for r in o.rivals], "text": o.text(units)} for o in self.outliers],
            "unchecked": [{"contact": reading + 1, "least_found": None if math.isinf(size) else size / per}
                          for reading, size in self.unchecked],
            "slips": [{"slug": s.slug, "probability": s.probability, "text": s.words} for s in self.diagnosis.ranked],
            "no_slip": self.diagnosis.none,
            "type": self.keystrokes(units), "read_back": list(self.read_back), "g10": self.g10(units),
            "next_contact": self.next.text(units) if self.next else None,
        }  # fmt: skip


def touch(
    kit: Kit,
    readings: Readings | None = None,
    *,
    conditions: Conditions | None = None,
    hovered: tuple[Hovered, ...] = (),
    wanted: Wanted = Wanted.WHOLE,
    units: str = "mm",
) -> TouchResult:
    """Solve the readings of the kit's setup (`readings`, else those of the job folder).

    Raises InputRefused for readings that cannot be solved together, and, when the whole is wanted, for an axis nothing fixes.
    """
    setting = prepare(kit, readings or kit.folder.job.readings, conditions or Conditions())
    solution = solve(setting.rows, setting.bench.unknowns)
    stated = kit.folder.job.registers
    held = stated if stated.setup in (None, kit.setup.name) else type(stated)()
    numbers = tuple(entries(kit, solution, held))
    determined = _determined(setting, solution, numbers)
    if wanted is Wanted.WHOLE:
        _refuse_open(determined)
    reach = _reach(setting)
    odd = tuple(outliers(solution))
    blind = tuple(unchecked(solution))
    finder = find_instrument(kit.folder.job.shop.instruments, setting.contacts[0].with_)
    angle = solution.estimate({"angle": 1.0})
    diagnosis = diagnose(setting, solution, numbers, hovered)
    differs = tuple(said for entry in numbers if (said := read_back(entry, units=units)))
    found = [*_axis_findings(determined), *_outlier_findings(odd, blind, units), *_angle_findings(angle, determined, reach, units)]
    found += [*_register_findings(numbers, units), *_slip_findings(diagnosis)]
    found += [_arc_finding(name, span) for name, span in short_arcs(setting, solution)]
    remedy = "type the length this machine's convention asks for"
    mixed = mixed_conventions(kit, solution, held)
    found += [_plain_finding("lengths-of-two-conventions", Signal.DANGER, said, remedy) for said in mixed]
    placed = [_with_setup(finding, kit.setup.name) for finding in found]
    return TouchResult(
        kit=kit, solution=solution, entries=numbers, angle=angle, determined=determined, outliers=odd, unchecked=blind,
        diagnosis=diagnosis, read_back=differs, next=next_contact(setting, solution, finder, reach=reach),
        findings=tuple(worst_first(placed)),
    )  # fmt: skip


def _plain(estimate: Estimate, per: float, *, known: bool) -> dict[str, Any]:
    if not known:
        return {"value": None, "expanded_uncertainty": None, "k": None}
    dof = estimate.dof if math.isfinite(estimate.dof) else None
    return {"value": estimate.value / per, "expanded_uncertainty": estimate.expanded / per, "k": estimate.k, "dof": dof}


def _line(part: Contribution, per: float) -> dict[str, Any]:
    dof = part.dof if math.isfinite(part.dof) else None
    return {"source": part.source, "standard_uncertainty": part.standard / per, "share": part.share, "dof": dof}


def _reach(setting: Setting) -> float:
    """Distance of the blank's farthest corner from the program's zero, mm."""
    low, high = setting.kit.extent
    return float(np.hypot(*np.maximum(np.abs(low[:2]), np.abs(high[:2]))))


def _determined(setting: Setting, solution: Solution, numbers: tuple[Entry, ...]) -> dict[str, Determined]:
    found: dict[str, Determined] = {}
    own = {entry.axis.lower(): entry for entry in numbers if entry.register == setting.kit.setup.offset}
    for axis in "xyz":
        weights = dict(own[axis].weights)
        if not weights:
            known = [e for e in numbers if e.register.startswith("length") and e.estimate.standard <= _LOOSE_MM]
            weights = dict(known[0].weights) if known else {"z": 1.0}
        rest = solution.rests_on({name: weight for name, weight in weights.items() if name != "angle"})
        found[axis] = _axis_sentence(axis, rest, solution)
    angles = ["angle"] + [name for name in ("tilt about x", "tilt about y") if solution.unknowns.row(name) is not None]
    for name in angles:
        rest = solution.rests_on({name: 1.0})
        size = f"± {1000.0 * solution.estimate({name: 1.0}).expanded:.2f} mrad"
        if rest:
            found[name] = Determined("kit", f"nothing you touched fixes the {name}: taken from {rest}, {size}")
        else:
            found[name] = Determined("readings", f"the {name} follows from your contacts, {size}")
    return found


def _axis_sentence(axis: str, rest: str, solution: Solution) -> Determined:
    name = axis.upper()
    if not rest:
        return Determined("readings", f"{name} follows from your contacts")
    lengths = [u.name for u in solution.unknowns if u.name.startswith("length of")]
    if axis == "z" and lengths:
        said = f"Z is open: the {lengths[0]} is not known, so its contact says nothing about the datum by itself"
        return Determined("nothing", said)
    return Determined("nothing", f"nothing you touched fixes {name}")


def _remedy(axis: str) -> str:
    if axis == "z":
        return "touch the datum's Z face with a tool whose length is known, or bring that tool to the tool setter as well"
    return f"touch a face square to {axis.upper()}, or sweep the datum bore"


def _refuse_open(determined: Mapping[str, Determined]) -> None:
    problems = [Problem(determined[axis].text, "a number from the kit alone is too rough to cut by", _remedy(axis))
                for axis in "xyz" if determined[axis].by != "readings"]  # fmt: skip
    if problems:
        raise InputRefused(problems)


def _plain_finding(slug: str, signal: Signal, text: str, remedy: str, value: float | None = None, unit: str = "") -> Finding:
    return Finding(slug=slug, signal=signal, text=text, remedy=remedy, value=value, unit=unit)


def _with_setup(finding: Finding, setup: str) -> Finding:
    return Finding(**{name: getattr(finding, name) for name in finding.__dataclass_fields__} | {"setup": setup})


def _axis_findings(determined: Mapping[str, Determined]) -> list[Finding]:
    return [_plain_finding("axis-not-found", Signal.DANGER, determined[axis].text, _remedy(axis))
            for axis in "xyz" if determined[axis].by != "readings"]  # fmt: skip


def _outlier_findings(odd: tuple[Outlier, ...], blind: tuple[tuple[int, float], ...], units: str) -> list[Finding]:
    found = [_plain_finding("contact-disagrees", Signal.WARNING, o.text(units), "clean face and tip, and make this contact again",
                            abs(o.early), "mm") for o in odd]  # fmt: skip
    if blind:
        who = ", ".join(str(reading + 1) for reading, _ in blind)
        text = f"no other contact checks contact {who}: a burr or a wrong number there would go unnoticed"
        found.append(_plain_finding("contact-unchecked", Signal.CAUTION, text, "touch the same faces once more at another place"))
    return found


def _angle_findings(angle: Estimate, determined: Mapping[str, Determined], reach: float, units: str) -> list[Finding]:
    off = abs(angle.value) * reach
    if determined["angle"].by == "readings" and abs(angle.value) > angle.expanded and off > 2.0 * _LOOSE_MM / 100.0:
        text = (f"the part is turned {math.degrees(angle.value):+.4f} deg: a program along the axes is {format_length(off, units)} "
                f"off at the far corner")  # fmt: skip
        remedy = "true the holding up, or turn the program by this angle"
        return [_plain_finding("part-turned", Signal.CAUTION, text, remedy, off, "mm")]
    if determined["angle"].by == "readings":
        return []
    text = f"{determined['angle'].text}; at the far corner that is ± {format_length(angle.expanded * reach, units)}"
    return [_plain_finding("angle-from-kit", Signal.NOTICE, text, "touch the jaw or a long face at both ends if that matters",
                           angle.expanded * reach, "mm")]  # fmt: skip


def _register_findings(numbers: tuple[Entry, ...], units: str) -> list[Finding]:
    found = []
    for entry in numbers:
        said = read_back(entry, units=units)
        if not said or entry.now is None or entry.estimate.standard > _LOOSE_MM:
            continue
        off = entry.now - entry.rounded
        bad = abs(off) > max(_WRONG_ENOUGH_MM, 3.0 * entry.estimate.standard)
        signal = Signal.DANGER if bad else Signal.NOTICE
        found.append(_plain_finding("register-differs", signal, said, f"{entry.say(units)}, then read it back", off, "mm"))
    return found


def _slip_findings(diagnosis: Diagnosis) -> list[Finding]:
    if diagnosis.none > 1.0 - _NAMED or not diagnosis.ranked:
        return []
    first = diagnosis.ranked[0]
    text = f"{first.words} (probability {first.probability:.0%})"
    return [_plain_finding("slip-suspected", Signal.WARNING, text, first.remedy, first.probability, "")]


def _arc_finding(name: str, span: float) -> Finding:
    text = f"{name} was touched over {math.degrees(span):.0f} deg only: its centre is uncertain several times over"
    return _plain_finding("arc-too-short", Signal.CAUTION, text, "spread the contacts round the circle", math.degrees(span), "deg")
