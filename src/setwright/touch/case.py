"""What the checks of Touch look at: one setup's readings, solved, with everything found out about them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from setwright.model.finding import Finding, Signal
from setwright.model.reading import Registers
from setwright.touch.checked import Drifted
from setwright.touch.doubts import Outlier
from setwright.touch.guard import Beyond
from setwright.touch.registers import Entry
from setwright.touch.setting import Setting
from setwright.touch.slips import Diagnosis
from setwright.touch.solution import Estimate, Solution

__all__ = ["Determined", "TouchCase"]


@dataclass(frozen=True, slots=True)
class Determined:
    """What one number rests on, and one sentence about it. `by`: "readings", "kit" (what was known before), "nothing", "guess" (a
    size nobody measured, which `remedy` then names), "contradiction" or "impossible" (the machine cannot reach it)."""

    by: str
    text: str
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class TouchCase:
    """One solved touch-off. `stated`: what the control holds for this setup; `reach`: distance of the blank's farthest corner from
    the program's zero, mm; `units`: in which sentences are written; `drifts`: what later checks of the datum say; `radii`: of
    the tools that were measured or preset, by station; `beyond`: readings and numbers the machine cannot reach;
    `undecided`: readings contradict each other grossly, or what the kit says, and nothing tells which is wrong; `because`: what is
    the matter then, where it has a name; `withheld`: names of entries that must not be typed."""

    setting: Setting
    solution: Solution
    stated: Registers
    entries: tuple[Entry, ...]
    angle: Estimate
    determined: Mapping[str, Determined]
    outliers: tuple[Outlier, ...]
    unchecked: tuple[tuple[int, float], ...]
    diagnosis: Diagnosis
    reach: float
    units: str
    drifts: tuple[Drifted, ...] = ()
    radii: Mapping[int, Estimate] = field(default_factory=dict)
    beyond: tuple[Beyond, ...] = ()
    undecided: bool = False
    because: str = ""
    withheld: frozenset[str] = frozenset()

    def finding(self, slug: str, signal: Signal, text: str, *, remedy: str, value: float | None = None, unit: str = "") -> Finding:
        """A finding of this setup."""
        setup = self.setting.kit.setup.name
        return Finding(slug=slug, signal=signal, text=text, remedy=remedy, value=value, unit=unit, setup=setup)

    def who(self, reading: int) -> str:
        """How to speak of a reading: "contact 7 (fixed jaw +Y)" or "length reading 2 (tool 5 on tool setter)"."""
        rows = (*self.setting.rows, *self.setting.aside)
        label = next((row.label for row in rows if row.reading == reading), "")
        return self.setting.who(reading, label)
