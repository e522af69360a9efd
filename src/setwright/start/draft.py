"""A job drafted from programs: each program one setup, every number that no one has stated marked as a guess."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from setwright.base.errors import Problem
from setwright.geometry.moves import MoveKind
from setwright.model.job import Guess
from setwright.program.path import Path
from setwright.program.profile import Profile
from setwright.program.source import Source
from setwright.start.blank import DraftBlank, draft_blank, find_top
from setwright.start.compensation import compensated
from setwright.start.documents import Documents
from setwright.start.holding import DraftHolding, DraftMachine, choose_holding, choose_machine
from setwright.start.reading import ProgramReading, grouped, read_program
from setwright.start.setup import DraftSetup
from setwright.start.tools import DraftTool, draft_tools, with_depth
from setwright.start.wording import Evidence, cite

__all__ = ["Draft", "draft"]

_GAP_MM = 50.0


@dataclass(frozen=True, slots=True)
class Draft:
    """A drafted job folder, not yet on disk.

    `files`: every file of the folder by its path in it. `guesses`: what was assumed and why. `setups`: the drafted setups.
    `problems`: what could not be read in the programs; the draft then rests on what stands before it.
    """

    files: Mapping[str, bytes] = field(repr=False)
    guesses: tuple[Guess, ...]
    setups: tuple[DraftSetup, ...]
    problems: tuple[Problem, ...]


def draft(sources: Sequence[Source]) -> Draft:
    """Draft a job from part programs. Raises InputRefused, with the place, where a program cannot be read or never feeds."""
    groups = grouped(sources)
    setups = tuple(_draft_setup(read_program(group), number, alone=len(groups) == 1) for number, group in enumerate(groups, 1))
    documents = Documents(setups)
    programs = {source.name: _bytes(source) for source in sources}
    problems = tuple(problem for setup in setups for problem in setup.reading.interpreted.problems)
    return Draft({**documents.files(), **programs}, documents.guesses(), setups, problems)


def _bytes(source: Source) -> bytes:
    return source.text.encode() if isinstance(source.text, str) else source.text


def _draft_setup(reading: ProgramReading, number: int, *, alone: bool) -> DraftSetup:
    rough = draft_tools(reading)
    fitted = compensated(reading, rough)
    path = fitted.path
    top = find_top(reading, rough)
    tools = tuple(with_depth(tool, top=top.z, inch=reading.inch) for tool in rough)
    blank = draft_blank(reading, path, tools, top)
    offsets = _offsets(reading, path)
    shifts = {name: (order * (float(blank.size[0]) + _GAP_MM) if cuts else 0.0, 0.0, 0.0)
              for order, (name, cuts) in enumerate(offsets.items()) if order}  # fmt: skip
    apart = [shift for shift in shifts.values() if shift[0]]
    holding = choose_holding(blank, path, tools, apart, rapid=reading.profile.rapid, inch=reading.inch)
    machine = choose_machine(path, tools, blank, holding, apart)
    if reading.relative:
        machine = _starting_on_zero(machine, holding, blank, tools)
    name = "first side" if alone else f"setup {number}"
    return DraftSetup(name, reading, tools, blank, holding, machine, next(iter(offsets)), shifts, _lengths(reading),
                      _behaviours(reading.profile), fitted.wear_only)  # fmt: skip


def _offsets(reading: ProgramReading, path: Path) -> dict[str, bool]:
    """The work offsets the program names, the first one that cuts first; whether each cuts."""
    cutting = np.array([frame.offset for frame in path.frames])[path.frame[path.kind != MoveKind.RAPID]]
    cuts = [name for name in dict.fromkeys(cutting.tolist()) if name.startswith("G")]
    others = [name for name in reading.interpreted.registers if name.startswith("G") and name not in cuts]
    return {**dict.fromkeys(cuts, True), **dict.fromkeys(others, False)} or {"G54": True}


def _lengths(reading: ProgramReading) -> str:
    applied = any(name.startswith("H") for name in reading.interpreted.registers)
    applied = applied or (reading.unread is not None and bool(reading.unread.lengths))
    return "registers" if applied else "touched off with each tool"


def _behaviours(profile: Profile) -> dict[str, str | float]:
    """What differs from the default profile, as a machine's file states it.

    Machine functions are opened as a whole: each then stays a remark for the setter to look up.
    """
    found: dict[str, str | float] = {}
    for entry in dataclasses.fields(Profile):
        value = getattr(profile, entry.name)
        if entry.name == "name" or value == entry.default:
            continue
        if entry.name == "machine_functions":
            found["other_m_codes"] = "remark"
        else:
            found[entry.name] = value
    return found


def _starting_on_zero(machine: DraftMachine, holding: DraftHolding, blank: DraftBlank, tools: Sequence[DraftTool]) -> DraftMachine:
    """For a program that only moves relative to where it starts: the machine's home is where the first tool stands on zero."""
    first = tools[0]
    length = first.stickout + sum(step.length for step in first.tool.holder)
    z = machine.table_z + holding.height - float(blank.low[2]) + length
    why: Evidence = cite("default machine; the program only moves relative to its start, so home is where the tool stands on zero")
    return replace(machine, home=(*machine.zero_in_machine, round(z, 3)), why=why)
