"""Other readings of the same text: what a control that settles a doubt differently would do, and where it first moves otherwise."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from setwright.base.span import Span
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.base.units import format_length
from setwright.program.interpret import Interpreted
from setwright.program.path import MoveKind, Path
from setwright.program.profile import Profile, behaviours

__all__ = ["Ambiguity", "Difference", "OtherReading", "choices", "first_difference", "other_readings"]

_NO_MOTION = ("refuse", "none", "unknown")
"""Values of behaviours by which nothing moves differently: a control that refuses a block does no harm with it."""


@dataclass(frozen=True, slots=True)
class Ambiguity:
    """A behaviour that is not known although its readings move the tool differently; `taken` is the one used."""

    behaviour: str
    readings: tuple[str, ...]
    taken: str
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Difference:
    """The first motion that differs: its place, and what each reading does there, in words with line and coordinates."""

    file: str
    line: int
    taken: str
    other: str


@dataclass(frozen=True, slots=True)
class OtherReading:
    """The text with one behaviour read as `reading`, not as `taken`; `difference` is None where that moves nothing otherwise."""

    behaviour: str
    reading: str
    taken: str
    difference: Difference | None


def choices(name: str) -> tuple[str, ...]:
    """The readings of a behaviour that move something; empty for one whose readings are no list of words."""
    allowed = next((b.allowed for b in behaviours() if b.name == name), ())
    if isinstance(allowed, type):
        return ()
    return tuple(value for value in allowed if isinstance(value, str) and value not in _NO_MOTION)


def other_readings(doubts: Iterable[Ambiguity], *, profile: Profile, taken: Interpreted,
                   read: Callable[[Profile], Interpreted], inch: bool = False) -> tuple[OtherReading, ...]:  # fmt: skip
    """Every doubt's other readings, one behaviour changed at a time. `read` interprets the same text with another profile; `inch`:
    whether motions are told in inches."""
    found = []
    for doubt in doubts:
        for reading in (value for value in choices(doubt.behaviour) if value in doubt.readings):
            if reading == getattr(profile, doubt.behaviour):
                continue
            changed: Any = {doubt.behaviour: reading}
            other = read(replace(profile, **changed))
            found.append(OtherReading(doubt.behaviour, reading, doubt.taken, first_difference(taken, other, inch=inch)))
    return tuple(found)


def first_difference(one: Interpreted, two: Interpreted, *, inch: bool = False) -> Difference | None:
    """The first motion in which two interpretations of one text differ (by more than round-off); None where there is none. `inch`:
    whether it is told in inches.

    Motions are the same if kind, ends in the work and in the machine, arc, and registers in force are. An interpretation that
    stopped is compared as far as it went: a control that stops there moves nothing.
    """
    a, b = one.path, two.path
    common = min(len(a), len(b))
    unlike = np.flatnonzero(_unlike(a, b, common))
    if unlike.size:
        row = int(unlike[0])
    elif len(a) != len(b) and (one if len(a) < len(b) else two).end != "stopped":
        row = common
    else:
        return None
    longer, at = (a, row) if row < len(a) else (b, row)
    first, second = (_words(*both, row, inch=inch) for both in ((a, b), (b, a)))
    return Difference(longer.files[int(longer.file[at])], int(longer.line[at]), first, second)


def _unlike(a: Path, b: Path, count: int) -> NDArray[np.bool_]:
    found: NDArray[np.bool_] = a.kind[:count] != b.kind[:count]
    for name in ("start", "end"):
        found |= (np.abs(getattr(a, name)[:count] - getattr(b, name)[:count]) > COORDINATE_ROUND_OFF_MM).any(axis=1)
    found |= (np.abs(_shifts(a)[:count] - _shifts(b)[:count]) > COORDINATE_ROUND_OFF_MM).any(axis=1)
    found |= (_registers(a)[:count] != _registers(b)[:count]).any(axis=1)
    arcs = np.flatnonzero((a.arc[:count] >= 0) & (b.arc[:count] >= 0))
    one, two = a.arc[arcs], b.arc[arcs]
    bent = np.abs(a.arc_sweep[one] - b.arc_sweep[two]) > COORDINATE_ROUND_OFF_MM
    bent |= (np.abs(a.arc_centre[one] - b.arc_centre[two]) > COORDINATE_ROUND_OFF_MM).any(axis=1)
    found[arcs[bent]] = True
    return found


def _shifts(path: Path) -> NDArray[np.float64]:
    """Shift and turn of every row's frame, float64 (n, 4)."""
    return np.array([(*frame.shift, frame.rotation) for frame in path.frames], np.float64)[path.frame]


def _registers(path: Path) -> NDArray[np.int64]:
    """Tool and registers of every row, int64 (n, 3)."""
    return np.array([(s.tool, s.length_register, s.radius_register) for s in path.states], np.int64)[path.state]


def _words(path: Path, other: Path, row: int, *, inch: bool) -> str:
    """What a path does in a row, with what tells it from the other one."""
    if row >= len(path):
        return "no further move is made"
    if _on_the_way_home(path, row):
        return f"line {int(path.line[row])} first goes at rapid to the reference point"
    how = {MoveKind.RAPID: "goes at rapid", MoveKind.LINE: "feeds", MoveKind.ARC: "feeds in an arc"}[MoveKind(int(path.kind[row]))]
    (x, y, z), unit = path.end[row].tolist(), "in" if inch else "mm"
    to = " ".join(f"{axis}{format_length(value, unit).split()[0]}" for axis, value in zip("XYZ", (x, y, z), strict=True))
    said = f"line {int(path.line[row])} {how} to {to} {unit}"
    if row >= len(other):
        return said
    mine, its = path.states[int(path.state[row])], other.states[int(other.state[row])]
    named = (("T", "tool"), ("H", "length_register"), ("D", "radius_register"))
    unlike = [f"{letter}{getattr(mine, name)}" for letter, name in named if getattr(mine, name) != getattr(its, name)]
    said += f" with {' '.join(unlike)}" if unlike else ""
    height, its_height = path.frames[int(path.frame[row])].shift[2], other.frames[int(other.frame[row])].shift[2]
    at = format_length(z + height, unit).split()[0]
    return said if abs(height - its_height) <= COORDINATE_ROUND_OFF_MM else f"{said} (spindle at machine Z{at})"


def _on_the_way_home(path: Path, row: int) -> bool:
    """Whether the control makes this move by itself on the way to a tool change: where that leads depends on the machine."""
    begin = -1
    for event in path.events:
        if event.kind == "changed at":
            begin = event.before
        elif event.kind == "tool change" and 0 <= begin <= row < event.before:
            return True
        elif event.kind == "tool change":
            begin = -1
    return False
