"""The consequence of one world, computed from what it changes: contacts first, metal only as far as anything still runs.

The setup as it should be is worked out once (`reference_of`): the metal after every tool, the finished part, its sizes. A slip's
world is then followed stretch by stretch; stretches that are the same as in the good setup, on the same metal, are taken over.

Scrap or rework is decided by putting right what is wrong and running the good program again on the part the slip left, in the
same clamping: if every requirement then comes out within its limits on faces that are whole, it was rework. A requirement whose
face is not even found then is not met. Metal that should stay is lost where the program goes into the finished part deeper than
stated (see eroded).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from setwright.clearance import Bodies
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import Piece, PieceTable
from setwright.hover.course import Course, Stretch, course_of
from setwright.hover.eroded import eroded
from setwright.hover.happening import Break, Load, breaks_by_contact, breaks_in, is_crash, loads_of, overloads
from setwright.hover.holding import first_holding_contact
from setwright.hover.outcome import Consequence, Outcome
from setwright.hover.wording import crash_text, part_of_tool, size_text
from setwright.hover.world import World
from setwright.model.job import Setup
from setwright.prove.case import Contact, Feature
from setwright.prove.compute import blank_contacts, packed_bodies
from setwright.prove.features import face_ends, measure_requirements
from setwright.prove.plunges import with_cores
from setwright.prove.stage import blank_field, default_pitch
from setwright.removal.contact import first_touch
from setwright.removal.cut import cut
from setwright.removal.field import Field
from setwright.removal.ready import Ready

__all__ = ["GENERAL_MM", "WHOLE_SHARE", "Followed", "Reference", "consequence_of", "contact_of", "followed", "judged",
           "reference_of"]  # fmt: skip

GENERAL_MM: Final = 0.3
"""Where the drawing says nothing, metal cut this deep into the finished part spoils it, and metal left this high must come off: the
middle class of general tolerances for sizes up to 120 mm (ISO 2768-1, m)."""

WHOLE_SHARE: Final = 0.95
"""A face is whole while this share of its rays still ends on it; the rest is what an edge may lose to a wall moved by a pitch."""

_PORTION: Final = 4096


@dataclass(frozen=True, slots=True)
class _After:
    """The metal after a stretch, and what went wrong in it; `load`: what its feed motions take."""

    metal: Field
    contacts: tuple[Contact, ...]
    breaks: tuple[Break, ...]
    load: Load


@dataclass(frozen=True, slots=True)
class Followed:
    """How far a world was followed. `contacts`, `breaks`: what went wrong, up to the first crash, in the order of the rows;
    `after`: the metal at the end, None if there was a crash before."""

    course: Course = field(repr=False)
    contacts: tuple[Contact, ...]
    breaks: tuple[Break, ...]
    after: Field | None = field(repr=False)

    @property
    def crash(self) -> Contact | None:
        """The first crash; of several in one row, holding before metal."""
        crashes = [contact for contact in self.contacts if is_crash(contact)]
        return min(crashes, key=lambda contact: (contact.row, contact.body == "blank", contact.body, contact.part), default=None)


@dataclass(frozen=True, slots=True)
class Reference:
    """The setup as it should be. `steps`: by stretch, what was there after it; `clear`: whether it meets nothing of the
    holding; `finished`: the part as it should come out, made ready to be measured; `harmless`: stretches that do not go into it;
    `most`: the greatest removal of each tool, mm³/min; `pitch_mm`: of the rays; `tight_mm`: half of the tightest requirement's
    half-width, as deep as metal may be cut unnoticed; `general_mm`: what spoils it where the drawing says nothing."""

    course: Course = field(repr=False)
    before: Field = field(repr=False)
    steps: tuple[_After, ...] = field(repr=False)
    finished: Ready = field(repr=False)
    harmless: frozenset[str] = field(repr=False)
    bodies: Bodies = field(repr=False)
    clear: bool
    features: tuple[Feature, ...]
    most: dict[int, float]
    pitch_mm: float
    tight_mm: float
    general_mm: float

    @property
    def part(self) -> Field:
        """The part as it should come out."""
        return self.steps[-1].metal if self.steps else self.before

    @property
    def usual_breaks(self) -> frozenset[tuple[int, int]]:
        """Rows and stations at which the good setup itself would count as a break."""
        return frozenset((found.row, found.station) for step in self.steps for found in step.breaks)


def reference_of(world: World, *, pitch_mm: float | None = None) -> Reference:
    """Work out a world without a slip. Raises InputRefused where its program cannot be read or its blank is not there."""
    course = course_of(world)
    pitch = pitch_mm or default_pitch(world.kit)
    before = world.metal if world.metal is not None else blank_field(world.kit, pitch)
    steps: list[_After] = []
    metal = before
    for stretch in course.stretches:
        step = _cut_stretch(course, stretch, metal)
        steps.append(step)
        metal = step.metal
    most: dict[int, float] = {}
    for step in steps:
        for station, rate in step.load.most().items():
            most[station] = max(rate, most.get(station, 0.0))
    tight, general = _tightest(world.kit.setup)
    finished = Ready(metal)
    features = measure_requirements(world.kit, finished)
    packed = packed_bodies(world.kit.placement.bodies)
    clean = _first_into(metal, course, course.moves, tight) is None
    harmless = frozenset(stretch.key for stretch in course.stretches) if clean else frozenset[str]()
    return Reference(course, before, tuple(steps), finished, harmless, packed, _is_clear(course, packed), features, most, pitch,
                     tight, general)  # fmt: skip


def _tightest(setup: Setup) -> tuple[float, float]:
    """How deep a cut into the finished part is too deep to be overlooked, and what spoils it where nothing is dimensioned, mm."""
    general = min(setup.wanted.within, GENERAL_MM) if setup.wanted is not None else GENERAL_MM
    widths = [r.position.within for r in setup.requirement if r.position is not None]
    widths += [r.size.upper - r.size.lower for r in setup.requirement if r.size is not None]
    half = [width / 2 for width in widths if width > 0.0]
    return min([general, *(width / 2 for width in half)]), general


def consequence_of(world: World, reference: Reference, *, course: Course | None = None) -> Consequence:
    """What happens in a world; `reference`: the same setup without the slip; `course`: what its programs do, if already known."""
    return judged(followed(world, reference, course=course), reference)


def contact_of(world: World) -> Consequence:
    """The first stage by itself, in a fraction of the time: where the control stops, and what of the holding or table is hit. If it
    is neither, the consequence is undecided: what happens to the metal has not been looked at."""
    course = course_of(world)
    bodies = world.kit.placement.bodies
    packed = packed_bodies(bodies)
    for stretch in course.stretches:
        hit = first_holding_contact(course.moves[stretch.rows], course.pieces, bodies, packed)
        if hit is not None:
            speed = course.speed(hit.row)
            return _told(course, Outcome.CRASH, crash_text(course, hit, speed), hit.row, hit.row, tool=course.station(hit.row),
                         part=hit.part, body=hit.body, value=hit.depth_mm, speed=speed)  # fmt: skip
    if course.stopped:
        row = min(course.stop_row, len(course.path) - 1)
        return _told(course, Outcome.UNDECIDED, f"nothing of the holding is hit; the control stops: {course.stopped}", row, -1)
    return _told(course, Outcome.UNDECIDED, "nothing of the holding is hit; the metal has not been looked at", -1, -1)


def followed(world: World, reference: Reference, *, course: Course | None = None) -> Followed:
    """Run a world as far as it goes."""
    course = course or course_of(world, like=reference.course)
    bodies = world.kit.placement.bodies
    same_bodies = bodies is reference.course.world.kit.placement.bodies
    packed = reference.bodies if same_bodies else packed_bodies(bodies)
    hit = _first_hit(course, reference, packed, same_bodies=same_bodies)
    last = hit.row if hit is not None else course.stop_row
    metal = _metal_of(world, reference)
    shared = metal is reference.before
    contacts: list[Contact] = [] if hit is None else [hit]
    breaks: list[Break] = []
    for number, stretch in enumerate(course.stretches):
        shared = shared and _same(reference, number, stretch)
        whole = int(course.moves.ident[stretch.rows.stop - 1]) <= last
        if shared and whole:
            step = reference.steps[number]
        else:
            step = _cut_stretch(course, stretch, metal, last=last)
        metal = step.metal
        contacts += step.contacts
        breaks += step.breaks
        breaks += overloads(step.load, reference.most, world.truth.radii)
        if any(is_crash(contact) for contact in step.contacts) or not whole:
            break
    crashes = [contact.row for contact in contacts if is_crash(contact)]
    until = min(crashes, default=len(course.path))
    breaks += breaks_by_contact([contact for contact in contacts if contact.row <= until], course)
    kept = [found for found in breaks if found.row <= until and (found.row, found.station) not in reference.usual_breaks]
    return Followed(course, tuple(sorted(contacts, key=lambda c: c.row)), tuple(sorted(kept, key=lambda b: (b.row, b.station))),
                    None if crashes else metal)  # fmt: skip


def _metal_of(world: World, reference: Reference) -> Field:
    good = reference.course.world
    if world.metal is not None:
        return reference.before if world.metal is good.metal else world.metal
    return reference.before if world.kit.blank is good.kit.blank else blank_field(world.kit, reference.pitch_mm)


def _same(reference: Reference, number: int, stretch: Stretch) -> bool:
    stretches = reference.course.stretches
    return number < len(stretches) and stretches[number].key == stretch.key


def _first_hit(course: Course, reference: Reference, packed: Bodies, *, same_bodies: bool) -> Contact | None:
    """The first contact with the holding; stretches of the good setup against the same bodies are known to have none before."""
    clear = {stretch.key for stretch in reference.course.stretches} if same_bodies and reference.clear else set()
    for stretch in course.stretches:
        if stretch.key not in clear:
            hit = first_holding_contact(course.moves[stretch.rows], course.pieces, course.world.kit.placement.bodies, packed)
            if hit is not None:
                return hit
    return None


def _is_clear(course: Course, packed: Bodies) -> bool:
    """Whether nothing of the holding is met."""
    bodies = course.world.kit.placement.bodies
    hits = (first_holding_contact(course.moves[s.rows], course.pieces, bodies, packed) for s in course.stretches)
    return all(hit is None for hit in hits)


def _cut_stretch(course: Course, stretch: Stretch, metal: Field, *, last: int | None = None) -> _After:
    """Cut one stretch, at most up to row `last`, in portions so that a crash in metal ends it soon."""
    moves = course.moves[stretch.rows]
    if last is not None:
        moves = moves[moves.ident <= last]
    contacts: list[Contact] = []
    breaks: list[Break] = []
    loads: list[Load] = []
    for part in _portions(moves):
        cutting, core = with_cores(part, course.cores)
        done = cut(metal, cutting, course.pieces)
        metal = done.field
        contacts += blank_contacts(done, cutting)
        breaks += breaks_in(done, cutting, core, course, course.world.kit.tools)
        loads.append(loads_of(done, cutting, course))
        if any(is_crash(contact) for contact in contacts):
            break
    load = Load(*(np.concatenate([getattr(one, name) for one in loads]) for name in ("row", "station", "rate", "axial")))
    return _After(metal, tuple(contacts), tuple(breaks), load)


def _portions(moves: Moves) -> Iterable[Moves]:
    """Motions in portions that keep the parts of one row together; one portion, empty, if there are none."""
    begin = 0
    while begin < len(moves) or begin == 0:
        stop = min(begin + _PORTION, len(moves))
        while 0 < stop < len(moves) and moves.ident[stop] == moves.ident[stop - 1]:
            stop += 1
        yield moves[begin:stop]
        begin = max(stop, 1)


def judged(run: Followed, reference: Reference) -> Consequence:
    """The class of what happened."""
    course, crash = run.course, run.crash
    lost = _lost_row(run, reference)
    if crash is not None:
        at = min(row for row in (crash.row, *(b.row for b in run.breaks), *lost))
        speed = course.speed(crash.row)
        return _told(course, Outcome.CRASH, crash_text(course, crash, speed), crash.row, at, tool=course.station(crash.row),
                     part=crash.part, body=crash.body, value=crash.depth_mm, speed=speed)  # fmt: skip
    if run.breaks:
        first = run.breaks[0]
        at = min(first.row, *lost, first.row)
        return _told(course, Outcome.BROKEN, first.why, first.row, at, tool=first.station)
    if run.after is None:
        raise AssertionError("without a crash the metal is known")
    return _part_judged(run, run.after, reference, lost)


def _told(
    course: Course, outcome: Outcome, text: str, row: int, lost: int, *, tool: int | None = None, part: str = "", body: str = "",
    value: float | None = None, requirement: str = "", speed: float | None = None,
) -> Consequence:  # fmt: skip
    file, line = course.place(row)
    return Consequence(outcome, text, row, file, line, lost, course.place(lost)[1], tool, part, body, value, requirement, speed,
                       course.stopped)  # fmt: skip


def _lost_row(run: Followed, reference: Reference) -> tuple[int, ...]:
    """The first row that goes into the finished part deeper than may go unnoticed: one row, or none."""
    crash = run.crash
    row = _first_lost(run.course, reference, reference.tight_mm, until=len(run.course.path) if crash is None else crash.row)
    return () if row is None else (row,)


def _first_lost(course: Course, reference: Reference, depth: float, *, until: int) -> int | None:
    """The first row before `until` that goes deeper than `depth` into the finished part."""
    for stretch in course.stretches:
        if stretch.key not in reference.harmless:
            moves = course.moves[stretch.rows]
            row = _first_into(reference.part, course, moves[moves.ident < until], depth)
            if row is not None:
                return row
    return None


def _first_into(metal: Field, course: Course, moves: Moves, depth: float) -> int | None:
    """The first feed row whose cutter goes deeper than `depth` into metal that stands still."""
    cutting = moves[moves.cuts]
    found = first_touch(metal, cutting, _small(course, depth))
    return found if found >= 0 else None


def _small(course: Course, depth: float) -> PieceTable:
    """The cutters of a course eroded by `depth`, in the rows of its piece table (what has no cutter keeps a sliver far up)."""
    world = course.world
    rows: list[list[Piece]] = [[] for _ in range(course.pieces.first.size - 1)]
    for station, assembly in world.kit.tools.items():
        rows[course.order[station]] = eroded(list(assembly.pieces), depth)
    return PieceTable.of(rows)


def _part_judged(run: Followed, after: Field, reference: Reference, lost: Sequence[int]) -> Consequence:
    """Scrap, rework or harmless, from the part as it came out."""
    course = run.course
    if course.stopped and not lost:
        text = f"the control stops: {course.stopped}; nothing is spoiled until then"
        return _told(course, Outcome.HARMLESS, text, min(course.stop_row, len(course.path) - 1), -1)
    spoiled = _first_lost(course, reference, reference.general_mm, until=len(course.path)) if lost else None
    features = measure_requirements(reference.course.world.kit, Ready(after, before=reference.finished))
    out = _worse(features, reference.features, ("out",))
    wrong = [*out, *_worse(features, reference.features, ("undecided",))]
    first = lost[0] if lost else _first_of(course)
    if spoiled is not None:
        return _spoiled(course, out, spoiled, first, reference)
    if not wrong:
        return _leftover(run, after, reference)
    again = _put_right(after, reference)
    unmended = _unmended(again, wrong, reference)
    gone = [feature for feature in wrong if feature.name in unmended and (feature.state == "out" or feature.simulated is None)]
    if gone and (lost or after.grid is not reference.before.grid):
        worst = max(gone, key=lambda feature: feature.beyond_mm or 0.0)
        return _told(course, Outcome.SCRAP, size_text(course, worst), first, first, tool=course.station(first),
                     value=worst.beyond_mm, requirement=worst.name)  # fmt: skip
    if unmended:
        open_ = next(feature for feature in wrong if feature.name in unmended)
        text = f"whether “{open_.name}” comes out cannot be told: {open_.why or 'its error bound reaches over a limit'}"
        return _told(course, Outcome.UNDECIDED, text, first, first, requirement=open_.name)
    left = _first_left(after, reference)
    what = max(out, key=lambda feature: feature.beyond_mm or 0.0) if out else wrong[0]
    text = (size_text(course, what) if out else f"“{what.name}” is not finished") + "; it comes right when the program is run again"
    row = min(left if left is not None else _first_of(reference.course), len(course.path) - 1)
    return _told(course, Outcome.REWORK, text, row, -1, requirement=what.name, value=what.beyond_mm)


def _spoiled(course: Course, out: Sequence[Feature], row: int, first: int, reference: Reference) -> Consequence:
    """Metal is gone so deep that it spoils the part wherever it is; the worst requirement is named if one is out."""
    text = f"{part_of_tool(course, row)} cuts more than {course.size(reference.general_mm)} into the finished part"
    worst = max(out, key=lambda feature: feature.beyond_mm or 0.0, default=None)
    if worst is not None:
        text += f"; {size_text(course, worst)}"
    name, value = ("", reference.general_mm) if worst is None else (worst.name, worst.beyond_mm)
    return _told(course, Outcome.SCRAP, text, row, min(first, row), tool=course.station(row), requirement=name, value=value)


def _unmended(again: Field, wrong: Sequence[Feature], reference: Reference) -> set[str]:
    """Requirements that do not come right on the part put right: not in their limits, or on faces that are no longer whole."""
    kit = reference.course.world.kit
    good = {feature.name: feature.state for feature in reference.features}
    mended, finished = Ready(again, before=reference.finished), reference.finished
    states = {feature.name: feature.state for feature in measure_requirements(kit, mended)}
    unmended = {feature.name for feature in wrong if states[feature.name] not in ("in", good[feature.name])}
    for requirement in kit.setup.requirement:
        if any(feature.name == requirement.name for feature in wrong):
            had, has = face_ends(requirement, kit, finished), face_ends(requirement, kit, mended)
            if has < WHOLE_SHARE * had:
                unmended.add(requirement.name)
    return unmended


def _worse(now: Sequence[Feature], good: Sequence[Feature], states: tuple[str, ...]) -> list[Feature]:
    """Requirements that come out in one of these states and did not without the slip."""
    usual = {feature.name: feature.state for feature in good}
    return [feature for feature in now if feature.state in states and usual[feature.name] not in states]


def _put_right(after: Field, reference: Reference) -> Field:
    """The part after the good program has been run again on it."""
    course = reference.course
    return cut(after, course.moves, course.pieces).field


def _leftover(run: Followed, after: Field, reference: Reference) -> Consequence:
    """Nothing out of limits and nothing spoiled: metal left where there should be none, or nothing at all."""
    left = _first_left(after, reference)
    if left is not None:
        text = f"more than {run.course.size(reference.general_mm)} of metal is left where the good program cuts; run it again"
        return _told(run.course, Outcome.REWORK, text, min(left, len(run.course.path) - 1), -1)
    return Consequence(Outcome.HARMLESS, "every requirement comes out within its limits", stopped=run.course.stopped)


def _first_left(after: Field, reference: Reference) -> int | None:
    """The first motion of the good program that would still find metal as deep as must come off."""
    course = reference.course
    return _first_into(after, course, course.moves, reference.general_mm)


def _first_of(course: Course) -> int:
    """The first row that may cut; -1 if none does."""
    rows = np.flatnonzero(course.moves.cuts)
    return int(course.moves.ident[rows[0]]) if rows.size else -1
