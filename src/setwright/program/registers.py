"""What the control holds beside the program: work offsets, tool lengths and radii, reference points."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

__all__ = ["Registers", "WorkOffset"]

Triple = tuple[float, float, float]
_EMPTY: Mapping[str, WorkOffset] = MappingProxyType({})
_NONE: Mapping[int, float] = MappingProxyType({})
_HOME: Mapping[int, Triple] = MappingProxyType({1: (0.0, 0.0, 0.0), 2: (0.0, 0.0, 0.0)})


@dataclass(frozen=True, slots=True)
class WorkOffset:
    """A work offset register: machine coordinates of the work zero (mm), and the turn of the work about Z (rad)."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    rotation: float = 0.0


@dataclass(frozen=True, slots=True)
class Registers:
    """The registers a program may use. Lengths mm, angles rad, machine coordinates of the gauge point.

    `offsets` by name ("G54" to "G59", "G54.1 P3"); `external` shifts every work offset; `lengths` and `radii` by register number,
    wear included (a radius is a radius, whatever the control's screen shows); `references` by number: 1 is where G28 goes, 2 where
    G30 goes, 3 and 4 for G30 P3 and P4. `variables` holds what common variables (#100 and up) contain before the start.
    Whatever is not in here counts as zero, and the result says that it was missing.
    """

    offsets: Mapping[str, WorkOffset] = field(default_factory=lambda: _EMPTY)
    external: Triple = (0.0, 0.0, 0.0)
    lengths: Mapping[int, float] = field(default_factory=lambda: _NONE)
    radii: Mapping[int, float] = field(default_factory=lambda: _NONE)
    references: Mapping[int, Triple] = field(default_factory=lambda: _HOME)
    variables: Mapping[int, float] = field(default_factory=lambda: _NONE)

    @classmethod
    def nominal(cls) -> Registers:
        """Nothing known: every offset and length zero, every radius zero (the path as programmed)."""
        return cls()
