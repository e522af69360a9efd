"""What Piece says of its numbers: why, what stays out of limits whatever is typed, and every finding, each in one sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from setwright.base.tolerance import INFLUENCE_SEEN, TINY
from setwright.base.units import format_half, format_length, written
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal
from setwright.model.fits import named_limits
from setwright.model.measurement import Measurement
from setwright.model.requirement import NO_LIMITS
from setwright.piece.advice import Outlook
from setwright.piece.belief import SETTLED, Belief, Rival
from setwright.piece.decision import Decision
from setwright.piece.influence import Cause, Influence

__all__ = ["Judged", "Typing", "expected_findings", "judged_findings", "not_followed_findings", "odd_findings", "stays_out",
           "table_findings", "unexplained", "unexplained_findings", "why"]  # fmt: skip

_SURE: Final = 2.0
"""A cause that no register holds is named where it is off by more than so many of its standard deviations."""

_LIKELIER_THAN_NOT: Final = 0.5

_MATTERS: Final = 0.5
"""And where it moves a feature by more than this share of half the width of its limits."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One measured feature of one piece: its value and expanded uncertainty (mm, an angle deg), and what it proves; `centre`: from
    both coordinates."""

    piece: str
    requirement: str
    value: float
    expanded: float
    decision: Decision
    gauge: str
    unit: str
    centre: bool = False


@dataclass(frozen=True, slots=True)
class Typing:
    """One register to change, as the control shows it, mm: what it holds now, beside it `wear` in a field of its own, by how much
    it changes, how sure that is (k = 2)."""

    name: str
    now: float
    wear: float
    change: float
    expanded: float
    step: float
    adds_to_wear: bool
    moves: tuple[tuple[str, float], ...]

    def text(self, units: str) -> str:
        """What to type."""
        return f"{self.name} = {written(self.now + self.change, self.step, units)}"


def unexplained(influence: Influence, belief: Belief, after: Sequence[Outlook], shown: Sequence[int],
                 units: str) -> tuple[tuple[str, str], ...]:  # fmt: skip
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
        if one.within is None or one.within >= _LIKELIER_THAN_NOT or any(one.requirement == name for name, _ in found):
            continue
        rows, movers = _movers(influence, one.requirement)
        if not movers:
            text = "it stays outside its limits whatever is typed: look at the program, at how the part is held, at wear"
        elif not set(rows) <= set(shown):
            continue
        else:
            text = f"no change of {' or '.join(movers[:3])} brings it inside its limits and leaves what else that moves inside"
        found.append((one.requirement, f"{one.requirement}: {text}"))
    return tuple(found)


def _movers(influence: Influence, requirement: str) -> tuple[list[int], list[str]]:
    """The rows of a requirement and the registers that move any of them."""
    rows = [number for number, place in enumerate(influence.places) if place.requirement == requirement]
    reach = np.abs(influence.matrix[rows]).max(axis=0, initial=0.0)
    return rows, [influence.causes[j].name for j in influence.registers if reach[j] > INFLUENCE_SEEN]


def expected_findings(influence: Influence, after: Sequence[Outlook], shown: Sequence[int], units: str) -> list[Finding]:
    """Features that nobody measured, or whose value was set aside, and that are not to be expected inside their limits: a register
    may mend them, but nothing is typed for what was not seen."""
    found = []
    for one in after:
        rows, movers = _movers(influence, one.requirement)
        half = influence.places[rows[0]].half
        off = math.hypot(*(mean - influence.places[row].aim for mean, row in zip(one.means, rows, strict=True)))
        if movers and half is not None and off > half * (1.0 + INFLUENCE_SEEN) and not set(rows) <= set(shown):
            found.append(f"“{one.requirement}” at {' '.join(format_length(mean, units) for mean in one.means)}")
    if not found:
        return []
    text = f"to be expected outside their limits, though no value of them counts here: {'; '.join(found)}"
    return [_finding(influence.kit, "expected-out-of-limits", Signal.WARNING, text,
                     "measure them; nothing is typed for what nobody measured")]  # fmt: skip


def not_followed_findings(influence: Influence, mine: Sequence[Measurement]) -> list[Finding]:
    """What was measured and says nothing of registers, with why."""
    known, why = {place.name for place in influence.places}, dict(influence.left_out)
    found = []
    for name in dict.fromkeys(one.feature for one in mine if one.feature not in known):
        if f"{name} x" in known:
            text, remedy = "as one number it does not say which way it is off", f"measure “{name} x” and “{name} y”"
        else:
            text, remedy = why.get(name, "it does not follow offsets, lengths and radii"), "judge it by its limits alone"
        found.append(_finding(influence.kit, "not-followed", Signal.NOTICE,
                              f"“{name}” was measured, and nothing is typed from it: {text}", remedy))  # fmt: skip
    return found


def _off(cause: Cause, value: float, standard: float, units: str) -> str:
    if cause.unit == "rad":
        way = "counter-clockwise" if value > 0.0 else "clockwise"
        sure = math.ceil(2000.0 * math.degrees(standard)) / 1000.0
        return f"the part lies turned {way} by {math.degrees(abs(value)):.3f} ± {sure:.3f} deg"
    how = "large" if value > 0.0 else "small"
    return (f"T{cause.station} cuts {format_length(abs(value), units)} too {how} in diameter "
            f"(± {format_half(2.0 * standard, units)})")  # fmt: skip


def stays_out(influence: Influence, judged: Sequence[Judged], after: Sequence[Outlook], shown: Sequence[int]) -> str:
    """What is proved bad and will be bad again whatever is typed: no headline may pass over it."""
    within = {one.requirement: one.within for one in after}
    followed = {place.name for place in influence.places}
    bad = dict.fromkeys(one.requirement for one in judged if one.decision is Decision.REJECT)
    blind = [name for name in bad if f"{name} x" in followed and not any(one.requirement == name and one.centre for one in judged)]
    stays = [name for name in bad if name not in blind and ((likely := within.get(name)) is None or likely < _LIKELIER_THAN_NOT)]
    moved = {name: _movers(influence, name) for name in stays}
    open_ = [name for name in stays if moved[name][1] and not set(moved[name][0]) <= set(shown)]
    stays = [name for name in stays if name not in open_]
    said = [f"{_listed(stays)} out of limits, and nothing to type brings that back"] if stays else []
    said += [f"{_listed(open_)} out of limits, and what to type is open until that is measured again"] if open_ else []
    said += [f"{_listed(blind)} out of limits, and only its x and y say what to type"] if blind else []
    return "; ".join(said)


def _listed(names: Sequence[str]) -> str:
    return f"{' and '.join(f'“{name}”' for name in names)} {'is' if len(names) == 1 else 'are'}"


def why(influence: Influence, registers: Sequence[Typing], judged: Sequence[Judged], belief: Belief, used: Sequence[Measurement],
         not_seen: Sequence[str], units: str) -> str:  # fmt: skip
    """The reason in one sentence, with what was not looked at."""
    if registers and (first := belief.acted) is not None:
        cause = influence.causes[first.number]
        size = format_length(abs(float(belief.mean[first.number])), units)
        since = "" if first.since is None else f" from piece {first.since} on"
        return (f"{cause.name} is off by {size}{since}, far more than the touch-off leaves open "
                f"({100.0 * first.probability:.0f} %): look also at how that came about")  # fmt: skip
    if registers:
        known = {one.feature for one in used}
        names = " and ".join(f"“{name}”" for name in [name for name, _ in registers[0].moves if name in known][:2])
        return f"measured, {names} lay farther beside the middle of the limits than gauge and touch-off leave open"
    if belief.aside and (apart := _apart(influence, belief, used)):
        return (f"“{used[belief.aside[0]].feature}” is far off, and {' and '.join(apart[1])} explain it: measure {apart[0]}, "
                "which tells them apart, before anything is typed")  # fmt: skip
    if belief.aside and belief.made is None:
        return f"“{used[belief.aside[0]].feature}” does not fit the rest: measure it again before anything is typed"
    good = "every measured feature is proved good, and " if all(one.decision is Decision.ACCEPT for one in judged) else ""
    if len(not_seen) == len(influence.registers):
        return f"{good}nothing that was measured follows a register, so that no register was looked at"
    open_ = f"; nothing measured shows {_few(not_seen)}" if not_seen else ""
    return f"{good}no measured feature shows a register off by so much that typing would be surer than the gauge{open_}"


def _few(names: Sequence[str]) -> str:
    """Three names, and how many more there are."""
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


def _finding(kit: Kit, slug: str, signal: Signal, text: str, remedy: str) -> Finding:
    return Finding(slug=slug, signal=signal, setup=kit.setup.name, text=text, remedy=remedy)


def judged_findings(kit: Kit, judged: Sequence[Judged], units: str) -> list[Finding]:
    found = []
    for one in judged:
        value = f"{one.value:.3f} deg" if one.unit == "deg" else format_length(one.value, units)
        expanded = f"{one.expanded:.3f} deg" if one.unit == "deg" else format_half(one.expanded, units)
        said = f"piece {one.piece}: “{one.requirement}” {value} ± {expanded} ({one.gauge})"
        if one.decision is Decision.REJECT:
            found.append(_finding(kit, "piece-out-of-limits", Signal.WARNING, f"{said} is out of its limits",
                                  "keep this piece apart; whether it can be reworked is for the drawing to say"))  # fmt: skip
        elif one.decision is Decision.UNDECIDED:
            found.append(_finding(kit, "piece-undecided", Signal.CAUTION, f"{said} is too near its limit to prove good or bad",
                                  "measure it with a finer gauge, or have it agreed"))  # fmt: skip
    return found


def odd_findings(kit: Kit, belief: Belief, used: Sequence[Measurement], influence: Influence, units: str) -> list[Finding]:
    """Values that were set aside, with what may explain them; or the feature that is made otherwise in every piece."""
    found = []
    if belief.made is not None:
        place, by = influence.places[belief.made[0]], format_length(belief.made[1], units, signed=True)
        found.append(_finding(kit, "made-otherwise", Signal.WARNING,
                              f"“{place.name}” comes out {by} beside what the registers explain, in every piece measured",
                              "look at its program, at the tool giving way there, at the holding"))  # fmt: skip
    for number in belief.aside if belief.made is None else ():
        one = used[number]
        likely = "; ".join(f"{_rival(rival, used, influence)} {100.0 * rival.probability:.0f} %"
                           for rival in belief.rivals[:3] if rival.probability >= 0.02)  # fmt: skip
        value = f"piece {one.piece}: “{one.feature}” {format_length(one.value, units)}"
        remedy = ("measure it again, with another gauge if there is one, and write it as a line of its own with its time; nothing "
                  "is typed from this value")  # fmt: skip
        if apart := _apart(influence, belief, used):
            remedy = f"measure {apart[0]}: that tells {' and '.join(apart[1])} apart; {remedy}"
        found.append(Finding(slug="measurement-suspect", signal=Signal.CAUTION, setup=kit.setup.name, file=one.span.file,
                             text=f"{value} is not to be expected after the touch-off ({likely})", line=one.span.line,
                             remedy=remedy))  # fmt: skip
    return found


def _apart(influence: Influence, belief: Belief, used: Sequence[Measurement]) -> tuple[str, list[str]] | None:
    """What would tell the two likeliest causes apart, and their names, where both explain what was measured."""
    causes = [rival.number for rival in belief.rivals[:2] if rival.kind == "cause" and rival.probability > 1.0 - SETTLED]
    if len(causes) < 2:
        return None
    rows = influence.rows(sorted({one.feature for one in used}))
    first, second = (influence.matrix[rows, j] for j in causes)
    direction = np.zeros(len(influence.causes))
    direction[causes[0]] = 1.0
    direction[causes[1]] = -float(first @ second) / max(float(second @ second), TINY)
    found = influence.apart(direction, rows)
    return (found, [influence.causes[j].name for j in causes]) if found else None


def _rival(rival: Rival, used: Sequence[Measurement], influence: Influence) -> str:
    if rival.kind == "value":
        return f"“{used[rival.number].feature}” misread"
    if rival.kind == "place":
        return f"“{influence.places[rival.number].name}” made otherwise than the simulated part"
    if rival.kind == "cause":
        since = "" if rival.since is None else f" from piece {rival.since} on"
        return f"{influence.causes[rival.number].name} grossly off{since}"
    return f"something in piece {rival.number} that is in no list" if rival.kind == "unlisted" else "chance"


def unexplained_findings(kit: Kit, unexplained: Sequence[tuple[str, str]]) -> list[Finding]:
    remedy = "put the tool, the holding or the program right; leave the registers alone for it"
    return [_finding(kit, "not-mended-by-offsets", Signal.WARNING, text, remedy) for _, text in unexplained]


def table_findings(kit: Kit) -> list[Finding]:
    """What a person must know of limits that a name gave."""
    notes: dict[str, None] = {}
    for requirement in kit.setup.requirement:
        if requirement.tolerance not in (None, NO_LIMITS) and requirement.size is not None:
            note = named_limits(str(requirement.tolerance), requirement.size.nominal).note
            if note:
                notes[f"“{requirement.name}” {requirement.tolerance}: {note}"] = None
    return [_finding(kit, "limits-unsure", Signal.NOTICE, text, "compare with the drawing's own table") for text in notes]
