"""What a program leaves undone between tools: Z not brought to a machine position, a cycle not switched off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.program.path import MoveKind, Path

__all__ = ["ROOM_TO_CHANGE_MM", "LeftChange", "changes_left", "drilled_on"]

ROOM_TO_CHANGE_MM: Final = 65.0
"""A taper of size 40 is 65 mm long (ISO 7388-1): with less room under its tip, no tool comes out of the spindle."""


@dataclass(frozen=True, slots=True)
class LeftChange:
    """A tool change for which the program leaves the tool where it is: place, height of the tip above the highest cut (mm)."""

    file: int
    line: int
    above_mm: float

    @property
    def low(self) -> bool:
        """Whether no tool comes out of the spindle there."""
        return self.above_mm < ROOM_TO_CHANGE_MM


def changes_left(path: Path) -> tuple[LeftChange, ...]:
    """Every such change in order; none for a path that does not cut.

    The height is that of the tip before the change over the highest cut of the whole path, work coordinates; approach and retract
    are no cuts, so that of a feed move the lower end counts.
    """
    feeding = path.kind != MoveKind.RAPID
    if not feeding.any():
        return ()
    top = float(np.minimum(path.start[feeding, 2], path.end[feeding, 2]).max())
    return tuple(LeftChange(e.file, e.line, float(e.value) - top) for e in path.events if e.kind == "changed at")


def drilled_on(path: Path) -> Iterator[NDArray[np.intp]]:
    """For every cycle that is still on when the coolant is switched off, the rows that feed down in it behind that, if any."""
    for event in path.events:
        at = event.before
        if event.kind != "coolant" or event.value or not 0 < at < len(path) or not path.states[int(path.state[at - 1])].cycle:
            continue
        before = path.states[int(path.state[at - 1])]
        further = np.arange(at, len(path))
        same = np.array([(state.cycle, state.tool) == (before.cycle, before.tool) for state in path.states])[path.state[further]]
        further = further[: int(np.flatnonzero(~same)[0])] if not same.all() else further
        holes = further[(path.kind[further] != MoveKind.RAPID) & (path.end[further, 2] < path.start[further, 2])]
        if holes.size:
            yield holes
