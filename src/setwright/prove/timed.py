"""Programs timed with a stop-watch, from a table: one program or job a line, with the time it took.

    program, setup, time, within
    long-rapids.nc, , 2:31
    ../bearing-cap, first side, 18 min 40 s
    surface.nc, , 754, 2

`program` is a program's file or a job's folder, seen from the table; of a job with several setups `setup` says which. `time` is
minutes and seconds (2:31, 1:02:10), a number of seconds, or a number with its unit. `within` is how far the reading may be off, ±
in 95 of 100 cases; 1 s where it is not stated. A program alone is read with every offset at zero: what drives home in it is timed
as it would be from there.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import tomlkit

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.jobfolder.append import replace_text
from setwright.jobfolder.document import parse_document, read_bytes, read_text
from setwright.jobfolder.load import load_job, setup_numbered
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.machine import Machine
from setwright.program.interpret import Interpreted, interpret
from setwright.program.motions import moves_in_machine
from setwright.program.registers import Registers
from setwright.program.source import Source
from setwright.prove.reading import held_for, interpret_setup
from setwright.read.station import profile_of
from setwright.read.stopwatch import WatchedRun

__all__ = ["keep_figures", "machine_of", "watched_runs"]

_COLUMNS: Final = ("program", "setup", "time", "within")
_NEEDED: Final = ("program", "time")
_CLOCK: Final = re.compile(r"(?:(\d+):)?(\d+):(\d{2}(?:[.,]\d+)?)")
_WORDS: Final = re.compile(r"(?:(\d+)\s*h\s*)?(?:(\d+)\s*min\s*)(\d+(?:[.,]\d+)?)\s*s")
_WITHIN_S: Final = 1.0
_LARGEST: Final = 500_000_000


def watched_runs(table: Path, machine: Machine) -> list[WatchedRun]:
    """The timed programs of a table, each read as the machine's control does. Raises InputRefused with every problem found."""
    problems: list[Problem] = []
    runs = []
    shown = str(table)
    lines = read_text(table, shown=shown).splitlines()
    kept = [(number, line) for number, line in enumerate(lines, 1) if line.strip() and not line.lstrip().startswith("#")]
    if not kept:
        raise InputRefused.because("the table is empty", span=Span(shown), remedy=f"write {', '.join(_NEEDED)} in the first line")
    mark = ";" if ";" in kept[0][1] else ","
    names = [cell.strip().lower() for cell in next(csv.reader([kept[0][1]], delimiter=mark))]
    _refuse_columns(names, Span(shown, kept[0][0], 1, max(1, len(kept[0][1])), kept[0][1]))
    for number, line in kept[1:]:
        cells = next(csv.reader([line], delimiter=mark, skipinitialspace=True))
        span = Span(shown, number, 1, max(1, len(line)), line)
        row = {name: cell.strip() for name, cell in zip(names, cells, strict=False)}
        if len(cells) > len(names):
            problems.append(Problem(f"the line has {len(cells)} cells, the first line {len(names)}", span=span,
                                    remedy="put a decimal point in the number, or semicolons between all cells"))  # fmt: skip
            continue
        try:
            runs.append(_run(row, span, table.parent, machine))
        except InputRefused as refusal:
            problems += refusal.problems
    if problems:
        raise InputRefused(problems)
    return runs


def machine_of(path: Path) -> Machine:
    """The machine of one file of a shop. Raises InputRefused."""
    if path.is_dir():
        raise InputRefused.because("this is a folder", why="the times are those of one machine", span=Span(str(path)),
                                   remedy="name the machine's own file, for example shop/machines/mill-2.toml")  # fmt: skip
    return parse_document(read_text(path, shown=str(path)), Machine, shown=str(path))


def keep_figures(path: Path, machine: Machine) -> None:
    """Write the time figures of `machine` into its file; whatever else stands there stays, remarks too. Whole or not at all."""
    text = tomlkit.parse(read_text(path, shown=str(path)))
    now, timed = machine.acceleration, machine.timed
    accel = tomlkit.inline_table()
    for axis in "xyz":
        accel[axis] = f"{getattr(now, axis) / 1000.0:.4g} m/s2"
    text["acceleration"] = accel
    text["corner_rounding"] = f"{machine.corner_rounding:.3g} mm"
    text["block_time"] = f"{1000.0 * machine.block_time:.3g} ms"
    text["tool_change"] = f"{machine.tool_change:.3g} s"
    text["spindle_start"] = f"{machine.spindle_start:.3g} s"
    if timed is not None:
        table = tomlkit.table()
        table["programs"] = timed.programs
        table["share"] = float(f"{timed.share:.3g}")
        table["spread"] = [float(f"{value:.3g}") for value in timed.spread]
        table["together"] = tomlkit.array(str([[round(value, 3) for value in row] for row in timed.together])).multiline(True)
        text["timed"] = table
    after = tomlkit.dumps(text)
    parse_document(after, Machine, shown=str(path))
    replace_text(path, after)


def _refuse_columns(names: list[str], span: Span) -> None:
    problems = []
    for name in names:
        if name not in _COLUMNS:
            near = difflib.get_close_matches(name, _COLUMNS, n=1)
            remedy = f'did you mean "{near[0]}"?' if near else f"the columns are {', '.join(_COLUMNS)}"
            problems.append(Problem(f'there is no column "{name}"', remedy=remedy, span=span))
    if len(set(names)) < len(names):
        problems.append(Problem("a column is there twice", remedy="keep one of them", span=span))
    problems += [Problem(f'the column "{name}" is missing', remedy=f"write {', '.join(_NEEDED)} in the first line", span=span)
                 for name in _NEEDED if name not in names]  # fmt: skip
    if problems:
        raise InputRefused(problems)


def _run(row: Mapping[str, str], span: Span, folder: Path, machine: Machine) -> WatchedRun:
    blank = [name for name in _NEEDED if not row.get(name)]
    if blank:
        raise InputRefused.because(f"{' and '.join(blank)} missing in this line", span=span, remedy="write it, or delete the line")
    seconds = _seconds(row["time"], "time", span)
    within = _seconds(row["within"], "within", span) if row.get("within") else _WITHIN_S
    path = folder / row["program"]
    read = _of_job(path, row.get("setup", ""), span) if path.is_dir() else _of_program(path, row["program"], span, machine)
    if not read.complete:
        what = str(read.problems[0]) if read.problems else f"it stops at {read.stopped_at}"
        raise InputRefused.because(f"{row['program']} is not read to its end: {what}", span=span,
                                   why="the time of a part is not that of the whole",
                                   remedy="correct it, or leave the line away")  # fmt: skip
    dog_leg = profile_of(machine.control).rapid == "dog-leg"
    return WatchedRun(row["program"], read.path, moves_in_machine(read.path), dog_leg, seconds, within / 2.0)


def _of_program(path: Path, name: str, span: Span, machine: Machine) -> Interpreted:
    if not path.is_file():
        raise InputRefused.because(f"there is no file or folder {name}", why="names are seen from the table's own folder",
                                   remedy="correct the name", span=span)  # fmt: skip
    source = Source(path.name, read_bytes(path, shown=name, largest=_LARGEST))
    return interpret([source], profile=profile_of(machine.control), registers=Registers.nominal())


def _of_job(path: Path, setup: str, span: Span) -> Interpreted:
    folder = load_job(path)
    found = setup_numbered(folder.job, setup or None)
    if len(found) > 1:
        raise InputRefused.because(f"{path.name} has {len(found)} setups", span=span,
                                   remedy="add a column setup that says which was timed")  # fmt: skip
    together = kit(folder, found[0])
    return interpret_setup(together, held_for(together, nominal_truth(together)))


def _seconds(text: str, name: str, span: Span) -> float:
    """A time as people write it: 2:31, 1:02:10, 754, 12.5 min, 18 min 40 s."""
    match = _CLOCK.fullmatch(text) or _WORDS.fullmatch(text)
    try:
        if match:
            hours, minutes, seconds = match[1] or "0", match[2], match[3].replace(",", ".")
            found = 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds)
        else:
            found = parse_quantity(text, Dimension.TIME, "s")
    except UnitError as error:
        raise InputRefused.because(f"{name}: {error}", remedy="write 2:31, 754 or 12.5 min", span=span) from error
    if not found > 0.0:
        raise InputRefused.because(f"{name} is {text}", remedy="write more than nothing", span=span)
    return found
