"""Touch: the readings of a setup become the numbers to type, how sure they are, and what is doubtful about them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

import numpy as np

from setwright.base.errors import InputRefused
from setwright.geometry.frames import Transform
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.model.check import run_checks
from setwright.model.finding import Finding, Signal, worst_first
from setwright.model.reading import Readings
from setwright.read.station import profile_of
from setwright.touch.case import Determined, TouchCase
from setwright.touch.checked import Drifted, drifts
from setwright.touch.conditions import Conditions, conditions_of
from setwright.touch.diameters import tool_radii
from setwright.touch.doubts import Next, Outlier, next_contact, unchecked
from setwright.touch.drawn import Compared, compare
from setwright.touch.gross import GROSS_MM, doubted, first_named, set_aside, sift, wrong_alike
from setwright.touch.guard import Beyond, numbers_beyond
from setwright.touch.registers import CONVENTIONS, Entry, convert_lengths, entries, g10_block, read_back
from setwright.touch.rests import LOOSE_MM, Resting, refuse_open, resting
from setwright.touch.setting import Setting, prepare
from setwright.touch.shown import Shown, compare_shown
from setwright.touch.slips import Diagnosis, Hovered, diagnose, traces
from setwright.touch.solution import Contribution, Estimate, Solution

__all__ = ["TouchResult", "Wanted", "touch"]

_MM_PER_INCH = 25.4


class Wanted(Enum):
    """Whether a touch-off that leaves an axis open is refused, or answered as far as it goes (while readings are being entered)."""

    WHOLE = "whole"
    AS_FAR = "as far as it goes"


@dataclass(frozen=True, slots=True)
class TouchResult:
    """The answer of the station; lengths mm, angles rad.

    `entries`: the numbers to type, in the machine's convention. `determined`: by axis ("x", "y", "z", "angle", "tilt about x" ...).
    `outliers`, `unchecked`: readings the others contradict, readings nothing checks. `diagnosis`: which slip would explain it.
    `drifts`: what later checks of the datum say. `radii`: of tools measured or preset, by station. `rests`: which of the numbers
    may be typed; `beyond`: readings and numbers the machine cannot reach.
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
    drifts: tuple[Drifted, ...] = ()
    radii: Mapping[int, Estimate] = field(default_factory=dict)
    rests: Resting = field(default_factory=lambda: Resting({}))
    beyond: tuple[Beyond, ...] = ()

    @property
    def open_axes(self) -> tuple[str, ...]:
        """Axes that nothing fixes."""
        return tuple(axis for axis in ("x", "y", "z") if self.determined[axis].by != "readings")

    def keystrokes(self, units: str = "mm") -> list[str]:
        """What to type, one register at a time; registers that nothing fixes are left out."""
        return [entry.say(units) for entry in self.entries if self.known(entry)]

    def known(self, entry: Entry) -> bool:
        """Whether an entry has a number to type: something fixes it, and nothing contradicts it."""
        return self.rests.known(entry, self.solution)

    def g10(self, units: str = "mm") -> str:
        """The work offsets as G10 blocks; "" while an axis is open, a reading is grossly wrong or readings contradict each other,
        and where this control's G10 L20 means something else."""
        names_extended = profile_of(self.kit.machine.control).g10_l20 == "extended offsets"
        wrong = any(not one.question for one in self.beyond)
        wrong = wrong or any(one.rivals or abs(one.early) > GROSS_MM for one in self.outliers)
        if self.open_axes or wrong or self.rests.withheld:
            return ""
        return g10_block(self.entries, units=units, extended="G10 L20" if names_extended else "")

    def compared(self, *, seed: int = 1) -> dict[str, Compared]:
        """Budget against drawing (JCGM 101) for X, Y, Z of the offset and the angle; numbers that nothing fixes are left out."""
        own = [e for e in self.entries if e.register == self.kit.setup.offset and e.weights and self.known(e)]
        goals: dict[str, Mapping[str, float]] = {entry.name: dict(entry.weights) for entry in own}
        return compare(self.solution, goals | {"angle": {"angle": 1.0}}, seed=seed)

    def lengths_in(self, want: str) -> tuple[float, dict[int, float]]:
        """Offset Z and the lengths by station as a machine of another convention would hold them, mm. Refuses when a length that
        the conversion needs is not known."""
        control = self.kit.machine.control
        if want not in CONVENTIONS:
            raise InputRefused.because(f'"{want}" is no convention of lengths', remedy=f"write one of: {', '.join(CONVENTIONS)}")
        offset = next(e.estimate.value for e in self.entries if e.register == self.kit.setup.offset and e.axis == "Z")
        held = {e.station: e.estimate.value for e in self.entries if e.register.startswith("length") and e.station is not None}
        if not held:
            raise InputRefused.because("no tool length is known", remedy="touch the datum or the tool setter with a tool")
        true = ((station, self.solution.estimate({f"length of tool {station}": 1.0})) for station in held)
        known = next(((station, length.value) for station, length in true if length.standard <= LOOSE_MM), None)
        reference = control.reference_tool if control.reference_tool in held else min(held)
        return convert_lengths(offset, held, have=control.lengths, want=want, known=known, reference=reference)

    def read_off(self, said: Sequence[str], units: str = "mm") -> list[Shown]:
        """What somebody reads off the control now, every digit compared with the number to type."""
        return compare_shown(self.entries, said, units=units)

    def wrong_digits(self, shown: Sequence[Shown], units: str = "mm") -> list[Finding]:
        """A finding for each number read off that is not as it should be."""
        return [Finding(slug="register-differs", signal=Signal.DANGER, setup=self.kit.setup.name,
                        text=f"{one.entry.name} shows {one.shown}, should be {one.wanted}",
                        remedy=f"{one.entry.say(units)}, then read it back") for one in shown if not one.right]  # fmt: skip

    def truth(self) -> Truth:
        """What a proof should take as true from now on: place and lengths as measured, the kit's where nothing was.

        Where tools came down on the part and no length is known by itself, only the height of the zero and each length together
        are known; how sure that is stands with the lengths then. What is doubtful about the readings comes along.
        """
        turn, zero = self.solution.machine_from_work
        lengths = {station: assembly.length for station, assembly in self.kit.tools.items()}
        radii = {station: assembly.radius for station, assembly in self.kit.tools.items()}
        radii |= {station: measured.value for station, measured in self.radii.items()}
        known: dict[int, float] = {}
        unmeasured = []
        x, y, z = (self.solution.spread({axis: 1.0})[1] for axis in "xyz")
        together = {"z": 1.0} if z > LOOSE_MM else {}
        wrong = {entry.station for entry in self.entries if entry.name in self.rests.withheld}
        for station in lengths:
            name = f"length of tool {station}"
            standard = self.solution.spread({name: 1.0, **together})[1]
            if station not in wrong and self.solution.unknowns.row(name) is not None and standard <= LOOSE_MM:
                lengths[station] = self.solution.value(name)
                known[station] = standard
            else:
                unmeasured.append(station)
        if together and len(known) == len(lengths):  # every tool was set on the part: none rests on the height alone
            z = 0.0
        angle = self.solution.spread({"angle": 1.0})[1]
        return Truth(Transform(turn, zero), lengths, radii, "touch", (x, y, z), max(known.values(), default=0.0), tuple(unmeasured),
                     self.findings, angle, known)  # fmt: skip

    def as_plain(self, units: str = "mm", *, typed: str = "") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths in `units`, values null where nothing fixes them. What is typed
        at the control or read there, and every sentence, is in `typed` if that is given."""
        said_in = typed or units
        per = _MM_PER_INCH if units in ("in", "inch") else 1.0
        offsets: dict[str, dict[str, Any]] = {}
        lengths: dict[str, dict[str, Any]] = {}
        radii: dict[str, dict[str, Any]] = {}
        for entry in self.entries:
            said = _plain(entry.estimate, per, known=self.known(entry)) | {
                "type": entry.text(said_in) if self.known(entry) else "", "register": entry.name,
            }  # fmt: skip
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
                          "rivals": [r + 1 for r in o.rivals], "slip": o.slug or None, "text": o.text(said_in)} for o in
                          self.outliers],
            "unchecked": [{"contact": reading + 1, "least_found": None if math.isinf(size) else size / per}
                          for reading, size in self.unchecked],
            "slips": [{"slug": s.slug, "probability": s.probability, "text": s.words} for s in self.diagnosis.ranked],
            "no_slip": self.diagnosis.none, "unlisted": self.diagnosis.unlisted, "settled": self.diagnosis.settled,
            "tells_apart": self.diagnosis.apart or None,
            "beyond": [{"text": one.text, "remedy": one.remedy, "question": one.question, "slip": one.slug or None}
                       for one in self.beyond],
            "type": self.keystrokes(said_in), "read_back": list(self.read_back), "g10": self.g10(said_in),
            "next_contact": self.next.text(said_in) if self.next else None,
            "drift": [{"on": d.on, "axis": d.axis, "checks": d.count, "shape": d.drift.shape, "moved": d.drift.moved / per,
                       "expanded_uncertainty": d.drift.expanded / per, "text": d.text(said_in),
                       "minutes_left": d.minutes_left if math.isfinite(d.minutes_left) else None} for d in self.drifts],
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
    read = readings or kit.folder.job.readings
    setting = prepare(kit, read, conditions or conditions_of(kit.folder.job, read.surroundings))
    sifted = sift(setting)
    solution = sifted.solution
    radii = tool_radii(kit, read)
    stated = kit.folder.job.registers
    held = stated if stated.setup in (None, kit.setup.name) else type(stated)()
    numbers = tuple(entries(kit, solution, held, radii=radii))
    beyond = (*setting.beyond, *numbers_beyond(kit, solution))
    found = (*set_aside(setting, solution), *sifted.outliers)
    seen = traces(setting, solution, numbers)
    diagnosis = diagnose(setting, solution, numbers, hovered, seen=seen, units=units)
    diagnosis = first_named(diagnosis, found, sifted, units=units)
    sifted = doubted(wrong_alike(setting, sifted, diagnosis), diagnosis, seen, numbers)
    rests = resting(setting, sifted, numbers, beyond)
    if wanted is Wanted.WHOLE:
        refuse_open(rests.determined, setting)
    case = TouchCase(
        setting=setting, solution=solution, stated=held, entries=numbers, angle=solution.estimate({"angle": 1.0}),
        determined=rests.determined, outliers=found, unchecked=tuple(unchecked(solution)),
        diagnosis=diagnosis, reach=_reach(setting), units=units, drifts=drifts(setting, solution), radii=radii,
        beyond=beyond, undecided=sifted.undecided, because=sifted.because, withheld=rests.withheld,
    )  # fmt: skip
    open_ = any(rests.determined[axis].by != "readings" for axis in "xyz")  # what fixes it comes first
    return TouchResult(
        kit=kit, solution=solution, entries=numbers, angle=case.angle, determined=rests.determined, outliers=case.outliers,
        unchecked=case.unchecked, diagnosis=case.diagnosis,
        read_back=tuple(said for entry in numbers if (said := read_back(entry, units=units))),
        next=None if open_ else next_contact(setting, solution, reach=case.reach),
        findings=tuple(worst_first(run_checks("setwright.touch.checks", case, missing={}))), drifts=case.drifts, radii=radii,
        rests=rests, beyond=beyond,
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
