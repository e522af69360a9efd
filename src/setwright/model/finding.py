"""Findings as values: what a check says, with the signal word of ANSI Z535 / ISO 3864 meaning and the place it speaks of."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any

__all__ = ["Finding", "Signal", "State", "worst_first"]


class Signal(StrEnum):
    """How bad it is. DANGER stops a setup; NOTICE is worth knowing."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return list(Signal).index(self)


class State(StrEnum):
    """Whether the check saw something, or could not look."""

    FOUND = "found"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a check says.

    `slug` names the check in words; `text` is one sentence for somebody at the machine, with number and unit; `remedy` says
    what to do next. `file`, `line`, `column` (from 1; 0 = not a place in a program), `setup`, `tool` (station number) and
    `body` say where; `value` and `unit` carry the deciding number. `motion` is the path row, -1 if none.
    """

    slug: str
    signal: Signal
    text: str
    remedy: str = ""
    file: str = ""
    line: int = 0
    column: int = 0
    setup: str = ""
    tool: int | None = None
    body: str = ""
    value: float | None = None
    unit: str = ""
    state: State = State.FOUND
    motion: int = -1
    excerpt: str = ""

    def as_plain(self) -> dict[str, Any]:
        """The finding as plain data, keys as the interface promises them."""
        return {key: (value.value if isinstance(value, StrEnum) else value) for key, value in asdict(self).items()}


def worst_first(findings: list[Finding]) -> list[Finding]:
    """By signal, then by place in the text; stable for equal ones."""
    return sorted(findings, key=lambda f: (f.signal.rank, f.setup, f.file, f.line, f.column, f.slug))
