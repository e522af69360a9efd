"""What the radius registers must hold: the tool's radius, or nothing where the path already runs a radius beside the contour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.geometry.moves import MoveKind
from setwright.program.interpret import Interpreted
from setwright.program.path import Path
from setwright.start.reading import ProgramReading, read_again
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite

__all__ = ["Compensated", "compensated"]

_DOES_NOT_FIT = ("radius too large for an arc", "radius too large for a corner")


@dataclass(frozen=True, slots=True)
class Compensated:
    """The path with cutter compensation worked in. `wear_only`: registers that can only hold wear, with what shows it."""

    path: Path
    wear_only: Mapping[int, Evidence]


def compensated(reading: ProgramReading, tools: Sequence[DraftTool]) -> Compensated:
    """The path at the radii of the tools that use each register; at zero where the full radius cannot be meant."""
    radii: dict[int, float] = {}
    for use in reading.interpreted.tools:
        own = next(tool for tool in tools if tool.station == use.number)
        for register in use.radius_registers:
            radii.setdefault(register, own.radius)
    if not radii:
        return Compensated(reading.path, {})
    full = read_again(reading, radii)
    if not _feeds(full.path):
        return Compensated(reading.path, {})
    wrong = _too_large(full, reading.path)
    if not wrong:
        return Compensated(full.path, {})
    none = read_again(reading, {**radii, **dict.fromkeys(wrong, 0.0)})
    still = _too_large(none, reading.path)
    wear_only = {
        register: cite(f"the tool's radius does not fit in line {line} with D{register}: the path already runs beside the contour, "
                       "so the register holds wear only")
        for register, line in wrong.items() if register not in still
    }  # fmt: skip
    path = read_again(reading, {**radii, **dict.fromkeys(wear_only, 0.0)}).path if still else none.path
    return Compensated(path, wear_only) if _feeds(path) else Compensated(reading.path, {})


def _feeds(path: Path) -> bool:
    return bool((path.kind != MoveKind.RAPID).any())


def _too_large(interpreted: Interpreted, path: Path) -> dict[int, int]:
    """Radius registers whose value does not fit the contour, with the first line where it does not.

    `path`: as programmed, so that the motion that did not fit is in it.
    """
    found: dict[int, int] = {}
    for remark in interpreted.remarks:
        if remark.slug in _DOES_NOT_FIT:
            rows = np.flatnonzero((path.line == remark.span.line) & (path.file == path.files.index(remark.span.file)))
            for register in {path.states[int(i)].radius_register for i in path.state[rows]} - {0}:
                found.setdefault(register, remark.span.line)
    return found
