"""What a check is: a module with a docstring under fixed headings, `META`, and `run(case)`; and how they are found and run.

Checks that differ only in their texts are rows of a module that lists them as `CHECKS`.

The docstring is the page of the catalogue, under the headings below.
A check whose input is missing says undecided; it never says nothing.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Protocol, cast

from setwright.model.finding import Finding, Signal, State

__all__ = ["HEADINGS", "Check", "Meta", "checks_in", "run_checks"]

HEADINGS = ("What silence proves", "Why it matters", "How it decides", "Blind spots", "What to do", "Source")


@dataclass(frozen=True, slots=True)
class Meta:
    """`slug` names the check in words, `signal` is the worst it says, `needs` the inputs it cannot decide without; `brings`: checks
    whose findings, further on with the same tool, follow from one of this check and are told with it; `question`: it asks for what
    the text leaves open."""

    slug: str
    signal: Signal
    needs: tuple[str, ...] = ()
    brings: tuple[str, ...] = ()
    question: bool = False


class Check(Protocol):
    """The shape of a check: a module of its own, or a row."""

    __doc__: str
    META: Meta

    def run(self, case: Any) -> Iterator[Finding]:
        """The findings of this check for one case."""


def checks_in(package: str) -> tuple[Check, ...]:
    """Every check of a package such as "setwright.prove.checks", in the order of its modules' names."""
    home = importlib.import_module(package)
    names = sorted(info.name for info in pkgutil.iter_modules(home.__path__))
    modules = [importlib.import_module(f"{package}.{name}") for name in names]
    return tuple(check for module in modules for check in cast(tuple[Check, ...], getattr(module, "CHECKS", (module,))))


def run_checks(
    package: str, case: Any, *, missing: dict[str, str], only: str = "", without: tuple[str, ...] = ()
) -> list[Finding]:
    """Run every check of a package. `missing`: inputs that are not there, by name, with the words a person needs to hear. `only`:
    the checks that need this input; `without`: inputs that come later, whose checks are left to then."""
    findings: list[Finding] = []
    for check in checks_in(package):
        if (only and only not in check.META.needs) or any(need in without for need in check.META.needs):
            continue
        lacking = [missing[need] for need in check.META.needs if need in missing]
        if lacking:
            text = f"undecided: {'; '.join(lacking)}"
            remedy = "give what is missing and run again; undecided is not passed"
            undecided = Finding(slug=check.META.slug, signal=Signal.CAUTION, state=State.UNDECIDED, text=text, remedy=remedy)
            findings.append(undecided)
        else:
            meta = check.META
            findings.extend(replace(finding, brings=meta.brings, question=finding.question or meta.question)
                            for finding in check.run(case))  # fmt: skip
    return findings
