"""Findings as values: what a check says, with the signal word of ANSI Z535 / ISO 3864 meaning and the place it speaks of."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import Any

__all__ = ["Brief", "Finding", "Signal", "State", "brief", "fold", "together", "under_worst", "worst_first"]

_LINES_SHOWN = 2
_NAMED = re.compile(r"“([^”]+)”")


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
    `body` say where; `value` and `unit` carry the deciding number. `motion` is the path row, -1 if none. `cause` is what brings
    the finding about, where one cause shows itself in several findings of a check; empty: this tool and this body; `brings` names
    other checks whose findings follow from this one, further on with the same tool (see `together`).
    `question`: it asks for what the text leaves open, and stands behind what is wrong.
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
    cause: str = ""
    brings: tuple[str, ...] = ()
    question: bool = False

    def as_plain(self) -> dict[str, Any]:
        """The finding as plain data, keys as the interface promises them."""
        plain = {key: (value.value if isinstance(value, StrEnum) else value) for key, value in asdict(self).items()}
        del plain["brings"]
        return plain


def worst_first(findings: list[Finding]) -> list[Finding]:
    """By signal, questions behind what is wrong, then by place in the text; stable for equal ones."""
    return sorted(findings, key=lambda f: (f.signal.rank, f.question, f.setup, f.file, f.line, f.column, f.slug))


@dataclass(frozen=True, slots=True)
class Brief:
    """What is told of findings when nobody asks for all of them.

    `told`: one finding a cause, worst first, none of them a NOTICE or undecided. `undecided`: one a check. `notices`: how many
    causes are left to be counted only.
    """

    told: tuple[Finding, ...]
    undecided: tuple[Finding, ...]
    notices: int


def brief(findings: Iterable[Finding]) -> Brief:
    """One finding a cause; what was not looked at; the notices as a number.

    >>> brief([])
    Brief(told=(), undecided=(), notices=0)
    """
    folded = fold(findings)
    found = [finding for finding in folded if finding.state is State.FOUND]
    told = tuple(finding for finding in found if finding.signal is not Signal.NOTICE)
    return Brief(told, tuple(finding for finding in folded if finding.state is State.UNDECIDED), len(found) - len(told))


def together(findings: Iterable[Finding]) -> list[list[list[Finding]]]:
    """Findings as they are told, worst first: each cause with what follows from it, every one a list of findings of one check.

    One cause of a check: the same state and setup, and the same `cause`; where that is empty, the same file, tool and body. It
    follows from a finding of another check that says it `brings` such findings, of the same setup, in the same file not further on
    than it (or in none), and of the same `cause`, or, where not both name a cause, of the same tool (of any tool, where it has a
    line and no tool); from the nearest one of several.
    """
    causes: dict[tuple[object, ...], list[Finding]] = {}
    for finding in worst_first(list(findings)):
        own = (finding.cause,) if finding.cause else ("", finding.file, finding.tool, finding.body)
        causes.setdefault((finding.slug, finding.state, finding.setup, *own), []).append(finding)
    groups = list(causes.values())
    bringing = [(number, finding) for number, same in enumerate(groups) for finding in same if finding.brings]
    roots: dict[int, list[list[Finding]]] = {}
    for number, same in enumerate(groups):
        roots.setdefault(_root(number, groups, bringing), []).append(same)
    told = [[groups[root], *(same for same in found if same is not groups[root])] for root, found in roots.items()]
    return sorted(told, key=lambda one: min(same[0].signal.rank for same in one))


def _root(number: int, groups: Sequence[Sequence[Finding]], bringing: Sequence[tuple[int, Finding]]) -> int:
    """The group of findings in which the cause of one is told; itself if nothing brings it about."""
    for _ in groups:
        before = [(cause.line, other) for other, cause in bringing if other != number and _brings(cause, groups[number][0])]
        if not before:
            break
        number = max(before)[1]
    return number


def _brings(cause: Finding, finding: Finding) -> bool:
    """Whether a finding may follow from another one."""
    if finding.slug not in cause.brings or State.UNDECIDED in (cause.state, finding.state):
        return False
    same = bool(cause.cause) and cause.cause == finding.cause
    of_it = cause.tool == finding.tool or (cause.tool is None and bool(cause.line))  # a line of the text may concern every tool
    if cause.setup not in ("", finding.setup) or not (same or (of_it and not (cause.cause and finding.cause))):
        return False
    return not cause.line or not finding.line or (cause.file == finding.file and cause.line <= finding.line)


def fold(findings: Iterable[Finding], *, lines: int | None = _LINES_SHOWN) -> list[Finding]:
    """Findings that are told `together` as one finding, worst first: the cause, its text with the places of the others and with the
    worst that follows from it, under the worst signal word of them all. `lines`: how many further places are named before the rest
    is counted; None: every one, and what follows stays a finding of its own.

    >>> low = [Finding(slug="low", signal=Signal.WARNING, text="T1 crosses low", line=line, tool=1) for line in (30, 52, 9, 61, 70)]
    >>> [(one.line, one.text) for one in fold(low)]
    [(9, 'T1 crosses low; also in lines 30, 52 and 2 more')]
    >>> left = Finding(slug="left", signal=Signal.CAUTION, text="T1 works with H2", line=8, tool=1, brings=("low",))
    >>> [(one.line, one.signal.value, one.text) for one in fold([*low, left])]
    [(8, 'WARNING', 'T1 works with H2; so T1 crosses low (line 9)')]
    """
    if lines is None:
        every = [same for one in together(under_worst(findings)) for same in one]
        return worst_first([one for same in every for one in ([_as_one(same, lines)] if same[0].line else same)])
    told = together(findings)
    return [_with_what_follows(_as_one(cause, lines), [same[0] for same in behind]) for cause, *behind in told]


def under_worst(findings: Iterable[Finding]) -> list[Finding]:
    """The same findings, each cause under the worst signal word of what follows from it: as it is told in one (see `fold`).

    >>> left = Finding(slug="left", signal=Signal.CAUTION, text="T1 works with H2", line=8, tool=1, brings=("low",))
    >>> [one.signal.value for one in under_worst([left, Finding(slug="low", signal=Signal.DANGER, text="low", line=9, tool=1)])]
    ['DANGER', 'DANGER']
    """
    every = list(findings)
    worst = {id(cause[0]): min((same[0].signal for same in (cause, *behind)), key=lambda signal: signal.rank)
             for cause, *behind in together(every)}  # fmt: skip
    return [replace(one, signal=worst.get(id(one), one.signal)) for one in every]


def _with_what_follows(cause: Finding, behind: Sequence[Finding]) -> Finding:
    """The cause, with the worst that follows from it in its text."""
    if not behind:
        return cause
    first = worst_first(list(behind))[0]
    place = f" (line {first.line})" if first.line not in (0, cause.line) else ""
    more = f", and {len(behind) - 1} more that follow" if len(behind) > 1 else ""
    text = f"{cause.text.removesuffix('.')}; so {first.text.removesuffix('.')}{place}{more}"
    return replace(cause, text=text, signal=min(cause.signal, first.signal, key=lambda signal: signal.rank))


def _as_one(same: Sequence[Finding], lines: int | None) -> Finding:
    """The first of them, with the places of the others behind its text; of what has no place, the names in quotes."""
    first = same[0]
    places = dict.fromkeys((other.file, other.line) for other in same[1:] if other.line)
    places.pop((first.file, first.line), None)
    if not places:
        named = list(dict.fromkeys(match[0] for other in same if not other.line and (match := _NAMED.search(other.text))))[1:]
        return replace(first, text=f"{first.text.removesuffix('.')}; likewise {_few(named, lines)}") if named else first
    shown = [str(line) if file == first.file else f"{file}:{line}" for file, line in places]
    return replace(first, text=f"{first.text.removesuffix('.')}; also in line{'s' * (len(places) > 1)} {_few(shown, lines)}")


def _few(shown: Sequence[str], lines: int | None) -> str:
    """Some of them by name, the rest as a number."""
    if lines is not None and len(shown) > lines + 1:
        shown = [*shown[:lines], f"{len(shown) - lines} more"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
