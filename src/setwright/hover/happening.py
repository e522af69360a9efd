"""What goes wrong in a world while its programs run: facts, and what class they make together.

A run ends with the first crash; what would come after it is not asked. A crash is any contact with the holding, a rapid into metal,
a holder or the spindle nose in metal. A tool breaks that is fed into metal while it does not turn its way, that rubs with its neck
or shank, that is fed down where its centre does not cut, that goes deeper than its flutes, or that is given several times the
metal it gets in a good setup. Only what the same setup does not do without the slip counts as broken.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.profile import Assembly
from setwright.hover.course import Course
from setwright.prove.case import BLANK, Contact
from setwright.prove.depths import deep_holes
from setwright.prove.plunges import plunges
from setwright.removal.cut import Cut

__all__ = ["OVERLOAD", "Break", "Load", "breaks_by_contact", "breaks_in", "is_crash", "loads_of", "overloads"]

OVERLOAD: Final = 3.0
"""A tool breaks when it is given this many times the metal per minute that it ever gets in a good setup, over a depth of more than
half its diameter; the shop's judgement: half as much again it bears, and three times is beyond any reserve of feed and force."""


@dataclass(frozen=True, slots=True)
class Break:
    """A tool that does not outlast a motion: row of the path, station, and why in words."""

    row: int
    station: int
    why: str


@dataclass(frozen=True, slots=True)
class Load:
    """Metal that feed motions take: row int64 (n,), station int64 (n,), mm³/min float64 (n,), axial depth mm float64 (n,)."""

    row: NDArray[np.int64]
    station: NDArray[np.int64]
    rate: NDArray[np.float64]
    axial: NDArray[np.float64]

    def most(self) -> dict[int, float]:
        """The greatest rate of each station, mm³/min."""
        return {int(station): float(self.rate[self.station == station].max()) for station in np.unique(self.station)}


def is_crash(contact: Contact) -> bool:
    """Whether a contact stops everything: the holding met, a rapid into metal, holder or nose in metal."""
    return contact.body != BLANK or contact.rapid or contact.part in ("holder", "spindle nose")


def breaks_by_contact(contacts: Iterable[Contact], course: Course) -> Iterator[Break]:
    """Tools that break because of what they touch in metal though they are no crash."""
    for contact in contacts:
        if not is_crash(contact):
            station = course.station(contact.row)
            if contact.part == "cutter":
                yield Break(contact.row, station, f"T{station} is fed into metal without turning its way")
            else:
                said = f"T{station} rubs {course.length(contact.depth_mm)} deep in metal with its {contact.part}"
                yield Break(contact.row, station, said)


def breaks_in(done: Cut, cutting: Moves, core: NDArray[np.bool_], course: Course, tools: Mapping[int, Assembly]) -> Iterator[Break]:
    """Tools fed down where they do not cut, and deeper than their flutes. `done`: the cut of `cutting`, cores included."""
    for plunge in plunges(done, cutting, core):
        station = course.station(plunge.row)
        yield Break(plunge.row, station, f"T{station} is fed {course.length(plunge.depth_mm)} down where its centre does not cut")
    for hole in deep_holes(done, cutting, course.order, tools):
        station = course.station(hole.row)
        yield Break(hole.row, station, f"T{station} goes {course.length(hole.depth_mm)} deep with flutes of "
                    f"{course.length(hole.flutes_mm)}")


def loads_of(done: Cut, cutting: Moves, course: Course) -> Load:
    """The metal each feed row takes per minute at its feed; rows that take none, or do not move, are left out."""
    path = course.path
    rows = np.unique(cutting.ident)
    at = np.searchsorted(rows, cutting.ident)
    removed = np.bincount(at, done.by_bundle.mean(axis=0), rows.size)
    axial = np.zeros(rows.size)
    np.maximum.at(axial, at, done.axial)
    length = _lengths(course, rows)
    feed = path.feed[rows]
    taking = (removed > 0.0) & (length > SAME_PLACE_MM) & (path.kind[rows] != MoveKind.RAPID)
    station = np.array([state.tool for state in path.states])[path.state[rows]]
    rate = np.divide(removed * feed, length, out=np.zeros(rows.size), where=taking)
    return Load(rows[taking].astype(np.int64), station[taking].astype(np.int64), rate[taking], axial[taking])


def _lengths(course: Course, rows: NDArray[np.int32]) -> NDArray[np.float64]:
    """Lengths of path rows, mm; arcs and helices along their own course."""
    path = course.path
    way = path.end[rows] - path.start[rows]
    length = np.linalg.norm(way, axis=1)
    arcs = np.flatnonzero(path.arc[rows] >= 0)
    arc = path.arc[rows[arcs]]
    radial = path.start[rows[arcs]] - path.arc_centre[arc]
    along = path.arc_axis[arc].astype(np.int64)
    radial[np.arange(arcs.size), along] = 0.0
    climb = way[arcs, along]
    length[arcs] = np.hypot(np.linalg.norm(radial, axis=1) * path.arc_sweep[arc], climb)
    return np.asarray(length)


def overloads(load: Load, most: Mapping[int, float], radii: Mapping[int, float]) -> Iterator[Break]:
    """The first row of each tool that is overloaded against `most`, its greatest rate in a good setup."""
    for station in np.unique(load.station).tolist():
        usual = most.get(station, 0.0)
        mine = (load.station == station) & (load.axial > radii.get(station, np.inf)) & (load.rate > OVERLOAD * usual)
        if usual > 0.0 and mine.any():
            first = int(np.argmax(mine))
            times = float(load.rate[first]) / usual
            yield Break(int(load.row[first]), station, f"T{station} is given {times:.1f} times the metal it ever gets")
