"""Piece: measured values become what to type, what it will do, how sure that is and why; or the advice to leave it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np

from setwright.base.errors import InputRefused
from setwright.base.tolerance import INFLUENCE_SEEN
from setwright.estimate.adjustment import Habit, excess, gains
from setwright.estimate.least_squares import Array
from setwright.jobfolder.measured import measurable
from setwright.kit.station import Kit
from setwright.model.finding import Finding, worst_first
from setwright.model.measurement import Measured, Measurement
from setwright.model.requirement import Requirement
from setwright.piece.advice import Change, Outlook, advise, outlook
from setwright.piece.belief import Belief, Values, believe
from setwright.piece.decision import decide
from setwright.piece.influence import Blind, Influence
from setwright.piece.sentences import (
    Judged,
    Typing,
    expected_findings,
    judged_findings,
    not_followed_findings,
    odd_findings,
    stays_out,
    table_findings,
    unexplained,
    unexplained_findings,
    why,
)

__all__ = ["Habits", "Judged", "PieceResult", "Typing", "advise_piece", "register_names", "typed_before"]

_MM_PER_INCH: Final = 25.4
_WEAR: Final = " wear"
_MOST_VALUES: Final = 500
"""Values that the advice looks back on; with that many it takes about a second."""

_AHEAD: Final = 20
"""Pieces over which habits of correcting are compared."""


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
    not_seen: tuple[str, ...]
    why: str
    findings: tuple[Finding, ...]
    pieces: tuple[str, ...]
    habits: Habits | None = None

    @property
    def advice(self) -> str:
        """Correct, or leave."""
        return "correct" if self.registers else "leave"

    def as_plain(self, units: str = "mm", *, typed: str = "") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths in `units`, what is typed at the control in `typed` if given."""
        per = _MM_PER_INCH if units in ("in", "inch") else 1.0
        return {
            "setup": self.kit.setup.name, "advice": self.advice, "why": self.why, "pieces": list(self.pieces),
            "registers": [{"name": one.name, "now": one.now / per, "wear": one.wear / per, "change": one.change / per,
                           "uncertainty": one.expanded / per, "type": one.text(typed or units),
                           "moves": {name: by / per for name, by in one.moves}}
                          for one in self.registers],
            "predicted": [_predicted(now, then, self.influence, per) for now, then in zip(self.before, self.after, strict=True)],
            "unexplained": [{"feature": name, "text": text} for name, text in self.unexplained],
            "judged": [{"piece": one.piece, "feature": one.requirement, "value": one.value / (per if one.unit == "mm" else 1.0),
                        "uncertainty": one.expanded / (per if one.unit == "mm" else 1.0), "decision": one.decision.value,
                        "gauge": one.gauge, "unit": one.unit if per == 1.0 or one.unit != "mm" else "in"} for one in self.judged],
            "inseparable": [{"registers": dict(one.share), "apart": one.apart or None} for one in self.blind],
            "not_measured": list(self.not_measured), "not_seen": list(self.not_seen), "drifts": self.belief.drifts,
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
    belief = believe(values, standard, between_mm=between, turns=turns, changed=_changed(influence, measured))
    off = belief.mean + typed_before(influence, measured, None)
    influence = _as_made(influence, belief)
    shown = _shown(influence, [one for number, one in enumerate(used) if number not in belief.aside], belief)
    changes = advise(influence, off, belief.covariance, shown=shown)
    withheld = _withheld(influence, measured, changes, [used[number] for number in belief.aside], belief)
    changes = () if withheld else changes
    before = outlook(influence, off, belief.covariance, between_mm=between)
    by = np.zeros(off.size)
    for change in changes:
        by[change.cause] = change.by
    after = outlook(influence, off + by, belief.covariance, between_mm=between)
    rows = sorted({row for row, _ in shown})
    registers = tuple(_typing(influence, change, measured) for change in changes)
    open_ = unexplained(influence, belief, after, rows, units)
    not_seen = tuple(influence.unseen(rows))
    reason = withheld or why(influence, registers, judged, belief, used, not_seen, units)
    bad = stays_out(influence, judged, after, rows)
    reason = "; ".join(part for part in ((reason, bad) if registers else (bad, reason)) if part)
    known = {one.feature for one in mine}
    not_measured = [requirement.name for requirement in kit.setup.requirement if not _covered(requirement, known)]
    findings = [*judged_findings(kit, judged, units), *odd_findings(kit, belief, used, influence, units),
                *unexplained_findings(kit, open_), *expected_findings(influence, after, rows, units),
                *not_followed_findings(influence, mine), *table_findings(kit)]  # fmt: skip
    return PieceResult(kit, influence, judged, belief, registers, before, after, tuple(influence.blind(rows)), open_,
                       tuple(not_measured), not_seen, reason, tuple(worst_first(findings)), measured.pieces(setup),
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
            found.append(Judged(piece, name, value, expanded, decision, gauges[0].name, "mm", centre=True))
    return tuple(found)


def _values(influence: Influence, measured: Measured, mine: Sequence[Measurement]) -> tuple[Values, list[Measurement]]:
    """The values that follow registers, and which lines they are."""
    by_name = {place.name: number for number, place in enumerate(influence.places)}
    used = _latest([one for one in mine if one.feature in by_name], measured.numbers(influence.kit.setup.name))
    gauges = influence.kit.folder.job.shop.gauges
    rows = influence.matrix[[by_name[one.feature] for one in used]]
    typed = {piece: typed_before(influence, measured, piece) for piece in {one.piece for one in used}}
    off = [one.value - influence.places[by_name[one.feature]].simulated - float(row @ typed[one.piece])
           for one, row in zip(used, rows, strict=True)]  # fmt: skip
    places = list(dict.fromkeys((one.piece, one.feature) for one in used))
    kinds = list(dict.fromkeys(one.gauge for one in used))
    gauge = np.array([gauges[one.gauge].uncertainty / 2.0 for one in used])
    same, with_ = [places.index((one.piece, one.feature)) for one in used], [kinds.index(one.gauge) for one in used]
    numbers = measured.numbers(influence.kit.setup.name)
    place, at = [by_name[one.feature] for one in used], [numbers[one.piece] for one in used]
    return Values(rows, np.array(off), gauge, same, with_, place, at), used


def _latest(used: list[Measurement], numbers: dict[str, int]) -> list[Measurement]:
    """The values of as many of the last pieces as there is room for: what was long ago says little of now."""
    counts = Counter(numbers[one.piece] for one in used)
    room, first = _MOST_VALUES, min(counts, default=0)
    for number in sorted(counts, reverse=True):
        room -= counts[number]
        if room < 0:
            break
        first = number
    return [one for one in used if numbers[one.piece] >= first]


def _as_made(influence: Influence, belief: Belief) -> Influence:
    """The same with a place that comes out otherwise in every piece where it comes out."""
    if belief.made is None:
        return influence
    number, by = belief.made
    places = list(influence.places)
    places[number] = replace(places[number], simulated=places[number].simulated + by)
    return replace(influence, places=tuple(places))


def _withheld(influence: Influence, measured: Measured, changes: Sequence[Change], aside: Sequence[Measurement],
              belief: Belief) -> str:  # fmt: skip
    """Why a change must wait: a value was set aside that, if it is right after all, the change would put outside its limits."""
    by = typed_before(influence, measured, None)
    for change in changes:
        by[change.cause] += change.by
    for one in aside if belief.made is None else ():
        row = influence.rows([one.feature])[0]
        place = influence.places[row]
        moved = influence.matrix[row] @ (by - typed_before(influence, measured, one.piece))
        if place.half is not None and abs(one.value - place.aim) <= place.half < abs(one.value + float(moved) - place.aim):
            return (f"“{one.feature}” does not fit the rest, and if its value is right after all, what the rest asks for would put "
                    "it out of limits: measure it again first")  # fmt: skip
    return ""


def _changed(influence: Influence, measured: Measured) -> list[tuple[int, int]]:
    """Every cause of a tool that was changed, with the piece before which that was."""
    setup = influence.kit.setup.name
    numbers = measured.numbers(setup)
    return [(number, numbers[change.piece]) for change in measured.changes_of(setup)
            for number, cause in enumerate(influence.causes) if cause.station == change.station]  # fmt: skip


def register_names(influence: Influence) -> list[str]:
    """The registers that a line may say were typed into; a tool's also by its wear."""
    typed = [cause.typed for cause in influence.causes if cause.typed is not None]
    return [name for one in typed for name in ((one.name,) if one.kind == "offset" else (one.name, one.name + _WEAR))]


def typed_before(influence: Influence, measured: Measured, piece: str | None) -> Array:
    """What was typed before a piece was cut, by cause (n,), mm as the machine moves by it; None: all of it."""
    order = measured.pieces(influence.kit.setup.name)
    upto = len(order) if piece is None else order.index(piece) + 1
    found = np.zeros(len(influence.causes))
    names = [cause.name if cause.typed is not None else "" for cause in influence.causes]
    before = set(order[:upto])
    for one in measured.typings:
        if one.setup == influence.kit.setup.name and one.piece in before:
            number = names.index(one.register.removesuffix(_WEAR))
            found[number] += one.by / float(influence.doubled([number])[0])
    return found


def _shown(influence: Influence, used: Sequence[Measurement], belief: Belief) -> list[tuple[int, float]]:
    """Every measured place, and how far it must lie beside the middle to be worth acting on: one standard deviation of what is left
    open there once all values have spoken. Closer rules type more often for little; wider ones cost more than typing a fixed share
    of each deviation does (benchmarks/piece)."""
    rows = influence.rows(list(dict.fromkeys(one.feature for one in used)))
    return [(row, math.sqrt(float(influence.matrix[row] @ belief.covariance @ influence.matrix[row]))) for row in rows]


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
    wear = _wear(influence.kit, typed.kind, typed.key) + math.fsum(one.by for one in measured.typings
                                                                   if one.register == cause.name + _WEAR)  # fmt: skip
    return Typing(cause.name, times * (typed.value + before) - wear, wear, times * change.by, 2.0 * times * change.standard,
                  typed.step, typed.kind != "offset", moves)  # fmt: skip


def _wear(kit: Kit, kind: str, number: str) -> float:
    """What the wear field beside a tool's register holds as far as the job says, mm as the control shows it."""
    stated = kit.folder.job.registers
    row = stated.tool.get(number) if stated.setup in (None, kit.setup.name) else None
    if row is None or kind == "offset":
        return 0.0
    return row.length_wear if kind == "length" else row.radius_wear


