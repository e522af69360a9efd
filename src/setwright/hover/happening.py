"""What goes wrong in a world while its programs run: facts, and what class they make together.

A run ends with the first crash; what would come after it is not asked. A crash is any contact with the holding, a rapid into metal,
a holder or the spindle nose in metal. A tool breaks that is fed into metal while it does not turn its way, that rubs with its neck
or shank, that is fed down where its centre does not cut, that goes deeper than its flutes, or that is given several times the
metal it gets in a good setup. Only what the same setup does not do without the slip counts as broken.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import Moves
from setwright.geometry.profile import Assembly
from setwright.hover.course import Course
from setwright.prove.case import BLANK, Contact
from setwright.prove.depths import deep_holes
from setwright.prove.plunges import plunges
from setwright.prove.rates import Rates, rates_of, with_twins
from setwright.removal.cut import Cut

__all__ = ["OVERLOAD", "Break", "breaks_by_contact", "breaks_in", "is_crash", "loads_of", "overloads"]

OVERLOAD: Final = 3.0
"""A tool breaks when it is given this many times the metal per minute that it ever gets in a good setup, over a depth of more than
half its diameter; the shop's judgement: half as much again it bears, and three times is beyond any reserve of feed and force."""


@dataclass(frozen=True, slots=True)
class Break:
    """A tool that does not outlast a motion: row of the path, station, and why in words."""

    row: int
    station: int
    why: str


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


def loads_of(done: Cut, cutting: Moves, core: NDArray[np.bool_], course: Course) -> Rates:
    """The metal that feed motions take per minute at their feed, by station; `done`, `cutting`, `core` as in `breaks_in`."""
    path, kit = course.path, course.world.kit
    removed, axial = with_twins(core, done.by_bundle.mean(axis=0)), with_twins(core, done.axial, np.maximum)
    moves, top = cutting[~core], float(kit.extent[1][2]) + max(copy[2] for copy in kit.copies)
    found = rates_of(moves, course.pieces, removed, feed=np.nan_to_num(path.feed[moves.ident]), axial=axial, top_mm=top,
                     pitch_mm=float(done.before.grid.pitch.max()))  # fmt: skip
    station = np.array([state.tool for state in path.states], np.int64)[path.state[found.row]]
    return replace(found, tool=station)


def overloads(load: Rates, most: Mapping[int, float], radii: Mapping[int, float]) -> Iterator[Break]:
    """The first row of each tool that is overloaded against `most`, its greatest rate in a good setup."""
    for station in np.unique(load.tool).tolist():
        usual = most.get(station, 0.0)
        mine = (load.tool == station) & (load.axial > radii.get(station, np.inf)) & (load.rate > OVERLOAD * usual)
        if usual > 0.0 and mine.any():
            first = int(np.argmax(mine))
            times = float(load.rate[first]) / usual
            yield Break(int(load.row[first]), station, f"T{station} is given {times:.1f} times the metal it ever gets")
