"""What the interpreter has to say beside the path: remarks, and the assumptions that mattered."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from setwright.base.span import Span

__all__ = ["Assumption", "Remark", "Severity"]


class Severity(StrEnum):
    """How bad a remark is, in the signal words of ANSI Z535 / ISO 3864."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing noticed while reading: `slug` names it in words, `text` and `remedy` are for somebody at the machine.

    `value` and `unit` carry the deciding number where there is one.
    """

    slug: str
    text: str
    remedy: str
    span: Span
    severity: Severity
    value: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Assumption:
    """A behaviour of the control profile that decided something, with the first place where it did.

    `behaviour` is the field of the profile, `reading` its value, `text` what followed from it; `count` how often it mattered.
    """

    behaviour: str
    reading: str
    text: str
    span: Span
    count: int = 1
