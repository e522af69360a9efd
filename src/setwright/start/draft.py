"""A job drafted from programs: each program one setup, every number that no one has stated marked as a guess."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from setwright.base.errors import Problem
from setwright.geometry.frames import quarter_turns
from setwright.geometry.moves import MoveKind
from setwright.model.job import Guess, Turn
from setwright.program.clampings import Clamping
from setwright.program.path import Path
from setwright.program.profile import Profile
from setwright.program.source import Source
from setwright.start.blank import DraftBlank, draft_blank, find_top, left_over
from setwright.start.compensation import compensated
from setwright.start.documents import Documents
from setwright.start.holding import DraftHolding, DraftMachine, choose_holding, choose_machine
from setwright.start.reading import Left, ProgramReading, clamping_by_clamping, grouped, read_program
from setwright.start.setup import Before, DraftSetup, turn_at
from setwright.start.tools import DraftTool, draft_tools, with_depth
from setwright.start.wording import Evidence, cite, number_text

__all__ = ["Draft", "draft"]

_GAP_MM = 50.0
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")


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
    groups = [clamping_by_clamping(read_program(group)) for group in grouped(sources)]
    setups: list[DraftSetup] = []
    for group in groups:
        made: list[DraftSetup] = []
        for reading, stop in group:
            name = _name(len(setups) + len(made), clampings=len(group), alone=len(groups) == 1)
            made.append(_draft_setup(reading, name) if stop is None else _draft_next(reading, name, made[-1], stop))
        setups += _with_longest_tools(made)
    documents = Documents(setups)
    programs = {source.name: _bytes(source) for source in sources}
    problems = tuple(problem for setup in setups for problem in setup.reading.interpreted.problems)
    return Draft({**documents.files(), **programs}, documents.guesses(), tuple(setups), problems)


def _bytes(source: Source) -> bytes:
    return source.text.encode() if isinstance(source.text, str) else source.text


def _name(before: int, *, clampings: int, alone: bool) -> str:
    """What a setup is called that has so many before it."""
    if alone and clampings > 1:
        return f"{_ORDINALS[before]} clamping" if before < len(_ORDINALS) else f"clamping {before + 1}"
    return "first side" if alone else f"setup {before + 1}"


def _draft_next(reading: ProgramReading, name: str, before: DraftSetup, stop: Clamping) -> DraftSetup:
    """A clamping whose blank is what an earlier one leaves, turned as the text says at the stop between them."""
    turn, why = turn_at(stop)
    size = left_over(before.path, before.tools, before.blank)
    lying = np.abs(quarter_turns((Turn.model_validate({"about": turn[0], "by": turn[1]}),) if turn else ()) @ size)
    x, y, z = (float(value) for value in lying)
    shown = " × ".join(number_text(value, inch=reading.inch) for value in (x, y, z))
    said = cite(f"what “{before.name}” leaves, about {shown} {'in' if reading.inch else 'mm'}: measure it", file=stop.file,
                line=stop.line)  # fmt: skip
    drafted = _draft_setup(replace(reading, left=Left((x, y, z), said)), name)
    return replace(drafted, before=Before(before.name, stop, turn, why))


def _with_longest_tools(setups: Sequence[DraftSetup]) -> list[DraftSetup]:
    """One and the same tool in all clampings of a program: the one with the longest flutes."""
    longest: dict[int, DraftTool] = {}
    for setup in setups:
        for tool in setup.tools:
            known = longest.get(tool.station)
            if known is None or (tool.tool.flute_length, tool.stickout) > (known.tool.flute_length, known.stickout):
                longest[tool.station] = tool
    return [replace(setup, tools=tuple(longest[tool.station] for tool in setup.tools)) for setup in setups]


def _draft_setup(reading: ProgramReading, name: str) -> DraftSetup:
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
    return DraftSetup(name, reading, tools, blank, holding, machine, next(iter(offsets)), shifts, _lengths(reading),
                      _behaviours(reading.profile), fitted.wear_only, path)  # fmt: skip


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
