"""What a slip leads to, worst first, and how a person at the machine would be told."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

__all__ = ["Consequence", "Outcome"]


class Outcome(StrEnum):
    """How a setup with a slip ends. UNDECIDED counts as the worst: nobody knows."""

    UNDECIDED = "undecided"
    CRASH = "crash"
    BROKEN = "broken tool"
    SCRAP = "scrap"
    REWORK = "rework"
    HARMLESS = "harmless"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return list(Outcome).index(self)

    @property
    def harmful(self) -> bool:
        """Whether it is worse than rework: what the checks must catch. What is undecided counts."""
        return self.rank < Outcome.REWORK.rank


@dataclass(frozen=True, slots=True)
class Consequence:
    """What happens in one world.

    `row`, `file`, `line`: the first motion at which the outcome shows (-1, "", 0: nowhere). `lost_row`, `lost_line`: the first at
    which something can no longer be put right: metal that should stay is cut, a tool breaks, something is hit (-1, 0: never).
    `text`: what happens, in a sentence. `tool`: station, None if no tool has part in it. `part`, `body`: what meets what.
    `value_mm`: depth of the contact or of the cut into the part, or how far the worst requirement lies outside its limits.
    `requirement`: its name. `speed_mm_min`: at which it is hit. `stopped`: why the program does not run to its end, empty if it
    does.
    """

    outcome: Outcome
    text: str
    row: int = -1
    file: str = ""
    line: int = 0
    lost_row: int = -1
    lost_line: int = 0
    tool: int | None = None
    part: str = ""
    body: str = ""
    value_mm: float | None = None
    requirement: str = ""
    speed_mm_min: float | None = None
    stopped: str = ""

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data; lengths and speeds in `units`, lines null where there are none."""
        per = 25.4 if units in ("in", "inch") else 1.0
        return {
            "outcome": self.outcome.value, "text": self.text, "file": self.file, "first_line": self.line or None,
            "lost_line": self.lost_line or None, "tool": self.tool, "part": self.part, "body": self.body,
            "value": None if self.value_mm is None else self.value_mm / per, "requirement": self.requirement,
            "speed_per_min": None if self.speed_mm_min is None else self.speed_mm_min / per, "stopped": self.stopped,
        }  # fmt: skip
