"""The setup as it should be, worked out once: the metal after every tool, the finished part, its sizes.

The worlds of slips are compared with it, and whatever is the same in them is taken over from it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.clearance import Bodies
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Piece, PieceTable, Role
from setwright.hover.course import Course, Stretch, course_of
from setwright.hover.eroded import eroded
from setwright.hover.happening import Break, breaks_in, is_crash, loads_of
from setwright.hover.holding import first_holding_contact
from setwright.model.job import Setup
from setwright.prove.case import Contact, Feature
from setwright.prove.compute import blank_contacts, packed_bodies
from setwright.prove.features import measure_requirements
from setwright.prove.plunges import with_cores
from setwright.prove.rates import Rates
from setwright.prove.stage import blank_field, default_pitch
from setwright.removal.contact import first_touch, first_touch_along, passages_in_turn
from setwright.removal.cut import Cut, cut, cut_along
from setwright.removal.field import Field
from setwright.removal.passage import Passage
from setwright.removal.ready import Ready
from setwright.slips.world import World

__all__ = ["GENERAL_MM", "REMEMBERED", "After", "Portion", "Reference", "cut_stretch", "cut_up", "first_into", "reference_of"]


GENERAL_MM: Final = 0.3
"""Where the drawing says nothing, metal cut this deep into the finished part spoils it, and metal left this high must come off: the
middle class of general tolerances for sizes up to 120 mm (ISO 2768-1, m)."""

REMEMBERED: Final = 20_000
"""Motions of a program up to which what they do to each tile is remembered: some kB for each of them."""

_PORTION: Final = 4096


@dataclass(frozen=True, slots=True)
class After:
    """The metal after a stretch, and what went wrong in it; `load`: what its feed motions take."""

    metal: Field
    contacts: tuple[Contact, ...]
    breaks: tuple[Break, ...]
    load: Rates


@dataclass(frozen=True, slots=True)
class Portion:
    """Motions of a stretch that are cut at once, cores included; which rows are a core's; the passage of the good setup."""

    cutting: Moves
    core: NDArray[np.bool_]
    passage: Passage | None = None

    def cut(self, metal: Field, pieces: PieceTable) -> Cut:
        """Through metal as it stands."""
        return cut(metal, self.cutting, pieces) if self.passage is None else cut_along(self.passage, metal)


@dataclass(frozen=True, slots=True)
class _Again:
    """The whole program once more on a finished part: cutting, and with cutters smaller by what must come off, touching; None for a
    program too long to be remembered."""

    cutting: Passage
    touching: tuple[Passage, ...]


@dataclass(frozen=True, slots=True)
class Reference:
    """The setup as it should be. `steps`: by stretch, what was there after it; `portions`: by stretch, how it was cut; `clear`:
    whether it meets nothing of the holding; `finished`: the part as it should come out, made ready to be measured; `harmless`:
    stretches that do not go into it; `most`: the greatest removal of each tool, mm³/min; `pitch_mm`: of the rays; `tight_mm`: half
    of the tightest requirement's half-width, as deep as metal may be cut unnoticed; `general_mm`: what spoils it where the drawing
    says nothing."""

    course: Course = field(repr=False)
    before: Field = field(repr=False)
    steps: tuple[After, ...] = field(repr=False)
    portions: tuple[tuple[Portion, ...], ...] = field(repr=False)
    finished: Ready = field(repr=False)
    harmless: frozenset[str] = field(repr=False)
    bodies: Bodies = field(repr=False)
    clear: bool
    features: tuple[Feature, ...]
    most: dict[int, float]
    pitch_mm: float
    tight_mm: float
    general_mm: float
    _again: _Again | None = field(repr=False)

    @property
    def part(self) -> Field:
        """The part as it should come out."""
        return self.steps[-1].metal if self.steps else self.before

    @property
    def usual_breaks(self) -> frozenset[tuple[int, int]]:
        """Rows and stations at which the good setup itself would count as a break."""
        return frozenset((found.row, found.station) for step in self.steps for found in step.breaks)

    def has(self, number: int, stretch: Stretch) -> bool:
        """Whether the stretch of this number is the same here."""
        stretches = self.course.stretches
        return number < len(stretches) and stretches[number].key == stretch.key

    def run_again(self, part: Field) -> Field:
        """A part after the good program has been run again on it."""
        return cut_along(self._again.cutting, part).field if self._again else cut(part, *_only_cutting(self.course)).field

    def first_left(self, part: Field) -> int | None:
        """The first motion of the good program that would still find metal as deep as must come off."""
        if self._again is None:
            return first_into(part, self.course, self.course.moves, self.general_mm)
        found = first_touch_along(self._again.touching, part)
        return found if found >= 0 else None


def reference_of(world: World, *, pitch_mm: float | None = None) -> Reference:
    """Work out a world without a slip. Raises InputRefused where its program cannot be read or its blank is not there."""
    course = course_of(world)
    pitch = pitch_mm or default_pitch(world.kit)
    before = world.metal if world.metal is not None else blank_field(world.kit, pitch)
    steps: list[After] = []
    cuts: list[tuple[Portion, ...]] = []
    metal = before
    for stretch in course.stretches:
        step, portions = _first_cut(course, stretch, metal)
        steps.append(step)
        cuts.append(portions)
        metal = step.metal
    most: dict[int, float] = {}
    for step in steps:
        for station, rate in step.load.most().items():
            most[station] = max(rate, most.get(station, 0.0))
    tight, general = _tightest(world.kit.setup)
    finished = Ready(metal)
    features = measure_requirements(world.kit, finished)
    packed = packed_bodies(world.kit.placement.bodies)
    clean = first_into(metal, course, course.moves, tight) is None
    harmless = frozenset(stretch.key for stretch in course.stretches) if clean else frozenset[str]()
    again = _run_again(course, metal, general) if len(course.moves) <= REMEMBERED else None
    clear = _is_clear(course, packed)
    return Reference(course, before, tuple(steps), tuple(cuts), finished, harmless, packed, clear, features, most, pitch, tight,
                     general, again)  # fmt: skip


def _first_cut(course: Course, stretch: Stretch, metal: Field) -> tuple[After, tuple[Portion, ...]]:
    """A stretch of the good setup, cut, and how."""
    parts = cut_up(course, stretch)
    if len(course.moves) <= REMEMBERED:
        parts = [Portion(part.cutting, part.core, Passage(metal, part.cutting, course.pieces)) for part in parts]
    done = cut_stretch(course, parts, metal)
    for part in parts:
        if part.passage is not None:
            part.passage.close()
    return done, tuple(parts)


def _run_again(course: Course, part: Field, depth: float) -> _Again:
    cutting = Passage(part, *_only_cutting(course))
    cut_along(cutting, part)
    cutting.close()
    moves = course.moves[course.moves.cuts]
    return _Again(cutting, passages_in_turn(part, moves, _smaller(course, depth)))


def _only_cutting(course: Course) -> tuple[Moves, PieceTable]:
    """The motions that may remove metal, and of the tools what can: enough where only the metal left is asked for."""
    cutters: list[list[Piece]] = [[] for _ in range(course.pieces.first.size - 1)]
    for station, assembly in course.world.kit.tools.items():
        cutters[course.order[station]] = [piece for piece in assembly.pieces if piece.role is Role.CUTTING]
    return course.moves[course.moves.cuts & (course.moves.kind != MoveKind.RAPID)], PieceTable.of(cutters)


def _tightest(setup: Setup) -> tuple[float, float]:
    """How deep a cut into the finished part is too deep to be overlooked, and what spoils it where nothing is dimensioned, mm."""
    general = min(setup.wanted.within, GENERAL_MM) if setup.wanted is not None else GENERAL_MM
    widths = [r.position.within for r in setup.requirement if r.position is not None]
    widths += [r.limits.upper - r.limits.lower for r in setup.requirement if r.size is not None]
    half = [width / 2 for width in widths if width > 0.0]
    return min([general, *(width / 2 for width in half)]), general


def _is_clear(course: Course, packed: Bodies) -> bool:
    """Whether nothing of the holding is met."""
    hits = (first_holding_contact(course.moves[s.rows], course.pieces, packed) for s in course.stretches)
    return all(hit is None for hit in hits)


def cut_up(course: Course, stretch: Stretch, *, last: int | None = None) -> list[Portion]:
    """A stretch, at most up to row `last`, in portions."""
    moves = course.moves[stretch.rows]
    if last is not None:
        moves = moves[moves.ident <= last]
    return [Portion(*with_cores(part, course.cores)) for part in _portions(moves)]


def cut_stretch(course: Course, portions: Iterable[Portion], metal: Field) -> After:
    """Cut one stretch, in portions so that a crash in metal ends it soon."""
    contacts: list[Contact] = []
    breaks: list[Break] = []
    loads: list[Rates] = []
    for portion in portions:
        done = portion.cut(metal, course.pieces)
        metal = done.field
        contacts += blank_contacts(done, portion.cutting)
        breaks += breaks_in(done, portion.cutting, portion.core, course, course.world.kit.tools)
        loads.append(loads_of(done, portion.cutting, portion.core, course))
        if any(is_crash(contact) for contact in contacts):
            break
    return After(metal, tuple(contacts), tuple(breaks), Rates.joined(loads))


def _portions(moves: Moves) -> Iterable[Moves]:
    """Motions in portions that keep the parts of one row together; one portion, empty, if there are none."""
    begin = 0
    while begin < len(moves) or begin == 0:
        stop = min(begin + _PORTION, len(moves))
        while 0 < stop < len(moves) and moves.ident[stop] == moves.ident[stop - 1]:
            stop += 1
        yield moves[begin:stop]
        begin = max(stop, 1)


def first_into(metal: Field, course: Course, moves: Moves, depth: float) -> int | None:
    """The first feed row whose cutter goes deeper than `depth` into metal that stands still."""
    cutting = moves[moves.cuts]
    found = first_touch(metal, cutting, _smaller(course, depth))
    return found if found >= 0 else None


def _smaller(course: Course, depth: float) -> PieceTable:
    """The cutters of a course eroded by `depth`, in the rows of its piece table (what has no cutter keeps a sliver far up)."""
    world = course.world
    rows: list[list[Piece]] = [[] for _ in range(course.pieces.first.size - 1)]
    for station, assembly in world.kit.tools.items():
        rows[course.order[station]] = eroded(list(assembly.pieces), depth)
    return PieceTable.of(rows)


