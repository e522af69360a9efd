"""The programs of a setup as its control runs them, with the registers that fit the truth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from setwright.base.errors import InputRefused
from setwright.kit.registers import Truth, control_registers
from setwright.kit.station import Kit
from setwright.program.interpret import Interpreted, interpret
from setwright.program.library import Texts
from setwright.program.path import Path
from setwright.program.registers import Registers
from setwright.program.source import Source
from setwright.read.station import Reading, profile_of, read

__all__ = ["Held", "held_for", "interpret_setup", "read_setup"]

_OFFSETS = tuple(f"G{number}" for number in range(54, 60))
_NONE: Mapping[int, Registers] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Held:
    """What the control holds and runs, whatever is true.

    `registers`: lengths, radii, offsets. `own`: by station, the registers while that tool is in the spindle, for a setup whose zero
    is set anew with every tool; empty otherwise. `sources`: bytes of the programs that run, by file name, in order.
    `skip_levels`: block-delete switches that are on (1 for a bare "/").
    """

    registers: Registers
    own: Mapping[int, Registers] = field(default_factory=lambda: _NONE)
    sources: Mapping[str, bytes] = field(default_factory=dict, repr=False)
    skip_levels: frozenset[int] = frozenset()


def held_for(kit: Kit, truth: Truth) -> Held:
    """What the control holds when nothing went wrong: registers that fit the truth (or are stated), the setup's own programs."""
    sources = {name: kit.folder.sources[name] for name in kit.setup.programs}
    if kit.setup.lengths == "registers" or len(kit.tools) == 1:
        touched_off = next(iter(kit.tools)) if kit.setup.lengths != "registers" else None
        return Held(control_registers(kit, truth, touched_off=touched_off), sources=sources)
    own = {station: control_registers(kit, truth, touched_off=station) for station in kit.tools}
    return Held(next(iter(own.values())), own, sources)


def read_setup(kit: Kit, truth: Truth, *, held: Held | None = None, until: tuple[str, int] | None = None) -> Reading:
    """Interpret the setup's programs with what the control holds, by default what fits the truth. Raises InputRefused for what is
    no program."""
    held = held or held_for(kit, truth)
    if not held.own:
        return _read(kit, held, held.registers, until)
    # the operator sets the zero anew with every tool: each tool's motions are those of a reading with its own zero
    readings = {station: _read(kit, held, registers, until) for station, registers in held.own.items()}
    first = next(iter(readings.values()))
    whole = first.interpreted.path
    for station, reading in readings.items():
        whole = _with_rows_of(whole, reading.interpreted.path, station)
    return replace(first, interpreted=replace(first.interpreted, path=whole))


def interpret_setup(kit: Kit, held: Held, *, texts: Texts | None = None) -> Interpreted:
    """The same without the checks of Read and without the time: what the control makes of the programs. `texts`: see interpret."""
    profile = profile_of(kit.machine.control)
    sources = [Source(name, data) for name, data in held.sources.items()]

    def run(registers: Registers) -> Interpreted:
        known, taken = _with_earlier_offsets(kit, registers)
        return _not_known(interpret(sources, profile=profile, registers=known, skip_levels=held.skip_levels, texts=texts,
                                    part=kit.setup.lines), taken)  # fmt: skip

    if not held.own:
        return run(held.registers)
    each = {station: run(registers) for station, registers in held.own.items()}
    first = next(iter(each.values()))
    whole = first.path
    for station, interpreted in each.items():
        whole = _with_rows_of(whole, interpreted.path, station)
    return replace(first, path=whole)


def _read(kit: Kit, held: Held, registers: Registers, until: tuple[str, int] | None) -> Reading:
    known, taken = _with_earlier_offsets(kit, registers)
    made = read(held.sources, profile=profile_of(kit.machine.control), registers=known, machine=kit.machine,
                tools={station: hung.tool for station, hung in kit.tools.items()}, until=until,
                skip_levels=held.skip_levels, guessed=_guessed(kit), drafted=_drafted(kit),
                material=kit.folder.job.job.material, materials=kit.folder.job.shop.materials,
                part=kit.setup.lines, divided_at=_divided_at(kit), shown=kit.folder.shown)  # fmt: skip
    return replace(made, interpreted=_not_known(made.interpreted, taken))


def _with_earlier_offsets(kit: Kit, registers: Registers) -> tuple[Registers, frozenset[str]]:
    """For a setup that begins inside a program: offsets that it does not know are taken to lie where its own does, and which these
    are. They matter only for where the machine stands after the lines before; a row of the setup's own may not rest on them."""
    own = registers.offsets.get(kit.setup.offset)
    if kit.setup.lines is None or kit.setup.lines[0] == 1 or own is None:
        return registers, frozenset()
    more = {name: own for name in _OFFSETS if name not in registers.offsets}
    return replace(registers, offsets={**registers.offsets, **more}), frozenset(more)


def _not_known(interpreted: Interpreted, names: frozenset[str]) -> Interpreted:
    """The same with these registers counted as not known."""
    known = {name: value and name not in names for name, value in interpreted.registers.items()}
    return replace(interpreted, registers=known) if names else interpreted


def _guessed(kit: Kit) -> frozenset[int]:
    """Stations whose tool the draft made up: which one it is, or its diameter."""
    job, setup = kit.folder.job, kit.setup
    return frozenset(tool.station for tool in setup.tool if job.guessed(setup.name, f"job.toml: setup.tool.{tool.station}.use")
                     or job.guessed(setup.name, f"shop/tools/{tool.use}.toml: diameter"))  # fmt: skip


def _divided_at(kit: Kit) -> tuple[int, ...]:
    """The lines behind which a draft began another setup, for the setup that begins the program."""
    own, job = kit.setup, kit.folder.job
    if own.lines is None or own.lines[0] != 1:
        return ()
    others = [other for other in job.setup if other.programs[0] == own.programs[0] and other.lines is not None]
    begins = sorted(other.lines[0] for other in others if other.lines and job.guessed(other.name, "job.toml: setup.lines"))
    return tuple(line - 1 for line in begins if line > 1)


def _drafted(kit: Kit) -> frozenset[str]:
    """Behaviours of the control that a draft took from the text."""
    behaviours, job = f"shop/machines/{kit.setup.machine}.toml: control.behaviours.", kit.folder.job
    return frozenset(name for name in kit.machine.control.behaviours if job.guessed(kit.setup.name, behaviours + name))


def _with_rows_of(path: Path, other: Path, station: int) -> Path:
    """`path` with the rows in which `station` is in the spindle taken from `other`."""
    if len(path) != len(other):
        raise InputRefused.because("the program moves differently depending on where its zero is",
                                   why="so its tools cannot be proved with a zero of their own each",
                                   remedy="apply tool lengths in the program with G43")  # fmt: skip
    own = np.array([state.tool == station for state in other.states])[other.state]
    rows = own[:, None]
    return replace(
        path, start=np.where(rows, other.start, path.start), end=np.where(rows, other.end, path.end),
        frame=np.where(own, other.frame + len(path.frames), path.frame).astype(np.int32), frames=(*path.frames, *other.frames),
    )  # fmt: skip
