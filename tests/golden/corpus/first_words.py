"""What a setter would say first, beside what Setwright says first: `python -m tests.golden.corpus.first_words [-j N] [FILE…]`.

Every program of the corpus goes the way of somebody who has nothing else, `setwright start`, then `setwright prove`, and what is
told by default, in its order, is held against first_words.toml. One line a program, then the three counts.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import tempfile
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from setwright.base.errors import InputRefused
from setwright.cli.explain import CATALOGUES
from setwright.jobfolder.load import load_job
from setwright.model.answer import refusal_findings
from setwright.model.check import checks_in
from setwright.model.finding import Finding, Signal, State, brief
from setwright.prove.chain import prove_job
from setwright.start.write import start
from setwright.touch.measured import truth_of

__all__ = ["MOST_TOLD", "Entry", "Heard", "agrees", "entries", "false_dangers", "hear"]

TABLE: Final = Path(__file__).parent / "first_words.toml"
MOST_TOLD: Final = 6
"""Findings that somebody reads at a machine before starting to skip."""

QUESTIONS: Final = frozenset({"machine-function-not-known", "no-decimal-point", "two-readings"})
"""Findings that ask for what the text leaves open; right wherever there is nothing to say."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the table. `accept`: names of findings with the lines they may stand at, none: anywhere."""

    file: str
    sha256: str
    says: str
    accept: tuple[tuple[str, frozenset[int]], ...]
    nothing: bool
    calm: bool

    def accepts(self, finding: Finding) -> bool:
        """Whether this finding says it."""
        names = {finding.slug} | ({"question"} if finding.slug in QUESTIONS else set())
        return any(slug in names and (not lines or finding.line in lines) for slug, lines in self.accept)


@dataclass(frozen=True, slots=True)
class Heard:
    """What Setwright told of a program: by default, in its order, and in all."""

    told: tuple[Finding, ...]
    findings: tuple[Finding, ...]


def entries() -> dict[str, Entry]:
    """The table by file name."""
    rows = tomllib.loads(TABLE.read_text(encoding="utf-8"))["program"]
    return {
        row["file"]: Entry(row["file"], row["sha256"], row["says"], tuple(map(_accepted, row.get("accept", []))),
                           row.get("nothing", False), row.get("calm", False))
        for row in rows
    }  # fmt: skip


def _accepted(text: str) -> tuple[str, frozenset[int]]:
    """ "name 12 20-30" as the name and its lines."""
    slug, *places = text.split()
    return slug, frozenset(line for place in places for line in _span(place))


def _span(place: str) -> range:
    first, _, last = place.partition("-")
    return range(int(first), int(last or first) + 1)


def hear(path: Path) -> Heard:
    """Draft a job around a program and prove it; what is said of it, a place that stops the reading behind all else, as on screen.

    The guesses are not tried one by one: trying tells which of them decide, but finds no more.
    """
    found: list[Finding] = []
    try:
        with tempfile.TemporaryDirectory() as folder:
            drafted = Path(folder) / "job"
            start([path], drafted)
            job = load_job(drafted)
            proofs = prove_job(job, job.job.setup, truth_of=lambda kit: truth_of(kit, nominal=True).truth)
    except InputRefused as refusal:
        stopped = refusal.problems
    else:
        found = [finding for proof in proofs for finding in proof.findings]
        stopped = tuple(problem for proof in proofs for problem in proof.stopped)
    told, last = brief(found), refusal_findings(stopped)
    return Heard((*told.told, *last), (*found, *last))


def agrees(entry: Entry, heard: Heard) -> bool:
    """Whether what is told first is what the table says: where it says nothing, silence and questions agree too."""
    if not heard.told:
        return entry.nothing
    first = heard.told[0]
    return entry.accepts(first) or (entry.nothing and first.slug in QUESTIONS)


def false_dangers(entry: Entry, heard: Heard) -> list[Finding]:
    """What is told at DANGER of a program that hurts nothing."""
    dangers = [one for one in heard.findings if one.signal is Signal.DANGER and one.state is State.FOUND]
    return [one for one in dangers if entry.calm and not entry.accepts(one)]


def unknown_names(table: Iterable[Entry]) -> set[str]:
    """Names in the table that no check has."""
    named = {slug for entry in table for slug, _ in entry.accept} - {"question", "input-refused"}
    return named - {check.META.slug for package in CATALOGUES for check in checks_in(package)}


def changed(table: Iterable[Entry], corpus: Path) -> list[str]:
    """Files that are not the ones the table was written for."""
    return [one.file for one in table if hashlib.sha256((corpus / one.file).read_bytes()).hexdigest() != one.sha256]


def _rows(paths: Sequence[Path], jobs: int) -> Iterator[tuple[Path, Heard]]:
    if jobs == 1:
        yield from zip(paths, map(hear, paths), strict=True)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from zip(paths, pool.map(hear, paths), strict=True)


def main() -> None:
    """Print the score of every program and the three counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-j", type=int, default=1, help="processes")
    parser.add_argument("files", nargs="*", help="only these programs")
    asked = parser.parse_args()
    corpus = Path(os.environ["SETWRIGHT_CORPUS"])
    paths = sorted(path for path in corpus.iterdir() if path.suffix != ".tsv" and (not asked.files or path.name in asked.files))
    table, right, wrong, short = entries(), 0, 0, 0
    for path, heard in _rows(paths, asked.j):
        told, entry = heard.told, table.get(path.name)
        short += len(told) <= MOST_TOLD
        first = next((f"{one.signal.value} {one.slug} {one.line}" for one in told), "–")
        mark = " " if entry is None else "ok" if agrees(entry, heard) else "NO"
        right += mark == "ok"
        false = false_dangers(entry, heard) if entry else []
        wrong += bool(false)
        print(f"{mark:2} {path.name:13} told {len(told):2} {first:55} | {entry.says if entry else ''}", flush=True)
        for one in false:
            print(f"   false DANGER: {one.slug} {one.line}: {one.text}", flush=True)
    asked_of = sum(path.name in table for path in paths)
    print(f"first words agree in {right} of {asked_of}, false DANGER in {wrong}")
    print(f"at most {MOST_TOLD} told in {short} of {len(paths)}")
    print("names that no check has:", ", ".join(sorted(unknown_names(table.values()))) or "none")


if __name__ == "__main__":
    main()
