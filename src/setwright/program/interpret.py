"""The way in: programs, profile and registers to a path, with everything noticed on the way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.program.library import Finder, Library, Texts
from setwright.program.machine import Machine
from setwright.program.path import Event, Path, State
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.remark import Assumption, Remark, Severity
from setwright.program.run import Limits, Runner, Stretch
from setwright.program.scan import POINT
from setwright.program.source import Source, SourceText
from setwright.program.summary import Extent, ToolUse, extents, tools_used

__all__ = ["Interpreted", "ProgramName", "interpret"]

_LEFT_IN_FORCE = ("length", "offset", "spindle", "coolant")
_LENGTH_LETTERS = np.array([chr(code) in "XYZIJKR" for code in range(256)])


@dataclass(frozen=True, slots=True)
class ProgramName:
    """A program found in the text: its number, place, and the comment that names it."""

    number: int
    file: str
    line: int
    title: str = ""


@dataclass(frozen=True, slots=True)
class Interpreted:
    """What a control with this profile and these registers makes of the programs.

    `path`: the rows, exact. `blocks`: executed blocks. `problems`: everything in the text that cannot be read, and what stopped the
    interpretation. `end`: "M30", "M2", "M99", "end of text", "until" or "stopped"; `stopped_at` is the place in the last case,
    and `back_to` (file, line) where the main program would go on, should a subprogram have stopped.
    `registers`: every register used, True if its value was known. `extents`: by work offset, of cutting moves only.
    """

    path: Path
    blocks: int
    problems: tuple[Problem, ...]
    remarks: tuple[Remark, ...]
    assumptions: tuple[Assumption, ...]
    end: str
    stopped_at: Span | None
    programs: tuple[ProgramName, ...]
    tools: tuple[ToolUse, ...]
    extents: dict[str, Extent]
    registers: dict[str, bool]
    back_to: tuple[str, int] | None = None

    @property
    def missing(self) -> tuple[str, ...]:
        """The registers that were used though their values are not known, sorted."""
        return tuple(sorted(name for name, known in self.registers.items() if not known))

    @property
    def complete(self) -> bool:
        """Whether the programs were read to their end and nothing in them was left unread."""
        return not self.problems and self.end != "stopped"


def interpret(sources: Sequence[Source | SourceText], *, profile: Profile, registers: Registers,
              until: tuple[str, int] | None = None, limit: Limits | None = None,
              skip_levels: Iterable[int] = (), find: Finder | None = None,
              texts: Texts | None = None, part: tuple[int, int] | None = None) -> Interpreted:  # fmt: skip
    """Interpret programs in order, each from its first block to its end; files that an earlier one calls are subprograms.

    `until`: stop after the first execution of this line (file name, line from 1). `skip_levels`: block-delete switches that are on
    (1 for a bare "/"). `find` fetches a subprogram that is in none of the sources ("O1234"). `texts`: what was read before under
    the same profile, to be read no more. `part`: first and last line of the first program that count: everything is executed, so
    that modal state is what it would be, and what is made while the main program stands there, its subprograms included, is the
    answer; `end` is then "until" for a part that the program goes on behind. Raises InputRefused when there is nothing that could
    be a program; problems inside the text are returned, and the interpretation stops at the first one reached.
    """
    if not sources:
        raise InputRefused.because("no program is given", remedy="name at least one program file")
    library = Library(sources, profile, find, texts)
    machine = Machine(profile, registers)
    machine.sources = library.texts
    levels: AbstractSet[int] = frozenset(skip_levels)
    runner = Runner(machine, library, limit or Limits(), skip_levels=levels, until=until, part=part)
    runner.variables.commons.update(dict(registers.variables))
    for file in range(len(sources)):
        if file in runner.called:
            continue
        if file and part is not None:
            raise InputRefused.because(f"{sources[file].name} is called by nothing in {sources[0].name}",
                                       why=f"this setup runs lines {part[0]} to {part[1]} of {sources[0].name}",
                                       remedy="give it a setup of its own", span=Span(sources[file].name))  # fmt: skip
        runner.run(file)
        if runner.end in ("stopped", "until"):
            break
    _look_at_points(library, machine)
    _look_at_end(machine, runner)
    problems = list(library.problems)
    if runner.problem is not None and runner.problem not in problems:
        problems.append(runner.problem)
    path = _path(machine)
    read = Interpreted(
        path, runner.blocks, tuple(problems), tuple(machine.remarks.values()), tuple(machine.assumptions.values()), runner.end,
        runner.problem.span if runner.problem else None, _program_names(library), tools_used(path),
        extents(path), dict(sorted(machine.used.items())),
        (library.texts[runner.back_to[0]].name, runner.back_to[1]) if runner.back_to else None,
    )  # fmt: skip
    return read if part is None else _part_of(read, runner, part)


# --- a part of the program ---------------------------------------------------------------------------------------------------


def _part_of(whole: Interpreted, runner: Runner, part: tuple[int, int]) -> Interpreted:
    """What was made between two lines of the main program. Raises InputRefused where that is nothing."""
    path, main = whole.path, whole.path.files[0]
    keep = np.zeros(len(path), np.bool_)
    for stretch in runner.stretches:
        keep[stretch.row : stretch.row_to] = True
    if not keep.any() and not (whole.problems and not runner.stretches):
        raise InputRefused.because(f"lines {part[0]} to {part[1]} of {main} make no move", remedy="correct lines of the setup",
                                   span=Span(main, part[0]))  # fmt: skip
    own = _rows_of(path, keep, _events_of(path, keep, runner.stretches))
    over = bool(runner.stretches) and not runner.ended_inside
    problems = tuple(p for p in whole.problems if not (over and p.span is not None
                     and (p.span == whole.stopped_at or (p.span.file == main and p.span.line > part[1]))))  # fmt: skip
    remarks = tuple(one for one in whole.remarks if one.span.file != main or part[0] <= one.span.line <= part[1]
                    or one.span.line > runner.furthest)  # fmt: skip
    named = _registers_of(own).union(*(stretch.used for stretch in runner.stretches))
    registers = {name: known for name, known in whole.registers.items() if name in named}
    return replace(
        whole, path=own, problems=problems, remarks=remarks, end="until" if over else whole.end,
        stopped_at=None if over else whole.stopped_at, back_to=None if over else whole.back_to, tools=tools_used(own),
        extents=extents(own), registers=registers,
    )  # fmt: skip


def _rows_of(path: Path, keep: NDArray[np.bool_], events: tuple[Event, ...]) -> Path:
    """The path with the rows `keep`, bool (n,), and these events; states and frames of other rows are gone."""
    rows: dict[str, Any] = {name: getattr(path, name)[keep] for name in ("kind", "start", "end", "arc", "feed", "line", "file")}
    if not keep.any():
        return replace(path, events=events, state=path.state[keep], frame=path.frame[keep], **rows)
    states, rows["state"] = np.unique(path.state[keep], return_inverse=True)
    frames, rows["frame"] = np.unique(path.frame[keep], return_inverse=True)
    rows |= {name: rows[name].astype(np.int32) for name in ("state", "frame")}
    return replace(path, events=events, states=tuple(path.states[i] for i in states.tolist()),
                   frames=tuple(path.frames[i] for i in frames.tolist()), **rows)  # fmt: skip


def _events_of(path: Path, keep: NDArray[np.bool_], stretches: Sequence[Stretch]) -> tuple[Event, ...]:
    """The events of the stretches, before rows as they are numbered there; first, what earlier ones left in force."""
    row = np.concatenate([[0], np.cumsum(keep)])
    left = {event.kind: event for event in path.events[: stretches[0].event if stretches else 0] if event.kind in _LEFT_IN_FORCE}
    own = [event for stretch in stretches for event in path.events[stretch.event : stretch.event_to]]
    return (*(replace(event, before=0) for event in left.values()),
            *(replace(event, before=int(row[event.before])) for event in own))  # fmt: skip


def _registers_of(path: Path) -> frozenset[str]:
    """The registers that rows of a path rest on, by name."""
    if not len(path):
        return frozenset()
    return frozenset({frame.offset for frame in path.frames} | {f"H{state.length_register}" for state in path.states}
                     | {f"D{state.radius_register}" for state in path.states})  # fmt: skip


def _path(machine: Machine) -> Path:
    rows, arcs = machine.rows.finish()
    return Path(
        **rows,
        arc_centre=arcs["centre"],
        arc_axis=arcs["axis"],
        arc_sweep=arcs["sweep"],
        files=tuple(text.name for text in machine.sources),
        states=tuple(machine.states) or (State(),),
        frames=tuple(machine.frames) or (machine.frame(),),
        events=tuple(machine.events),
    )


def _program_names(library: Library) -> tuple[ProgramName, ...]:
    names = []
    for file, text in enumerate(library.texts):
        for number, line in sorted(library.programs(file).items(), key=lambda item: item[1]):
            title = ""
            for place in (line, line + 1):
                shown = text.line(place) if place <= len(text) else ""
                if "(" in shown:
                    title = shown.partition("(")[2].partition(")")[0].strip()
                    break
            names.append(ProgramName(number, text.name, line, title))
    return tuple(names)


def _look_at_points(library: Library, machine: Machine) -> None:
    """Note how many coordinates are written without a decimal point: controls read them a thousandfold apart."""
    for file, text in enumerate(library.texts):
        scan = text.scan
        bare = np.flatnonzero(_LENGTH_LETTERS[scan.letter] & (scan.mark & POINT == 0) & (scan.value != 0.0))
        if bare.size == 0:
            continue
        machine.file = file
        machine.line = int(scan.first_word.searchsorted(bare[0], side="right"))
        machine.words_at = {"": (int(scan.at[bare[0]] - scan.line_at[machine.line - 1]) + 1, 1)}
        first = chr(int(scan.letter[bare[0]])), scan.value[bare[0]]
        reading = "whole units" if machine.profile.decimal == "whole units" else "least increments"
        machine.assume("decimal",
                       f"{bare.size} coordinate{'s' * (bare.size > 1)} without a decimal point, such as {first[0]}{first[1]:g}, "
                       f"{'are' if bare.size > 1 else 'is'} read as {reading}")


def _look_at_end(machine: Machine, runner: Runner) -> None:
    if runner.end in ("stopped", "until"):
        return
    machine.words_at = {}
    if any(machine.preset):
        machine.remark("G92 shift left in force", Severity.WARNING,
                       "The program ends with a G92 shift in force: the next program starts shifted.",
                       "Write G92.1 before the end.")  # fmt: skip
    if any(machine.local):
        machine.remark("G52 shift left in force", Severity.CAUTION, "The program ends with a G52 shift in force.",
                       "Write G52 X0 Y0 Z0 before the end.")
    if machine.rotation is not None:
        machine.remark("rotation left in force", Severity.CAUTION, "The program ends with G68 in force.",
                       "Write G69 before the end.")
