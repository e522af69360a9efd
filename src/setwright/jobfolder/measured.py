"""measured.csv: one measured value a line, every problem named by line and column.

    piece, feature, value, gauge, time
    1, depth of seat, 12.527, depth-micrometer, 2026-03-03T11:20
    2, length 2, -0.012, typed

A bare value takes the job's unit; the head may name one (`value_mm`, `value_in`), and so may each value. `setup` may stand as a
column of its own, where two setups have a feature of one name. The gauge `typed` marks what was typed into a register before that
piece, `changed` (`18, T2, new, changed`) a tool that was changed before it.
"""

from __future__ import annotations

import csv
import datetime
import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from setwright.base.digest import digest_bytes
from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.jobfolder.document import LARGEST_TEXT, decode, read_bytes
from setwright.jobfolder.door import read_regular
from setwright.jobfolder.load import JobFolder
from setwright.jobfolder.qif import Shown, read_qif
from setwright.model.job import Setup
from setwright.model.measurement import Measured, Measurement, ToolChange, Typing
from setwright.model.requirement import Requirement

__all__ = ["CHANGED", "MEASURED_FILE", "NEEDED", "TYPED", "measurable", "measured_in", "read_measured"]

MEASURED_FILE: Final = "measured.csv"
TYPED: Final = "typed"
"""The gauge of a line that says what was typed into a register."""

CHANGED: Final = "changed"
"""The gauge of a line that says that a tool was changed."""

NEEDED: Final = ("piece", "feature", "value", "gauge")
_KNOWN: Final = (*NEEDED, "time", "setup")
_VALUES: Final = {"value": None, "value_mm": "mm", "value_in": "in"}
_LIKE_OTHER_UNIT: Final = 0.02
_MOST_DIGITS: Final = 15
_TOOL: Final = re.compile(r"(?:T|tool )\s*(\d{1,4})", re.IGNORECASE)
_Named = tuple[Requirement, str]


def measurable(setup: Setup) -> dict[str, _Named]:
    """What of a setup can be measured: by the name that a line gives it, the requirement, and "", "x" or "y" for the coordinate
    of a centre. On a pallet the parts beside the first have their offset behind the name, as in a proof."""
    found: dict[str, _Named] = {}
    for requirement in setup.requirement:
        for behind in ("", *(f" ({offset})" for offset in setup.shifts)):
            found[requirement.name + behind] = (requirement, "")
            if requirement.position is not None:
                found |= {f"{requirement.name}{behind} {axis}": (requirement, axis) for axis in ("x", "y")}
    return found


def read_measured(folder: JobFolder, path: Path | None = None, *, registers: Mapping[str, Sequence[str]] | None = None,
                  gauge: str = "", setup: str | None = None) -> Measured:  # fmt: skip
    """The measured values of a job: of its measured.csv, or of another file, which may be QIF results. `registers`: names a person
    may have typed at, by setup; None takes any. `gauge` of the shop: that of results that name none; `setup`: what a line that
    several have belongs to. Raises InputRefused with every problem found."""
    place = folder.root / MEASURED_FILE if path is None else path
    shown = MEASURED_FILE if path is None else str(path)
    if path is None and not place.exists() and not place.is_symlink():
        raise InputRefused.because(f"the job has no {MEASURED_FILE}", why="nothing of a piece was measured",
                                   remedy=f"write it: {', '.join(NEEDED)} in the first line, then one value a line",
                                   span=Span(shown))  # fmt: skip
    read = read_regular if path is None else read_bytes  # a job is its own files: no link leads out of it
    data = read(place, shown=shown, largest=LARGEST_TEXT)
    return measured_in(folder, data, shown=shown, registers=registers, gauge=gauge, setup=setup)


def measured_in(folder: JobFolder, data: bytes, *, shown: str = MEASURED_FILE,
                registers: Mapping[str, Sequence[str]] | None = None, gauge: str = "",
                setup: str | None = None) -> Measured:  # fmt: skip
    """The measured values of a job in the bytes of a file, called `shown`; otherwise as `read_measured`."""
    text = decode(data, shown=shown)
    reader = _Reader(folder, shown, text.splitlines(), registers, setup)
    if text.lstrip().startswith("<"):
        reader.results(read_qif(text, shown=shown), gauge)
    else:
        reader.read()
    if reader.problems:
        raise InputRefused(reader.problems)
    return Measured(tuple(reader.measurements), tuple(reader.typings), shown, digest_bytes(data), tuple(reader.changes))


class _Reader:
    """Reads the lines, gathering problems."""

    def __init__(self, folder: JobFolder, shown: str, lines: list[str], registers: Mapping[str, Sequence[str]] | None,
                 setup: str | None) -> None:  # fmt: skip
        self._job, self._shown, self._lines, self._registers, self._own = folder.job, shown, lines, registers, setup
        self._known = {setup.name: measurable(setup) for setup in folder.job.setup}
        self.problems: list[Problem] = []
        self.measurements: list[Measurement] = []
        self.typings: list[Typing] = []
        self.changes: list[ToolChange] = []

    def read(self) -> None:
        try:
            rows = list(self._rows())
        except csv.Error as error:
            self._refuse(f"the file is no table: {error}", Span(self._shown), "write one value a line")
            return
        head, rows = (rows[0], rows[1:]) if rows else (None, [])
        if head is None:
            self._refuse("the file is empty", Span(self._shown), f"write {', '.join(NEEDED)} in the first line")
            return
        columns = self._columns(head)
        if columns is None:
            return
        before: dict[tuple[str, ...], int] = {}
        for number, cells in rows:
            row = {name: cells[place].strip() if place < len(cells) else "" for name, place in columns.items()}
            span = Span(self._shown, number, 1, max(1, len(self._lines[number - 1])), self._lines[number - 1])
            if len(cells) > len(columns):
                self._refuse(f"the line has {len(cells)} cells, the first line {len(columns)}", span,
                             "put a decimal point in the value, or semicolons between all cells")  # fmt: skip
                continue
            same = tuple(row.values())
            if same in before:
                self._refuse(f"line {before[same]} says the same", span, "delete one; if it was measured twice, write both times")
                continue
            before[same] = number
            self._row(row, span, _VALUES[next(name for name in _VALUES if name in row)])

    def results(self, found: Sequence[Shown], gauge: str) -> None:
        """Values of another program, all taken with one gauge of the shop."""
        gauges = sorted(self._job.shop.gauges)
        if gauge not in gauges:
            what = f'no gauge is called "{gauge}"' if gauge else "the results name no gauge of the shop"
            self._refuse(what, Span(self._shown), f"say it: --gauge {' or '.join(gauges) or 'NAME, once shop/gauges has one'}")
            return
        for one in found:
            line = self._lines[one.line - 1]
            span = Span(self._shown, one.line, one.column, max(1, len(line) - one.column + 1), line)
            row = {"piece": one.piece, "feature": one.name, "value": one.value, "gauge": gauge, "time": one.when}
            self._row(row, span, None)

    def _rows(self) -> Iterator[tuple[int, list[str]]]:
        """Lines with something in them, with their numbers; `#` begins a remark."""
        kept = [(number, line) for number, line in enumerate(self._lines, 1) if line.strip() and not line.lstrip().startswith("#")]
        mark = ";" if kept and ";" in kept[0][1] else ","
        for number, line in kept:
            yield number, next(csv.reader([line], delimiter=mark, skipinitialspace=True), [])

    def _columns(self, head: tuple[int, list[str]]) -> dict[str, int] | None:
        number, cells = head
        names = [cell.strip().lower() for cell in cells]
        span = Span(self._shown, number, 1, max(1, len(self._lines[number - 1])), self._lines[number - 1])
        for name in names:
            if name not in _KNOWN and name not in _VALUES:
                near = difflib.get_close_matches(name, [*_KNOWN, *_VALUES], n=1)
                known = f"the columns are {', '.join((*_KNOWN, 'value_mm', 'value_in'))}"
                self._refuse(f'there is no column "{name}"', span, f'did you mean "{near[0]}"?' if near else known)
        if len(set(names)) < len(names) or sum(name in _VALUES for name in names) > 1:
            self._refuse("a column is there twice", span, "keep one of them")
        for name in NEEDED:
            if name not in names and not (name == "value" and any(other in names for other in _VALUES)):
                self._refuse(f'the column "{name}" is missing', span, f"write {', '.join(NEEDED)} in the first line")
        return None if self.problems else {name: place for place, name in enumerate(names)}

    def _row(self, row: Mapping[str, str], span: Span, unit: str | None) -> None:
        value = next(row[name] for name in _VALUES if name in row)
        blank = [name for name in ("piece", "feature", "gauge") if not row[name]] + ([] if value else ["value"])
        if blank:
            self._refuse(f"{', '.join(blank)} is missing in this line", span, "write it, or delete the line")
            return
        piece = self._piece(row["piece"], span)
        if piece is None:
            return
        row = {**row, "piece": piece}
        if row["gauge"].lower() == CHANGED:
            self._changed(row, value, span)
            return
        typed = row["gauge"].lower() == TYPED
        setup = self._setup(row, span, typed=typed)
        when = self._time(row.get("time", ""), span)
        if setup is None:
            return
        angle = not typed and self._known[setup][row["feature"]][0].angle is not None
        number = self._number(value, span, unit, Dimension.ANGLE if angle else Dimension.LENGTH)
        if number is None:
            return
        if typed:
            self.typings.append(Typing(row["piece"], setup, row["feature"], number, span))
        elif self._believed(setup, row, number, span):
            self.measurements.append(Measurement(row["piece"], setup, row["feature"], number, row["gauge"], when, span))

    def _piece(self, text: str, span: Span) -> str | None:
        """What a piece is called: a number without idle zeros, so that 007 is 7; None after a problem."""
        if not text.isdecimal():
            return text
        if len(text) > _MOST_DIGITS:
            self._refuse(f"the number of a piece has {len(text)} digits", span, f"write {_MOST_DIGITS} at the most, or a name")
            return None
        return str(int(text))

    def _changed(self, row: Mapping[str, str], value: str, span: Span) -> None:
        """A line that says that a tool was changed: in the setup it names, else in all that have it."""
        match = _TOOL.fullmatch(row["feature"])
        if match is None or value.lower() != "new":
            self._refuse(f'"{row["feature"]}, {value}" does not say which tool was changed', span,
                         f"write for example: {row['piece']}, T2, new, {CHANGED}")  # fmt: skip
            return
        stated, station = row.get("setup", ""), int(match[1])
        setups = [setup for setup in self._job.setup if not stated or setup.name == stated]
        found = [setup.name for setup in setups if any(tool.station == station for tool in setup.tool)]
        if not found:
            known = sorted({f"T{tool.station}" for setup in setups for tool in setup.tool})
            self._refuse(f"there is no T{station}", span, f"there are {', '.join(known)}" if known else "no setup is called that")
        self.changes += [ToolChange(row["piece"], name, station, span) for name in found]

    def _setup(self, row: Mapping[str, str], span: Span, *, typed: bool) -> str | None:
        """The setup a line speaks of; None after a problem."""
        stated, feature = row.get("setup", ""), row["feature"]
        if stated and stated not in self._known:
            self._unlike(f'no setup is called "{stated}"', stated, list(self._known), span)
            return None
        among = [stated] if stated else list(self._known)
        has = {name: list((self._registers or {}).get(name, [feature])) if typed else list(self._known[name]) for name in among}
        found = [name for name in among if feature in has[name]]
        if not found:
            what = "register" if typed else "requirement"
            self._unlike(f'no {what} is called "{feature}"', feature, [one for names in has.values() for one in names], span)
            return None
        if len(found) > 1 and self._own in found:
            return self._own
        if len(found) > 1:
            self._refuse(f'"{feature}" is in several setups: {", ".join(found)}', span, "add a column setup that says which")
            return None
        return found[0]

    def _number(self, text: str, span: Span, unit: str | None, dimension: Dimension) -> float | None:
        bare = unit or self._job.units
        try:
            return parse_quantity(text, dimension, "deg" if dimension is Dimension.ANGLE else bare)
        except UnitError as error:
            self._refuse(str(error), span, "")
            return None

    def _time(self, text: str, span: Span) -> datetime.datetime | None:
        """A time, None where none is written; what is no time is a problem."""
        try:
            return datetime.datetime.fromisoformat(text) if text else None
        except ValueError:
            self._refuse(f'"{text}" is no time', span, "write it as 2026-03-03T11:20")
            return None

    def _believed(self, setup: str, row: Mapping[str, str], value: float, span: Span) -> bool:
        """Whether the gauge is known and the value is of this world: not the same number in the other unit."""
        gauges = self._job.shop.gauges
        requirement, axis = self._known[setup][row["feature"]]
        if row["gauge"] not in gauges:
            remedy = f'put shop/gauges/{row["gauge"]}.toml there with name = "..." and uncertainty = "0.006 mm" (k = 2)'
            self._unlike(f'no gauge is called "{row["gauge"]}"', row["gauge"], list(gauges), span, remedy)
            return False
        gauge = gauges[row["gauge"]]
        if requirement.angle is not None and gauge.angle_uncertainty is None:
            self._refuse(f"{gauge.name} measures no angle", span, 'write angle_uncertainty = "0.1 deg" in its file')
            return False
        nominal = requirement.limits.nominal if not axis or requirement.position is None else getattr(requirement.position, axis)
        for factor, there in ((25.4, "inches"), (1 / 25.4, "millimetres")):
            if nominal and abs(value * factor - nominal) < _LIKE_OTHER_UNIT * abs(nominal):
                self._refuse(f"the value looks like {there}", span, "write its unit behind it, or value_mm or value_in on top")
                return False
        return True

    def _unlike(self, what: str, name: str, known: Sequence[str], span: Span, remedy: str = "") -> None:
        near = difflib.get_close_matches(name, known, n=1)
        others = remedy or (f"there are {', '.join(known[:12])}" if known else "there is none")
        self._refuse(what, span, f'did you mean "{near[0]}"?' if near else others)

    def _refuse(self, what: str, span: Span, remedy: str) -> None:
        self.problems.append(Problem(what, remedy=remedy, span=span))
