"""Piece: measured values become what to type, what it will do, how sure that is and why; or the advice to leave it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from setwright.base.errors import InputRefused
from setwright.base.tolerance import INFLUENCE_SEEN
from setwright.base.units import format_length, written
from setwright.estimate.adjustment import Habit, excess, gains
from setwright.estimate.least_squares import Array
from setwright.jobfolder.measured import measurable
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal, worst_first
from setwright.model.fits import named_limits
from setwright.model.measurement import Measured, Measurement
from setwright.model.requirement import NO_LIMITS, Requirement
from setwright.piece.advice import Change, Outlook, advise, outlook
from setwright.piece.belief import SETTLED, Belief, Values, believe
from setwright.piece.decision import Decision, decide
from setwright.piece.influence import Blind, Cause, Influence

__all__ = ["Habits", "Judged", "PieceResult", "Typing", "advise_piece", "typed_before"]

_MM_PER_INCH: Final = 25.4
_SURE: Final = 2.0
"""A cause that no register holds is named where it is off by more than so many of its standard deviations."""

_LIKELIER_THAN_NOT: Final = 0.5
_AHEAD: Final = 20
"""Pieces over which habits of correcting are compared."""

_MATTERS: Final = 0.5
"""And where it moves a feature by more than this share of half the width of its limits."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One measured feature of one piece: its value and expanded uncertainty (mm, an angle deg), and what it proves."""

    piece: str
    requirement: str
    value: float
    expanded: float
    decision: Decision
    gauge: str
    unit: str


@dataclass(frozen=True, slots=True)
class Typing:
    """One register to change, as the control shows it, mm: what it holds now, by how much it changes, how sure that is (k = 2)."""

    name: str
    now: float
    change: float
    expanded: float
    step: float
    adds_to_wear: bool
    moves: tuple[tuple[str, float], ...]

    def text(self, units: str) -> str:
        """What to type."""
        return f"{self.name} = {written(self.now + self.change, self.step, units)}"


@dataclass(frozen=True, slots=True)
class Habits:
    """What habits of correcting cost on one feature: root mean square distance from where it should be, mm, over the pieces 2 to
    `pieces`, by habit; `sigma` one standard deviation of a measured piece, `setting` of the setting before the first, mm."""

    feature: str
    pieces: int
    sigma: float
    setting: float
    spread: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class PieceResult:
    """The answer of the station for one setup. `off`, `belief`: see belief; `before`, `after`: the next piece as it is now and with
    `registers` typed; `blind`: registers that what was measured cannot tell apart; `unexplained`: what no register mends."""

    kit: Kit
    influence: Influence = field(repr=False)
    judged: tuple[Judged, ...]
    belief: Belief = field(repr=False)
    registers: tuple[Typing, ...]
    before: tuple[Outlook, ...]
    after: tuple[Outlook, ...]
    blind: tuple[Blind, ...]
    unexplained: tuple[tuple[str, str], ...]
    not_measured: tuple[str, ...]
    why: str
    findings: tuple[Finding, ...]
    pieces: tuple[str, ...]
    habits: Habits | None = None

    @property
    def advice(self) -> str:
        """Correct, or leave."""
        return "correct" if self.registers else "leave"

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths in `units`."""
        per = _MM_PER_INCH if units in ("in", "inch") else 1.0
        return {
            "setup": self.kit.setup.name, "advice": self.advice, "why": self.why, "pieces": list(self.pieces),
            "registers": [{"name": one.name, "now": one.now / per, "change": one.change / per, "uncertainty": one.expanded / per,
                           "type": one.text(units), "moves": {name: by / per for name, by in one.moves}}
                          for one in self.registers],
            "predicted": [_predicted(now, then, self.influence, per) for now, then in zip(self.before, self.after, strict=True)],
            "unexplained": [{"feature": name, "text": text} for name, text in self.unexplained],
            "judged": [{"piece": one.piece, "feature": one.requirement, "value": one.value / (per if one.unit == "mm" else 1.0),
                        "uncertainty": one.expanded / (per if one.unit == "mm" else 1.0), "decision": one.decision.value,
                        "gauge": one.gauge, "unit": one.unit if per == 1.0 or one.unit != "mm" else "in"} for one in self.judged],
            "inseparable": [{"registers": dict(one.share), "apart": one.apart or None} for one in self.blind],
            "not_measured": list(self.not_measured),
            "habits": None if self.habits is None else
            {"feature": self.habits.feature, "pieces": self.habits.pieces, "sigma": self.habits.sigma / per,
             "setting": self.habits.setting / per, "spread": {name: size / per for name, size in self.habits.spread}},
            "influence": {place.name: {cause.name: float(value) for cause, value in zip(self.influence.causes, row, strict=True)
                                       if abs(value) > INFLUENCE_SEEN}
                          for place, row in zip(self.influence.places, self.influence.matrix, strict=True)},
        }  # fmt: skip


def _predicted(now: Outlook, then: Outlook, influence: Influence, per: float) -> dict[str, Any]:
    place = next(place for place in influence.places if place.requirement == now.requirement)
    ends = [(place.limits.nominal + end) / per for end in (place.limits.lower, place.limits.upper)]
    limits = None if place.half is None else ends
    return {"name": now.requirement, "limits": limits, "before": [value / per for value in now.means],
            "after": [value / per for value in then.means], "uncertainty": [2.0 * one / per for one in then.standards],
            "probability_before": now.within, "probability_after": then.within}  # fmt: skip


def advise_piece(influence: Influence, measured: Measured, *, guard: float = 2.0, units: str = "mm") -> PieceResult:
    """What to do after the pieces measured in this setup. `guard`: see decide; `units`: those of sentences.

    Raises InputRefused where nothing of this setup was measured.
    """
    kit = influence.kit
    setup = kit.setup.name
    mine = [one for one in measured.measurements if one.setup == setup]
    if not mine:
        raise InputRefused.because(f"nothing was measured in setup “{setup}”", remedy=f"write its values into {measured.file}")
    between = kit.machine.accuracy.repeatability
    judged = _judged(kit, mine, guard)
    values, used = _values(influence, measured, mine)
    standard = np.array([cause.standard for cause in influence.causes])
    turns = [number for number, cause in enumerate(influence.causes) if cause.unit == "rad"]
    belief = believe(values, standard, between_mm=between, turns=turns)
    off = belief.mean + typed_before(influence, measured, None)
    aside = {used[number].span.line for number in belief.aside}
    shown = _shown(influence, [one for one in used if one.span.line not in aside], between)
    changes = advise(influence, off, belief.covariance, shown=shown)
    before = outlook(influence, off, belief.covariance, between_mm=between)
    by = np.zeros(off.size)
    for change in changes:
        by[change.cause] = change.by
    after = outlook(influence, off + by, belief.covariance, between_mm=between)
    rows = sorted({row for row, _ in shown})
    registers = tuple(_typing(influence, change, measured) for change in changes)
    unexplained = _unexplained(influence, belief, after, units)
    why, bad = _why(influence, registers, judged, belief, used, units), _stays_out(judged, after)
    why = "; ".join(part for part in ((why, bad) if registers else (bad, why)) if part)
    known = {one.feature for one in mine}
    not_measured = [requirement.name for requirement in kit.setup.requirement if not _covered(requirement, known)]
    findings = [*_judged_findings(kit, judged, units), *_odd_findings(kit, belief, used, influence, units),
                *_unexplained_findings(kit, unexplained), *_table_findings(kit)]  # fmt: skip
    return PieceResult(kit, influence, judged, belief, registers, before, after, tuple(influence.blind(rows)), unexplained,
                       tuple(not_measured), why, tuple(worst_first(findings)), measured.pieces(setup),
                       _habits(influence, registers, used, between))  # fmt: skip


def _covered(requirement: Requirement, known: set[str]) -> bool:
    return requirement.name in known or {f"{requirement.name} x", f"{requirement.name} y"} <= known


def _judged(kit: Kit, mine: Sequence[Measurement], guard: float) -> tuple[Judged, ...]:
    """Every value against its limits; a centre once both coordinates of a piece are there."""
    names, found = measurable(kit.setup), []
    centres: dict[tuple[str, str], dict[str, Measurement]] = {}
    for one in mine:
        requirement, axis = names[one.feature]
        gauge = kit.folder.job.shop.gauges[one.gauge]
        if axis:
            centres.setdefault((one.piece, one.feature[:-2]), {})[axis] = one
            continue
        angle = requirement.angle is not None
        value = math.degrees(one.value) if angle else one.value
        expanded = math.degrees(gauge.angle_uncertainty or 0.0) if angle else gauge.uncertainty
        decision = decide(value, requirement.limits, expanded, guard=guard)
        found.append(Judged(one.piece, one.feature, value, expanded, decision, gauge.name, "deg" if angle else "mm"))
    for (piece, name), both in centres.items():
        position = names[name][0].position
        if len(both) == 2 and position is not None:
            gauges = [kit.folder.job.shop.gauges[one.gauge] for one in both.values()]
            value = 2.0 * math.hypot(both["x"].value - position.x, both["y"].value - position.y)
            expanded = 2.0 * max(gauge.uncertainty for gauge in gauges)
            decision = decide(value, names[name][0].limits, expanded, guard=guard)
            found.append(Judged(piece, name, value, expanded, decision, gauges[0].name, "mm"))
    return tuple(found)


def _values(influence: Influence, measured: Measured, mine: Sequence[Measurement]) -> tuple[Values, list[Measurement]]:
    """The values that follow registers, and which lines they are."""
    by_name = {place.name: number for number, place in enumerate(influence.places)}
    used = [one for one in mine if one.feature in by_name]
    gauges = influence.kit.folder.job.shop.gauges
    rows = influence.matrix[[by_name[one.feature] for one in used]]
    typed = {piece: typed_before(influence, measured, piece) for piece in {one.piece for one in used}}
    off = [one.value - influence.places[by_name[one.feature]].simulated - float(row @ typed[one.piece])
           for one, row in zip(used, rows, strict=True)]  # fmt: skip
    places = list(dict.fromkeys((one.piece, one.feature) for one in used))
    kinds = list(dict.fromkeys(one.gauge for one in used))
    gauge = np.array([gauges[one.gauge].uncertainty / 2.0 for one in used])
    same, with_ = [places.index((one.piece, one.feature)) for one in used], [kinds.index(one.gauge) for one in used]
    return Values(rows, np.array(off), gauge, same, with_), used


def typed_before(influence: Influence, measured: Measured, piece: str | None) -> Array:
    """What was typed before a piece was cut, by cause (n,), mm as the machine moves by it; None: all of it."""
    order = measured.pieces(influence.kit.setup.name)
    upto = len(order) if piece is None else order.index(piece) + 1
    found = np.zeros(len(influence.causes))
    names = [cause.name if cause.typed is not None else "" for cause in influence.causes]
    for one in measured.typings:
        if one.setup == influence.kit.setup.name and one.piece in order[:upto]:
            number = names.index(one.register)
            found[number] += one.by / float(influence.doubled([number])[0])
    return found


def _shown(influence: Influence, used: Sequence[Measurement], between: float) -> list[tuple[int, float]]:
    """Every measured place and how finely it is known: expanded uncertainty of gauge and piece, less as more pieces speak of it."""
    gauges, found = influence.kit.folder.job.shop.gauges, []
    by_name = {place.name: number for number, place in enumerate(influence.places)}
    for name in dict.fromkeys(one.feature for one in used):
        pieces = len({one.piece for one in used if one.feature == name})
        finest = min(gauges[one.gauge].uncertainty for one in used if one.feature == name)
        found.append((by_name[name], math.hypot(finest, 2.0 * between) / math.sqrt(pieces)))
    return found


def _habits(influence: Influence, registers: Sequence[Typing], used: Sequence[Measurement], between: float) -> Habits | None:
    """What correcting by habit would cost on the feature that the first change moves most, else on the first one measured that a
    register moves; None where there is none."""
    gauges = influence.kit.folder.job.shop.gauges
    columns = influence.registers
    by_name = {place.name: influence.matrix[number, columns] for number, place in enumerate(influence.places)}
    known = {one.feature: gauges[one.gauge].uncertainty / 2.0 for one in used
             if np.abs(by_name[one.feature]).max(initial=0.0) > INFLUENCE_SEEN}  # fmt: skip
    moved = [name for one in registers[:1] for name, _ in sorted(one.moves, key=lambda move: -abs(move[1])) if name in known]
    feature = next(iter([*moved, *known]), None)
    if feature is None:
        return None
    sigma = math.hypot(known[feature], between)
    setting = math.sqrt(sum((by_name[feature][n] * influence.causes[j].standard) ** 2 for n, j in enumerate(columns)))
    ratio = (setting / sigma) ** 2
    said = []
    for habit in (Habit.NEVER, Habit.FULL, Habit.SHARE, Habit.PRIOR):
        loss = excess(gains(habit, _AHEAD - 1, ratio=ratio), ratio)
        said.append((habit.value, sigma * math.sqrt(1.0 + loss / (_AHEAD - 1))))
    return Habits(feature, _AHEAD, sigma, setting, tuple(said))


def _typing(influence: Influence, change: Change, measured: Measured) -> Typing:
    cause = influence.causes[change.cause]
    typed = cause.typed
    if typed is None:
        raise AssertionError("only registers are changed")
    times = float(influence.doubled([change.cause])[0])
    before = float(typed_before(influence, measured, None)[change.cause])
    column = influence.matrix[:, change.cause] * change.by
    moves = tuple((place.name, float(by)) for place, by in zip(influence.places, column, strict=True) if abs(by) > INFLUENCE_SEEN)
    return Typing(cause.name, times * (typed.value + before), times * change.by, 2.0 * times * change.standard, typed.step,
                  typed.kind != "offset", moves)  # fmt: skip


def _unexplained(influence: Influence, belief: Belief, after: Sequence[Outlook], units: str) -> tuple[tuple[str, str], ...]:
    """Features that stay out of their limits whatever is typed, with the likeliest cause; tools and directions that are off."""
    found = []
    standards = np.sqrt(np.diag(belief.covariance))
    for number, cause in enumerate(influence.causes):
        value = float(belief.mean[number])
        if cause.typed is None and abs(value) > _SURE * standards[number]:
            moved = [abs(value * row[number]) / place.half if place.half else 0.0
                     for place, row in zip(influence.places, influence.matrix, strict=True)]  # fmt: skip
            if max(moved, default=0.0) > _MATTERS:
                text = f"{_off(cause, value, float(standards[number]), units)}; no register changes that"
                found.append((influence.places[int(np.argmax(moved))].name, text))
    for one in after:
        if one.within is not None and one.within < _LIKELIER_THAN_NOT and all(one.requirement != name for name, _ in found):
            text = "it stays outside its limits whatever is typed: look at the program, at how the part is held, at wear"
            found.append((one.requirement, f"{one.requirement}: {text}"))
    return tuple(found)


def _off(cause: Cause, value: float, standard: float, units: str) -> str:
    if cause.unit == "rad":
        way = "counter-clockwise" if value > 0.0 else "clockwise"
        return f"the part lies turned {way} by {math.degrees(abs(value)):.3f} ± {math.degrees(2.0 * standard):.3f} deg"
    how = "large" if value > 0.0 else "small"
    return (f"T{cause.station} cuts {format_length(abs(value), units)} too {how} in diameter "
            f"(± {format_length(2.0 * standard, units)})")  # fmt: skip


def _stays_out(judged: Sequence[Judged], after: Sequence[Outlook]) -> str:
    """What is proved bad and will be bad again whatever is typed: no headline may pass over it."""
    within = {one.requirement: one.within for one in after}
    bad = dict.fromkeys(one.requirement for one in judged if one.decision is Decision.REJECT)
    names = [f"“{name}”" for name in bad if (likely := within.get(name)) is None or likely < _LIKELIER_THAN_NOT]
    be = "is" if len(names) == 1 else "are"
    return f"{' and '.join(names)} {be} out of limits, and nothing to type brings that back" if names else ""


def _why(influence: Influence, registers: Sequence[Typing], judged: Sequence[Judged], belief: Belief, used: Sequence[Measurement],
         units: str) -> str:  # fmt: skip
    """The reason in one sentence."""
    first = belief.rivals[0]
    if registers and first.kind == "cause" and first.probability >= SETTLED:
        cause = influence.causes[first.number]
        size = format_length(abs(float(belief.mean[first.number])), units)
        return (f"{cause.name} is off by {size}, far more than the touch-off leaves open ({100.0 * first.probability:.0f} %): look "
                "also at how that number came about")  # fmt: skip
    if registers:
        names = " and ".join(f"“{name}”" for name, _ in registers[0].moves[:2])
        return f"measured, {names} lay farther beside the middle of the limits than gauge and touch-off leave open"
    if belief.aside:
        return f"“{used[belief.aside[0]].feature}” does not fit the rest: measure it again before anything is typed"
    if all(one.decision is Decision.ACCEPT for one in judged):
        return "every measured feature is proved good, and no register is off by so much that typing would be surer than the gauge"
    return "no register is off by so much that typing would be surer than the gauge"


def _finding(kit: Kit, slug: str, signal: Signal, text: str, remedy: str) -> Finding:
    return Finding(slug=slug, signal=signal, setup=kit.setup.name, text=text, remedy=remedy)


def _judged_findings(kit: Kit, judged: Sequence[Judged], units: str) -> list[Finding]:
    found = []
    for one in judged:
        value = f"{one.value:.3f} deg" if one.unit == "deg" else format_length(one.value, units)
        expanded = f"{one.expanded:.3f} deg" if one.unit == "deg" else format_length(one.expanded, units)
        said = f"piece {one.piece}: “{one.requirement}” {value} ± {expanded} ({one.gauge})"
        if one.decision is Decision.REJECT:
            found.append(_finding(kit, "piece-out-of-limits", Signal.WARNING, f"{said} is out of its limits",
                                  "keep this piece apart; whether it can be reworked is for the drawing to say"))  # fmt: skip
        elif one.decision is Decision.UNDECIDED:
            found.append(_finding(kit, "piece-undecided", Signal.CAUTION, f"{said} is too near its limit to prove good or bad",
                                  "measure it with a finer gauge, or have it agreed"))  # fmt: skip
    return found


def _odd_findings(kit: Kit, belief: Belief, used: Sequence[Measurement], influence: Influence, units: str) -> list[Finding]:
    """Values that were set aside, with what may explain them."""
    found = []
    for number in belief.aside:
        one = used[number]
        likely = "; ".join(f"{_rival(rival.kind, rival.number, used, influence)} {100.0 * rival.probability:.0f} %"
                           for rival in belief.rivals[:3] if rival.probability >= 0.02)  # fmt: skip
        value = f"piece {one.piece}: “{one.feature}” {format_length(one.value, units)}"
        remedy = ("measure it again, with another gauge if there is one, and write it as a line of its own with its time; nothing "
                  "is typed from this value")  # fmt: skip
        found.append(Finding(slug="measurement-suspect", signal=Signal.CAUTION, setup=kit.setup.name, file=one.span.file,
                             text=f"{value} fits nothing that is known of the setup ({likely})", line=one.span.line,
                             remedy=remedy))  # fmt: skip
    return found


def _rival(kind: str, number: int, used: Sequence[Measurement], influence: Influence) -> str:
    if kind == "value":
        return f"“{used[number].feature}” misread"
    if kind == "cause":
        return f"{influence.causes[number].name} grossly off"
    return "something that is in no list" if kind == "unlisted" else "chance"


def _unexplained_findings(kit: Kit, unexplained: Sequence[tuple[str, str]]) -> list[Finding]:
    remedy = "put the tool, the holding or the program right; leave the registers alone for it"
    return [_finding(kit, "not-mended-by-offsets", Signal.WARNING, text, remedy) for _, text in unexplained]


def _table_findings(kit: Kit) -> list[Finding]:
    """What a person must know of limits that a name gave."""
    notes: dict[str, None] = {}
    for requirement in kit.setup.requirement:
        if requirement.tolerance not in (None, NO_LIMITS) and requirement.size is not None:
            note = named_limits(str(requirement.tolerance), requirement.size.nominal).note
            if note:
                notes[f"“{requirement.name}” {requirement.tolerance}: {note}"] = None
    return [_finding(kit, "limits-unsure", Signal.NOTICE, text, "compare with the drawing's own table") for text in notes]
