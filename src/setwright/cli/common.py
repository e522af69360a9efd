"""What every verb shares: how it is asked, how it answers, how it refuses, and the exit status that says which.

0: done, nothing at DANGER. 1: done, at least one finding at DANGER. 2: the input is refused. 130: stopped by the person.
With --json exactly one document goes to stdout; everything for people goes to stderr then.
"""

from __future__ import annotations

import errno
import json
import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any, NoReturn

import typer
from rich.console import Console
from rich.text import Text

from setwright.base.errors import Cancelled, InputRefused, Problem
from setwright.model.answer import document, finite, refusal_document, refusal_findings
from setwright.model.finding import Finding, Signal, State, brief, fold

__all__ = [
    "All", "Answer", "Asked", "Color", "Json", "Quiet", "SetupName", "Units", "answer", "ask", "guarded", "refuse",
    "refuse_after", "say_findings",
]  # fmt: skip

Json = Annotated[bool, typer.Option("--json", help="One JSON document on stdout; everything for people on stderr.")]
Units = Annotated[str | None, typer.Option("--units", help="Show lengths in mm or inch; the job's own units otherwise.",
                                           metavar="mm|inch")]  # fmt: skip
SetupName = Annotated[str | None, typer.Option("--setup", help="Only this setup of the job.", metavar="NAME")]
All = Annotated[bool, typer.Option("--all", help="Every finding with all its lines, notices too.")]
Quiet = Annotated[bool, typer.Option("-q", "--quiet", help="Only the verdict.")]
Color = Annotated[bool, typer.Option("--no-color", help="No colour in the terminal.")]


@dataclass(frozen=True, slots=True)
class Asked:
    """How a command was asked. `people` is where prose goes; `progress` where the bar goes (always stderr).

    `units` ("mm" or "inch") is for what people read; a document is in mm unless it was asked for in inches by name. `everything`:
    people asked for every finding, not for one a cause without the notices.
    """

    command: str
    json: bool
    units: str
    quiet: bool
    people: Console
    progress: Console
    everything: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command answers: the job's name, its document beyond the common keys, and its findings."""

    job: str
    document: Mapping[str, Any]
    findings: tuple[Finding, ...] = field(default=())


def ask(
    command: str, *, as_json: bool, units: str | None, quiet: bool, no_color: bool, own: str = "mm", everything: bool = False
) -> Asked:
    """Put the common options together; `own` are the job's units. Refuses unknown units."""
    if units is None:
        units = "inch" if own in ("in", "inch") and not as_json else "mm"
    if units not in ("mm", "inch"):
        raise InputRefused.because(f'--units "{units}" is not known', remedy="write --units mm or --units inch")
    plain = no_color or bool(os.environ.get("NO_COLOR"))
    width = None if sys.stdout.isatty() else 110
    people = Console(stderr=as_json, no_color=plain, highlight=False, soft_wrap=False, width=width)
    progress = Console(stderr=True, no_color=plain, highlight=False)
    return Asked(command, as_json, units, quiet, people, progress, everything)


def answer(asked: Asked, given: Answer) -> NoReturn:
    """Print the JSON document if it was asked for, and end with the status the findings call for."""
    if asked.json:
        print(_json(asked, given))
    raise typer.Exit(1 if any(finding.signal is Signal.DANGER for finding in given.findings) else 0)


def refuse_after(asked: Asked, given: Answer, problems: Sequence[Problem]) -> NoReturn:
    """Answer as far as it goes, then say what stopped it; status 2."""
    findings = (*given.findings, *refusal_findings(problems))
    if asked.json:
        print(_json(asked, Answer(given.job, {"refused": True, **given.document}, findings)))
    sys.stdout.flush()
    for problem in problems:
        print(f"{problem}", file=sys.stderr)
    count = len(problems)
    what = "1 place is" if count == 1 else f"{count} places are"
    print(f"\nStopped: {what} not understood, and what follows is neither read nor proved.", file=sys.stderr)
    raise typer.Exit(2)


def _json(asked: Asked, given: Answer) -> str:
    whole = document(asked.command, given.document, job=given.job, units=asked.units, findings=given.findings)
    return json.dumps(finite(whole), indent=1, ensure_ascii=False, allow_nan=False)


def guarded(command: str, work: Callable[[], None], *, as_json: bool, written: Sequence[str] = ()) -> None:
    """Run a verb: refusals become a message, a JSON document if asked for, and status 2; Ctrl-C becomes status 130. `written`: what
    `work` has put into the job, whole, before anything was refused."""
    try:
        work()
    except InputRefused as refusal:
        refuse(command, refusal, as_json=as_json, written=written)
    except OSError as error:
        if error.errno not in _OF_THE_DISK:
            raise
        refuse(command, _unwritten(error), as_json=as_json, written=written)
    except (KeyboardInterrupt, Cancelled):
        print("\nStopped. Nothing half-written is left behind.", file=sys.stderr)
        raise typer.Exit(130) from None


_OF_THE_DISK = (errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM, errno.EIO)


def _unwritten(error: OSError) -> InputRefused:
    """What the disk would not do. Files are written beside their place first, so that the old ones are as they were."""
    full = error.errno in (errno.ENOSPC, errno.EDQUOT)
    remedy = "make room on its disk, or name another place" if full else "give leave to write there, or name another place"
    return InputRefused.because(f"{error.filename or 'a file'} cannot be written", why=str(error.strerror or error), remedy=remedy)


def refuse(command: str, refusal: InputRefused, *, as_json: bool, written: Sequence[str] = ()) -> NoReturn:
    """Say what is refused and why, on stderr; as a document too if JSON was asked for."""
    for problem in refusal.problems:
        print(f"{problem}", file=sys.stderr)
    count = len(refusal.problems)
    kept = f"Kept from before: {', '.join(written)}." if written else "Nothing was written."
    print(f"\nRefused: {count} problem{'s' if count > 1 else ''} in the input. {kept}", file=sys.stderr)
    if as_json:
        print(json.dumps(finite(refusal_document(command, refusal)), indent=1, ensure_ascii=False))
    raise typer.Exit(2)


_STYLE = {Signal.DANGER: "bold white on red", Signal.WARNING: "bold black on dark_orange", Signal.CAUTION: "bold black on yellow",
          Signal.NOTICE: "bold white on blue"}  # fmt: skip


def say_findings(asked: Asked, findings: Iterable[Finding]) -> None:
    """Findings worst first, one a cause: signal word, sentence, place, remedy, excerpt; then what is undecided; notices are
    counted, unless everything was asked for."""
    findings = list(findings)
    short = brief(findings)
    told: Sequence[Finding] = short.told
    if asked.everything:
        told = [finding for finding in fold(findings, lines=None) if finding.state is State.FOUND]
    for finding in told:
        _say_finding(asked.people, finding)
    undecided: dict[str, list[str]] = {}
    for finding in short.undecided:
        undecided.setdefault(finding.text.removeprefix("undecided: "), []).append(finding.slug)
    for why, slugs in undecided.items():
        asked.people.print(Text(f" UNDECIDED  {why} [{', '.join(slugs)}]", "bold"))
    if short.notices and not asked.everything:
        count = f"{short.notices} notice{'s' * (short.notices > 1)}"
        asked.people.print(Text(f"{'and ' * bool(told)}{count}; --all lists {'them' if short.notices > 1 else 'it'}", "dim"))


def _say_finding(people: Console, finding: Finding) -> None:
    line = Text()
    line.append(f" {finding.signal.value} ", _STYLE[finding.signal])
    line.append(f" {finding.text}")
    people.print(line)
    place = f"{finding.file}:{finding.line}" if finding.line else finding.file
    setup = f"setup “{finding.setup}”" if finding.setup else ""
    details = "  ".join(part for part in (place, setup, f"[{finding.slug}]") if part)
    people.print(Text(f"    {details}", "dim"))
    if finding.excerpt:
        people.print(Text(finding.excerpt))
    if finding.remedy:
        people.print(Text(f"    → {finding.remedy}"))
