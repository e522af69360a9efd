"""Values into a job and out of it: typed one a line, taken from a file of another program, written for one."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.cli.common import Asked

if TYPE_CHECKING:
    from setwright.jobfolder.load import JobFolder
    from setwright.model.measurement import Measured
    from setwright.piece.entry import Entered, Entry
    from setwright.piece.station import PieceResult

__all__ = ["add_file", "enter_values", "kind_of_file", "write_results"]

_TYPED = "typed values"
"""What lines that come in are called where one of them is refused."""

_KINDS = {".csv": "csv", ".qif": "qif", ".xml": "qif"}


def enter_values(asked: Asked, folder: JobFolder, *, setup: str | None, guard: float, piece: str | None,
                 line: Callable[[], str] = lambda: sys.stdin.readline(), live: bool | None = None) -> int:  # fmt: skip
    """Take values in the order of what there is to measure, one a line, until everything was measured or "end".

    With a person at the terminal (`live`) every value is judged and stands in measured.csv before the next is asked for, a wrong
    line is said and asked for again, "undo" takes the last one back. From a pipe all lines are read first, and if one of them is
    wrong nothing is written and InputRefused tells which. Returns how many were written.
    """
    from setwright.kit.station import kit
    from setwright.piece.entry import Entry, next_piece
    from setwright.piece.plan import plan

    here = _one_setup(folder, setup)
    before = _measured(folder)
    rows = plan(kit(folder, folder.job.setup_named(here)), before, guard=guard)
    if not rows:
        raise InputRefused.because(f"setup “{here}” asks for nothing that can be measured",
                                   remedy="write its requirements into job.toml")  # fmt: skip
    turn = piece or next_piece(before, here)
    known = set() if before is None else {one.feature for one in before.measurements if one.setup == here and one.piece == turn}
    entry = Entry(folder, rows, turn, known, guard=guard)
    if sys.stdin.isatty() if live is None else live:
        return _live(asked, folder, here, entry, line)
    return _piped(folder, here, entry, line)


def _one_setup(folder: JobFolder, setup: str | None) -> str:
    from setwright.jobfolder.load import setup_numbered

    among = [one.name for one in setup_numbered(folder.job, setup)]
    if len(among) > 1:
        raise InputRefused.because(f"the job has {len(among)} setups", why="a value belongs to one of them",
                                   remedy=f'say which: --setup "{among[0]}"')  # fmt: skip
    return among[0]


def _measured(folder: JobFolder) -> Measured | None:
    from setwright.jobfolder.measured import MEASURED_FILE, read_measured

    place = folder.root / MEASURED_FILE
    return read_measured(folder) if place.exists() or place.is_symlink() else None


def _piped(folder: JobFolder, setup: str, entry: Entry, line: Callable[[], str]) -> int:
    """All lines, then all of them written, or none."""
    cells: list[Mapping[str, str]] = []
    problems: list[Problem] = []
    number = 0
    while (text := line()) and text.strip().lower() != "end" and not problems:
        number += 1
        if not text.strip():
            continue
        try:
            made = entry.read(text)
            if made is not None:
                cells.append(_checked(folder, setup, made))
                entry.taken(made.row)
        except InputRefused as refusal:
            place = Span(_TYPED, number, 1, max(1, len(text.rstrip())), text.rstrip())
            problems += [Problem(one.what, one.why, one.remedy, place) for one in refusal.problems]
    if problems:
        raise InputRefused(problems)
    if not cells:
        raise InputRefused.because("no value came in", remedy="send one value a line, in the order that piece lists")
    _add(folder, cells)
    return len(cells)


def _live(asked: Asked, folder: JobFolder, setup: str, entry: Entry, line: Callable[[], str]) -> int:
    """Value by value, each written before the next is asked for."""
    from setwright.jobfolder.append import replace_text
    from setwright.jobfolder.measured import MEASURED_FILE

    path = folder.root / MEASURED_FILE
    before: list[tuple[str | None, str, Entered]] = []
    say = asked.progress.print
    say(Text(f"Setup “{setup}”, piece {entry.piece}, {folder.job.units}. One value a line, as the gauge shows it."))
    say("  also: with GAUGE · piece NUMBER · undo · empty: pass on · end")
    while (row := entry.wanted) is not None:
        gauge = entry.gauge(row)
        say(Text(f"{row.feature}, {row.limits_said(asked.units)}, with {gauge or 'which gauge?'} > "), end="")
        text = line()
        if not text or text.strip().lower() == "end":
            break
        if not text.strip():
            entry.passed_over()
            continue
        if text.strip().lower() == "undo":
            if not before:
                say("  nothing was written yet")
                continue
            kept, left, last = before[-1]
            if not path.exists() or path.read_text(encoding="utf-8") != left:
                say(f"  not taken back: somebody else wrote into {MEASURED_FILE} since; take the value out there")
                continue
            before.pop()
            path.unlink() if kept is None else replace_text(path, kept)
            entry.asked_again(last.row)
            say(f"  the value of {last.row.feature} is taken back")
            continue
        try:
            made = entry.read(text)
            if made is None:
                say("  noted")
                continue
            kept = path.read_text(encoding="utf-8") if path.exists() else None
            _add(folder, [_checked(folder, setup, made)])
        except InputRefused as refusal:
            for problem in refusal.problems:
                say(Text(f"  not written: {', '.join(part for part in (problem.what, problem.why, problem.remedy) if part)}"))
            continue
        before.append((kept, path.read_text(encoding="utf-8"), made))
        entry.taken(made.row)
        say(Text(f"  {entry.judged(made)}"))
    return len(before)


def _checked(folder: JobFolder, setup: str, made: Entered) -> Mapping[str, str]:
    """The cells of a value that can stand in measured.csv. Raises InputRefused for one that cannot."""
    from setwright.jobfolder.measured import measured_in
    from setwright.record.measured import add_measured

    when = datetime.datetime.now().astimezone().replace(microsecond=0).isoformat()
    cells = made.cells(setup, when)
    alone = add_measured("", [cells], units=folder.job.units, setups=len(folder.job.setup))
    measured_in(folder, alone.encode(), shown=_TYPED)
    return cells


def _add(folder: JobFolder, rows: Sequence[Mapping[str, str]]) -> None:
    """Write lines at the end of measured.csv, all or none. Raises InputRefused where it could not be read then."""
    from setwright.jobfolder.append import replace_text
    from setwright.jobfolder.document import LARGEST_TEXT
    from setwright.jobfolder.door import read_regular
    from setwright.jobfolder.measured import MEASURED_FILE, measured_in
    from setwright.record.measured import add_measured

    path = folder.root / MEASURED_FILE
    there = path.exists() or path.is_symlink()
    before = read_regular(path, shown=MEASURED_FILE, largest=LARGEST_TEXT).decode("utf-8") if there else ""
    after = add_measured(before, rows, units=folder.job.units, setups=len(folder.job.setup))
    measured_in(folder, after.encode())
    replace_text(path, after)


def add_file(folder: JobFolder, path: Path, *, gauge: str, setup: str | None) -> int:
    """Write the values of a table or of QIF results into measured.csv, all or none; returns how many."""
    from setwright.jobfolder.measured import CHANGED, TYPED, read_measured

    _measured(folder)  # what stands there must be right before anything is added
    read = read_measured(folder, path, gauge=gauge, setup=setup)
    angles = {one.span: one for one in read.measurements if _angle(folder, one.setup, one.feature)}
    rows: list[tuple[Span, dict[str, str]]] = []
    for one in read.measurements:
        number, unit = (f"{one.value:.9f}", "rad") if one.span in angles else (f"{one.value:.6f}", "mm")
        rows.append((one.span, {"piece": one.piece, "setup": one.setup, "feature": one.feature, "value": number, "unit": unit,
                                "gauge": one.gauge, "time": "" if one.when is None else one.when.isoformat()}))  # fmt: skip
    rows += [(one.span, {"piece": one.piece, "setup": one.setup, "feature": one.register, "value": f"{one.by:+.6f}", "unit": "mm",
                         "gauge": TYPED}) for one in read.typings]  # fmt: skip
    rows += [(one.span, {"piece": one.piece, "setup": one.setup, "feature": f"T{one.station}", "value": "new", "gauge": CHANGED})
             for one in read.changes]  # fmt: skip
    _add(folder, [cells for _, cells in sorted(rows, key=lambda each: (each[0].line, each[0].column))])
    return len(rows)


def _angle(folder: JobFolder, setup: str, feature: str) -> bool:
    from setwright.jobfolder.measured import measurable

    return measurable(folder.job.setup_named(setup))[feature][0].angle is not None


def kind_of_file(path: Path) -> str:
    """What kind of file results are written into, by its name. Raises InputRefused for another."""
    kind = _KINDS.get(path.suffix.lower())
    if kind is None:
        raise InputRefused.because(f"“{path.name}” does not say what to write", remedy="end its name in .csv, .qif or .xml")
    return kind


def write_results(asked: Asked, path: Path, results: Sequence[PieceResult], measured: Measured, units: str) -> None:
    """Write measured and judged values into a file, by its name a table or QIF results; whole or not at all."""
    from setwright.jobfolder.append import replace_text
    from setwright.piece.results import csv_results, qif_results

    left: tuple[str, ...] = ()
    if kind_of_file(path) == "csv":
        text = csv_results(results, units)
    else:
        text, left = qif_results(results, measured)
    if not path.parent.is_dir():
        raise InputRefused.because(f"there is no folder {path.parent}", remedy="make it, or name another place")
    replace_text(path, text)
    rest = f"; not in it, since they are no lengths: {', '.join(left)}" if left else ""
    asked.people.print(Text(f"Written: {path}{rest}"))
