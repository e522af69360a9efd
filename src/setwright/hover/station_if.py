"""What if: one thing of the setup other than it should be; what it would do, and which checks would show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from setwright.hover.check_list import checks_here
from setwright.hover.check_sights import Sheet
from setwright.hover.course import course_of
from setwright.hover.holdpoints import HoldPoint, hold_points
from setwright.hover.matrix import Matrix, Suspect, matrix_of
from setwright.hover.outcome import Consequence, Outcome
from setwright.hover.reference import reference_of
from setwright.hover.whatif import WhatIf, combined, parse_if, what_if
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal
from setwright.prove.station import Proof
from setwright.slips.world import World, as_set

__all__ = ["Supposed", "contact_first", "suppose"]

_TELLING = 0.5


@dataclass(frozen=True, slots=True)
class Supposed:
    """The answer. `suppositions`: what was said and what it was taken for; `consequence`: what they do together; `matrix`: the one
    suspect they make, against every check; `shown_by`: places of the checks that show it at least every other time, most of it per
    minute first."""

    kit: Kit
    suppositions: tuple[WhatIf, ...]
    consequence: Consequence
    matrix: Matrix = field(repr=False)
    shown_by: tuple[int, ...]
    holds: tuple[HoldPoint, ...]
    findings: tuple[Finding, ...]

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys of the station."""
        words = "; ".join(supposed.words for supposed in self.suppositions)
        checks = [{"slug": check.slug, "on": check.on or None, "minutes": check.minutes, "do": check.do, "caution": check.caution,
                   "catches": [{"slug": "supposed", "text": words, "outcome": self.consequence.outcome.value,
                                "probability": float(self.matrix.shown[0, j])}]}
                  for j in self.shown_by for check in [self.matrix.checks[j]]]  # fmt: skip
        best = float(self.matrix.caught.max(initial=0.0))
        left = [] if self.shown_by or not self.consequence.outcome.harmful else [{"slug": "supposed", "text": words, "best": best}]
        return {
            "setup": self.kit.setup.name, "supposed": [supposed.text for supposed in self.suppositions],
            "slips": [{"slug": "supposed", "words": words, "probability": None, **self.consequence.as_plain(units)}],
            "checks": checks, "uncaught": left,
            "hold_points": [hold.as_plain(units) for hold in self.holds],
        }  # fmt: skip


def contact_first(proof: Proof, texts: Sequence[str]) -> Consequence:
    """The first stage, in a fraction of the time: whether the control stops or anything of the holding is hit; no metal is looked
    at."""
    world = _world(proof)
    case = course_of(world).case
    return what_if(world, [parse_if(text, case) for text in texts])


def _world(proof: Proof) -> World:
    return as_set(proof.kit, proof.truth, metal=None if proof.kit.blank is not None else proof.before)


def suppose(proof: Proof, texts: Sequence[str], *, pitch_mm: float | None = None) -> Supposed:
    """Follow what `texts` say, all at once, in a proved setup. Raises InputRefused for what cannot be taken for anything of it."""
    kit, world = proof.kit, _world(proof)
    reference = reference_of(world, pitch_mm=pitch_mm)
    case = reference.course.case
    suppositions = tuple(parse_if(text, case) for text in texts)
    found = what_if(world, suppositions, reference=reference)
    words = "; ".join(supposed.words for supposed in suppositions)
    changed = combined(suppositions)(world)
    suspect = Suspect("supposed", words, 1.0, changed, found.outcome, lost_row=found.lost_row, lost_tool=found.tool)
    holds, sheet = hold_points(proof), Sheet(world)
    tools = [tool.number for tool in proof.reading.interpreted.tools if tool.number in kit.tools]
    matrix = matrix_of(sheet, [suspect], checks_here(sheet, tools, holds))
    telling = [j for j in range(len(matrix.checks)) if matrix.caught[0, j] >= _TELLING]
    telling.sort(key=lambda j: (-matrix.caught[0, j] / matrix.checks[j].minutes, j))
    return Supposed(kit, suppositions, found, matrix, tuple(telling), holds, (_finding(kit, words, found),))


def _finding(kit: Kit, words: str, found: Consequence) -> Finding:
    signals = dict.fromkeys(Outcome, Signal.DANGER) | {Outcome.REWORK: Signal.WARNING, Outcome.HARMLESS: Signal.NOTICE}
    text = f"if {words}: {found.outcome.value}; {found.text}"
    unit = "mm" if found.value_mm is not None else ""
    return Finding(slug="supposed", signal=signals[found.outcome], text=text, setup=kit.setup.name, file=found.file,
                   line=found.line, tool=found.tool, body=found.body, value=found.value_mm, unit=unit)  # fmt: skip
