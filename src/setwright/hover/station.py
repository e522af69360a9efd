"""Hover: is the setup what we think it is? Every slip followed, the checks that catch it planned, an odd observation explained."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from setwright.base.errors import InputRefused
from setwright.hover.check_list import checks_here
from setwright.hover.check_plan import CheckPlan, plan_checks
from setwright.hover.check_sights import Sheet
from setwright.hover.consequence import consequence_of
from setwright.hover.diagnosis import Diagnosis, Observed, Ranked, Weighing, diagnose
from setwright.hover.diagnosis_seen import parse_seen
from setwright.hover.holdpoints import HoldPoint, hold_points
from setwright.hover.matrix import Matrix, Suspect, matrix_of
from setwright.hover.matrix_study import known_from_readings, suspects_of
from setwright.hover.outcome import Outcome
from setwright.hover.study import Study, study
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal, State, worst_first
from setwright.prove.compute import Progress
from setwright.prove.readings import moving_readings
from setwright.prove.station import Proof
from setwright.slips.world import as_set
from setwright.touch.station import TouchResult

__all__ = ["CATCH", "HoverResult", "hover"]

CATCH = 0.99
"""The probability with which every harmful slip shall be caught, unless asked otherwise."""

_SAID = dict.fromkeys(Outcome, Signal.DANGER) | {Outcome.REWORK: Signal.WARNING, Outcome.HARMLESS: Signal.NOTICE}


@dataclass(frozen=True, slots=True)
class HoverResult:
    """The answer of the station for one setup.

    `study`: every slip and what it does, worst first; `matrix`: the same slips, in the same order, against the checks; `plan`: the
    checks to make; `holds`: where to stop with each tool; `seen`: what was observed, and `diagnosis` what explains it (None where
    nothing was). `elapsed_s`: computing time.
    """

    kit: Kit
    study: Study = field(repr=False)
    matrix: Matrix = field(repr=False)
    plan: CheckPlan
    holds: tuple[HoldPoint, ...]
    seen: tuple[Observed, ...]
    diagnosis: Diagnosis | None
    elapsed_s: float
    findings: tuple[Finding, ...]

    def suspect(self, ranked: Ranked) -> Suspect:
        """The suspect a rank speaks of, with the words of its most probable size; how it ends is that of the studied size."""
        return _as_large(self.matrix.suspects[ranked.suspect], ranked.times)

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths in `units`."""
        matrix, plan = self.matrix, self.plan
        said: dict[str, Any] = {
            "setup": self.kit.setup.name, **self.study.as_plain(units),
            "checks": [chosen.as_plain(matrix, units) for chosen in plan.checks],
            "minutes": plan.minutes, "catch": plan.catch, "within_minutes": plan.within, "false_alarm": plan.looks_twice,
            "risk_before": plan.risk, "risk_left": plan.risk_left, "harmful_left": plan.harmful_left,
            "uncaught": [{"slug": matrix.suspects[each.suspect].slug, "text": matrix.suspects[each.suspect].words,
                          "outcome": matrix.suspects[each.suspect].outcome.value, "best": each.best, "by_plan": each.by_plan}
                         for each in plan.uncaught],
            "spared": [check.name for check in plan.spared],
            "hold_points": [hold.as_plain(units) for hold in self.holds],
            "elapsed_s": self.elapsed_s,
        }  # fmt: skip
        return said | ({} if self.diagnosis is None else {"diagnosis": self._plain_diagnosis(self.diagnosis)})

    def _plain_diagnosis(self, found: Diagnosis) -> dict[str, Any]:
        matrix = self.matrix
        return {
            "no_slip": found.none, "unlisted": found.unlisted, "settled": found.settled,
            "ranked": [{"slug": self.suspect(ranked).slug, "text": self.suspect(ranked).words, "probability": ranked.probability,
                        "outcome": self.suspect(ranked).outcome.value, "remedy": self.suspect(ranked).remedy,
                        "cannot_tell_from": [matrix.suspects[i].words if i >= 0 else "no slip" for i in ranked.siblings]}
                       for ranked in found.ranked],
            "tells_apart": None if found.apart is None else {"name": matrix.checks[found.apart].name,
                                                             "do": matrix.checks[found.apart].do},
            "next_check": None if found.next is None else {"name": matrix.checks[found.next].name, "bits": found.bits,
                                                           "do": matrix.checks[found.next].do},
        }  # fmt: skip


def hover(
    proof: Proof,
    touched: TouchResult | None,
    *,
    catch: float = CATCH,
    minutes: float | None = None,
    seen: Sequence[str] = (),
    doubles: int = 0,
    pitch_mm: float | None = None,
    units: str = "mm",
    progress: Progress | None = None,
) -> HoverResult:
    """Study one setup on top of its proof. `touched`: the touch-off it rests on, if any; `minutes`: plan the most protection in
    this time instead of the least time; `seen`: observations in words (see diagnosis_seen); `doubles`: also pairs of that many
    common slips.

    Raises InputRefused for a setup that cannot be worked out, or an observation that is not understood.
    """
    began = time.perf_counter()
    kit, world = proof.kit, as_set(proof.kit, proof.truth, metal=None if proof.kit.blank is not None else proof.before)
    holds = hold_points(proof)
    sheet = Sheet(world)
    tools = [tool.number for tool in proof.reading.interpreted.tools if tool.number in kit.tools]
    checks = checks_here(sheet, tools, holds)
    noted = tuple(observed for text in seen for observed in parse_seen(text, checks, units=units))
    studied = study(world, pitch_mm=pitch_mm, doubles=doubles, progress=progress)
    matrix = matrix_of(sheet, suspects_of(studied.slips), checks)
    known = known_from_readings(studied.slips, touched, kit.setup.offset)
    plan = plan_checks(matrix, catch=catch, within=minutes, already=known)
    diagnosis = diagnose(Weighing(matrix), noted) if noted else None
    said = [*_of_plan(kit, matrix, plan), *_of_setup(kit, studied), *_of_readings(proof),
            *_of_diagnosis(studied, matrix, diagnosis)]  # fmt: skip
    elapsed = time.perf_counter() - began
    return HoverResult(kit, studied, matrix, plan, holds, noted, diagnosis, elapsed, tuple(worst_first(said)))


def _of_setup(kit: Kit, studied: Study) -> list[Finding]:
    """A setup that goes wrong even without a slip."""
    good = studied.as_set
    if not good.outcome.harmful:
        return []
    text = f"this setup goes wrong even without a slip: {good.text}"
    return [Finding(slug="not-proved", signal=_SAID[good.outcome], text=text, remedy="see station Prove first", file=good.file,
                    line=good.line, tool=good.tool, setup=kit.setup.name)]  # fmt: skip


def _of_readings(proof: Proof) -> list[Finding]:
    """What the study leaves open where the programs can be read otherwise: slips are followed under the reading proved only."""
    return [
        Finding(slug="other-reading-not-studied", signal=Signal.CAUTION, state=State.UNDECIDED, setup=proof.kit.setup.name,
                text=f"slips are followed with {other.behaviour} read as “{other.taken}”; what they would do under "
                f"“{other.reading}” is not known",
                remedy=f"look up what the control does and state it as control.behaviours.{other.behaviour}, then hover again")
        for other in moving_readings(proof)
    ]  # fmt: skip


def _of_plan(kit: Kit, matrix: Matrix, plan: CheckPlan) -> list[Finding]:
    """What no check of the list catches: one finding, so that it is not taken for covered."""
    blind = [each for each in plan.uncaught if each.best < plan.catch]
    if not blind:
        return []
    worst = matrix.suspects[blind[0].suspect]
    count = f"{len(blind)} slips" if len(blind) > 1 else "1 slip"
    text = (f"{count} that would hurt cannot be caught with {100.0 * plan.catch:g} % by all checks together; the likeliest harm: "
            f"{worst.words} ({worst.outcome.value}), at best {100.0 * blind[0].best:.0f} %")  # fmt: skip
    remedy = "add a check of your own that would show it (shop/checks), or take a second person"
    return [Finding(slug="slip-uncaught", signal=Signal.CAUTION, text=text, remedy=remedy, setup=kit.setup.name,
                    value=blind[0].best)]  # fmt: skip


def _as_large(suspect: Suspect, times: float) -> Suspect:
    """The same slip, `times` as large."""
    if suspect.occurrence is None or suspect.sized is None:
        return suspect
    there = suspect.occurrence.scaled(times)
    return replace(suspect, words=there.words, remedy=there.remedy)


def _of_diagnosis(studied: Study, matrix: Matrix, found: Diagnosis | None) -> list[Finding]:
    """The slip that what was seen points to, once it is settled, and how it ends at the size it seems to have."""
    kit = studied.world.kit
    if found is None or not found.settled or found.none > 0.5:
        return []
    if found.unlisted > 0.5:
        text, remedy = "what was seen fits no slip of the list", "stop, look at the setup with somebody else, and touch again"
        return [Finding(slug="slip-unknown", signal=Signal.DANGER, text=text, remedy=remedy, setup=kit.setup.name)]
    first = found.ranked[0]
    suspect, outcome = _as_large(matrix.suspects[first.suspect], first.times), matrix.suspects[first.suspect].outcome
    if suspect.occurrence is not None and suspect.sized is not None:
        try:
            made = suspect.occurrence.scaled(first.times).change(studied.world)
            outcome = consequence_of(made, studied.reference).outcome
        except InputRefused:  # things do not go together so; how it would end nobody knows
            outcome = Outcome.UNDECIDED
    text = f"what was seen points to a slip: {suspect.words}; left so, it ends in: {outcome.value}"
    return [Finding(slug="slip-found", signal=_SAID[outcome], text=text, remedy=suspect.remedy, setup=kit.setup.name)]
