"""The one shape of every answer and of every refusal, for the command line, for HTTP and for the record."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from setwright import __version__
from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.model.finding import Finding, Signal, together, under_worst, worst_first

__all__ = ["SCHEMA", "document", "finite", "refusal_document", "refusal_findings"]

SCHEMA: Final = 1
"""The version of the shape; it rises when a key that others may rely on goes or changes its meaning."""


def document(
    command: str, body: Mapping[str, Any], *, job: str = "", units: str = "mm", findings: Iterable[Finding] = ()
) -> dict[str, Any]:
    """A station's answer with the keys every answer has; findings worst first, each cause under the signal word it is told
    under, and each finding with the number (from 0) of the one that it is told with, null for one told by itself."""
    ordered = worst_first(under_worst(findings))
    leading = _told_with(ordered)
    plain = [finding.as_plain() | {"told_with": first} for finding, first in zip(ordered, leading, strict=True)]
    return {"schema": SCHEMA, "command": command, "version": __version__, "job": job, "units": units, **body, "findings": plain}


def _told_with(ordered: Sequence[Finding]) -> list[int | None]:
    """For each finding the number of the one it is told with; None for one that is told by itself."""
    numbers = {id(finding): number for number, finding in enumerate(ordered)}
    found: list[int | None] = [None] * len(ordered)
    for groups in together(ordered):
        (first, *rest), *behind = groups
        for other in (*rest, *(finding for same in behind for finding in same)):
            found[numbers[id(other)]] = numbers[id(first)]
    return found


def refusal_findings(problems: Iterable[Problem]) -> list[Finding]:
    """Problems as findings, in the order of the input."""
    return [_finding(problem) for problem in problems]


def _finding(problem: Problem) -> Finding:
    span = problem.span or Span("")
    text = ", ".join(part for part in (problem.what, problem.why) if part)
    return Finding(slug="input-refused", signal=Signal.DANGER, text=text, remedy=problem.remedy, file=span.file, line=span.line,
                   column=span.column, excerpt=span.excerpt(), body=problem.key)  # fmt: skip


def refusal_document(command: str, refusal: InputRefused, *, job: str = "") -> dict[str, Any]:
    """A refusal as a document."""
    findings = [finding.as_plain() for finding in refusal_findings(refusal.problems)]
    return document(command, {"refused": True}, job=job) | {"findings": findings}


def finite(value: Any) -> Any:
    """Plain data for JSON, which has no NaN: what is not a number is null; arrays become lists."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [finite(item) for item in value]
    if hasattr(value, "tolist"):
        return finite(value.tolist())
    return value
