"""What a touch-off does not know: the part's place, and everything about part, instruments and machine that bends a reading."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from setwright.estimate.distribution import Distribution
from setwright.estimate.least_squares import Array, Prior

__all__ = ["POSE", "Unknown", "Unknowns"]

POSE = ("x", "y", "z", "angle", "tilt about x", "tilt about y")
"""Machine position of the program's zero (mm, Z of the gauge line), and the turns of the part about Z, X and Y (rad)."""


@dataclass(frozen=True, slots=True)
class Unknown:
    """One unknown number: mm, or rad for a turn, or a ratio for a scale.

    `known`: what is known beforehand, None for nothing. `source`: the line of the uncertainty budget its prior belongs to.
    `kit`: where that knowledge comes from, in words ("the vise", "the machine's travel"); `left`: what is left of it once the
    readings say more, None for the same thirty times as wide. `guess`: what to measure instead, where
    it is nobody's measurement ("the blank's size along Y").
    """

    name: str
    start: float
    known: Distribution | None
    source: str
    kit: str = ""
    guess: str = ""
    left: Distribution | None = None


@dataclass(slots=True)
class Unknowns:
    """An ordered table of unknowns; the row of a name is its place in the vector x."""

    rows: list[Unknown] = field(default_factory=list)
    _place: dict[str, int] = field(default_factory=dict)

    def add(self, unknown: Unknown) -> int:
        """Enter it unless its name is already there; its row."""
        if unknown.name not in self._place:
            self._place[unknown.name] = len(self.rows)
            self.rows.append(unknown)
        return self._place[unknown.name]

    def row(self, name: str) -> int | None:
        """Row of a name; None for an unknown that is held at zero."""
        return self._place.get(name)

    def with_rows(self, rows: list[Unknown]) -> Unknowns:
        """A table of the same names in the same order; also a copy that can be added to."""
        return Unknowns(list(rows), dict(self._place))

    def __len__(self) -> int:
        return len(self.rows)

    def __iter__(self) -> Iterator[Unknown]:
        return iter(self.rows)

    @property
    def start(self) -> Array:
        """Starting values, (n,)."""
        return np.array([u.start for u in self.rows], dtype=np.float64)

    @property
    def prior(self) -> Prior:
        """Priors of all rows, (n,) each."""
        return Prior(
            np.array([u.known.mean if u.known else 0.0 for u in self.rows], dtype=np.float64),
            np.array([u.known.standard if u.known else np.inf for u in self.rows], dtype=np.float64),
        )
