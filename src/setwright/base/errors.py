"""One tree of errors. Everything this package raises on purpose is one of these.

    SetwrightError
    ├── InputRefused      the input cannot be used as it is: place, what, why, what to write instead (exit status 2)
    ├── LimitReached      a stated limit (blocks, cells, memory) would be exceeded; says which and how to stay below
    └── Cancelled         the person stopped the work

A foreign exception (a file that is not there, a parser's complaint) is turned into one of these at the border where it appears.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from setwright.base.span import Span

__all__ = ["Cancelled", "InputRefused", "LimitReached", "Problem", "SetwrightError"]


class SetwrightError(Exception):
    """Anything this package refuses on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with an input: where it stands, what it is, why it cannot be used, what to write instead."""

    what: str
    why: str = ""
    remedy: str = ""
    span: Span | None = None
    key: str = ""

    def __str__(self) -> str:
        said = ", ".join(part for part in (self.what, self.why, self.remedy) if part)
        place = f"{self.span}: " if self.span else ""
        key = f"{self.key}: " if self.key else ""
        excerpt = self.span.excerpt() if self.span else ""
        return f"{place}{key}{said}" + (f"\n{excerpt}" if excerpt else "")


class InputRefused(SetwrightError):
    """The input is refused; `problems` holds everything found wrong, in the order of the text."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        if not self.problems:
            raise ValueError("a refusal states at least one problem")
        super().__init__("\n".join(str(problem) for problem in self.problems))

    @classmethod
    def because(cls, what: str, *, why: str = "", remedy: str = "", span: Span | None = None, key: str = "") -> InputRefused:
        """A refusal with one problem."""
        return cls(Problem(what, why, remedy, span, key))


class LimitReached(InputRefused):
    """A stated limit would be exceeded."""


class Cancelled(SetwrightError):
    """The person stopped the work; nothing half-done is left behind."""
