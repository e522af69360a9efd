"""The programs of a setup as its control runs them, with the registers that fit the truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from setwright.base.errors import InputRefused
from setwright.kit.registers import Truth, control_registers
from setwright.kit.station import Kit
from setwright.program.path import Path
from setwright.read.station import Reading, profile_of, read

__all__ = ["read_setup"]


def read_setup(kit: Kit, truth: Truth, *, until: tuple[str, int] | None = None) -> Reading:
    """Interpret the setup's programs. Raises InputRefused for what is no program."""
    if kit.setup.lengths == "registers" or len(kit.tools) == 1:
        return _read(kit, truth, until, touched_off=next(iter(kit.tools)) if kit.setup.lengths != "registers" else None)
    # the operator sets the zero anew with every tool: each tool's motions are those of a reading with its own zero
    readings = {station: _read(kit, truth, until, touched_off=station) for station in kit.tools}
    first = next(iter(readings.values()))
    whole = first.interpreted.path
    for station, reading in readings.items():
        whole = _with_rows_of(whole, reading.interpreted.path, station)
    return replace(first, interpreted=replace(first.interpreted, path=whole))


def _read(kit: Kit, truth: Truth, until: tuple[str, int] | None, *, touched_off: int | None) -> Reading:
    programs = {name: kit.folder.sources[name] for name in kit.setup.programs}
    registers = control_registers(kit, truth, touched_off=touched_off)
    return read(programs, profile=profile_of(kit.machine.control), registers=registers, machine=kit.machine,
                tools={station: hung.tool for station, hung in kit.tools.items()}, until=until)  # fmt: skip


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
