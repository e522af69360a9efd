"""The consequence of one world, computed from what it changes: contacts first, metal only as far as anything still runs.

The setup as it should be is worked out once (see reference). A slip's world is then followed stretch by stretch; stretches that
are the same as in the good setup, on the same metal, are taken over.

Scrap or rework is decided by putting right what is wrong and running the good program again on the part the slip left, in the
same clamping: if every requirement then comes out within its limits on faces that are whole, it was rework. A requirement whose
face is not even found then is not met. Metal that should stay is lost where the program goes into the finished part deeper than
stated (see eroded).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.clearance import Bodies
from setwright.hover.course import Course, Ends, course_of
from setwright.hover.happening import Break, breaks_by_contact, is_crash, overloads
from setwright.hover.holding import first_holding_contact
from setwright.hover.outcome import Consequence, Outcome
from setwright.hover.reference import Reference, cut_stretch, cut_up, first_into
from setwright.hover.wording import crash_text, part_of_tool, size_text
from setwright.prove.case import Contact, Feature
from setwright.prove.compute import packed_bodies
from setwright.prove.features import face_ends, measure_requirements
from setwright.prove.stage import blank_field, same_blank
from setwright.removal.field import Field
from setwright.removal.ready import Ready
from setwright.slips.world import World

__all__ = ["WHOLE_SHARE", "Followed", "consequence_of", "contact_of", "followed", "judged"]

WHOLE_SHARE: Final = 0.95
"""A face is whole while this share of its rays still ends on it; the rest is what an edge may lose to a wall moved by a pitch."""


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


def consequence_of(world: World, reference: Reference, *, course: Course | None = None) -> Consequence:
    """What happens in a world; `reference`: the same setup without the slip; `course`: what its programs do, if already known.

    Where the control stops at its end of travel, that is followed in every way it can be on this machine, and the worst is told:
    the block refused, run up to the limit, or, where the travel itself is a guess, run through.
    """
    course = course or course_of(world, like=reference.course)
    ways = _ways_to_end(world) if course.beyond else (("refused", ""),)
    found = []
    for ends, unsure in ways:
        way = course if ends == "refused" else course_of(world, like=reference.course, ends=ends)
        end = judged(followed(world, reference, course=way), reference)
        text = f"{end.text}; {unsure.format(course.stopped)}" if unsure and end.outcome is not Outcome.HARMLESS else end.text
        found.append(replace(end, text=text, stopped=course.stopped))
    return min(found, key=lambda end: end.outcome.rank)


def _ways_to_end(world: World) -> tuple[tuple[Ends, str], ...]:
    """What can become of a block that leads beyond the travel, each with what is not sure about it."""
    machine = world.kit.machine
    if _guessed_travel(world):
        return ("refused", ""), ("wider", "the control may stop before ({}), but its travel is a guess")
    if machine.beyond_travel == "block refused":
        return (("refused", ""),)
    to_limit: tuple[Ends, str] = "to the limit", "{}: the block is run up to the limit"
    if machine.beyond_travel == "runs to the limit":
        return (to_limit,)
    unsure = "{}: whether the block is refused or run up to the limit is not stated for this machine"
    return ("refused", ""), ("to the limit", unsure)


def _guessed_travel(world: World) -> bool:
    """Whether a draft assumed the machine's travel."""
    job = world.kit.folder.job
    return any(guess.setup in ("", world.kit.setup.name) and guess.key.endswith(": travel") for guess in job.guess)


def contact_of(world: World) -> Consequence:
    """The first stage by itself, in a fraction of the time: where the control stops, and what of the holding or table is hit. If it
    is neither, the consequence is undecided: what happens to the metal has not been looked at."""
    course = course_of(world)
    packed = packed_bodies(world.kit.placement.bodies)
    for stretch in course.stretches:
        hit = first_holding_contact(course.moves[stretch.rows], course.pieces, packed)
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
    alike = course.order == reference.course.order and course.cores == reference.course.cores
    contacts: list[Contact] = [] if hit is None else [hit]
    breaks: list[Break] = []
    for number, stretch in enumerate(course.stretches):
        shared = shared and reference.has(number, stretch)
        whole = int(course.moves.ident[stretch.rows.stop - 1]) <= last
        if shared and whole:
            step = reference.steps[number]
        else:
            known = whole and alike and reference.has(number, stretch)
            step = cut_stretch(course, reference.portions[number] if known else cut_up(course, stretch, last=last), metal)
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
    return reference.before if same_blank(world.kit, good.kit) else blank_field(world.kit, reference.pitch_mm)


def _first_hit(course: Course, reference: Reference, packed: Bodies, *, same_bodies: bool) -> Contact | None:
    """The first contact with the holding; stretches of the good setup against the same bodies are known to have none before."""
    clear = {stretch.key for stretch in reference.course.stretches} if same_bodies and reference.clear else set()
    for stretch in course.stretches:
        if stretch.key not in clear:
            hit = first_holding_contact(course.moves[stretch.rows], course.pieces, packed)
            if hit is not None:
                return hit
    return None


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


def _first_lost(course: Course, reference: Reference, depth: float, *, since: int = 0, until: int) -> int | None:
    """The first row from `since` on and before `until` that goes deeper than `depth` into the finished part."""
    for stretch in course.stretches:
        if stretch.key not in reference.harmless:
            moves = course.moves[stretch.rows]
            moves = moves[(moves.ident >= since) & (moves.ident < until)]
            row = first_into(reference.part, course, moves, depth)
            if row is not None:
                return row
    return None


def _part_judged(run: Followed, after: Field, reference: Reference, lost: Sequence[int]) -> Consequence:
    """Scrap, rework or harmless, from the part as it came out."""
    course = run.course
    if course.stopped and not lost:
        text = f"the control stops: {course.stopped}; nothing is spoiled until then"
        return _told(course, Outcome.HARMLESS, text, min(course.stop_row, len(course.path) - 1), -1)
    # what goes in so deep goes in less deep as well: not before the first of those
    spoiled = _first_lost(course, reference, reference.general_mm, since=lost[0], until=len(course.path)) if lost else None
    features = measure_requirements(reference.course.world.kit, Ready(after, before=reference.finished))
    out = _worse(features, reference.features, ("out",))
    wrong = [*out, *_worse(features, reference.features, ("undecided",))]
    first = lost[0] if lost else _first_of(course)
    if spoiled is not None:
        return _spoiled(course, out, spoiled, first, reference)
    if not wrong:
        return _leftover(run, after, reference)
    again = reference.run_again(after)
    unmended = _unmended(again, wrong, reference)
    gone = [feature for feature in wrong if feature.name in unmended and (feature.state == "out" or feature.simulated is None)]
    if gone and (lost or after.grid is not reference.before.grid):
        worst = _worst(gone)
        return _told(course, Outcome.SCRAP, size_text(course, worst), first, first, tool=course.station(first),
                     value=worst.beyond_mm, requirement=worst.name)  # fmt: skip
    if unmended:
        open_ = next(feature for feature in wrong if feature.name in unmended)
        text = f"whether “{open_.name}” comes out cannot be told: {open_.why or 'its error bound reaches over a limit'}"
        return _told(course, Outcome.UNDECIDED, text, first, first, requirement=open_.name)
    left = reference.first_left(after)
    what = _worst(out) if out else wrong[0]
    text = (size_text(course, what) if out else f"“{what.name}” is not finished") + "; it comes right when the program is run again"
    row = min(left if left is not None else _first_of(reference.course), len(course.path) - 1)
    return _told(course, Outcome.REWORK, text, row, -1, requirement=what.name, value=what.beyond_mm)


def _spoiled(course: Course, out: Sequence[Feature], row: int, first: int, reference: Reference) -> Consequence:
    """Metal is gone so deep that it spoils the part wherever it is; the worst requirement is named if one is out."""
    text = f"{part_of_tool(course, row)} cuts more than {course.size(reference.general_mm)} into the finished part"
    name, value = "", reference.general_mm
    if out:
        worst = _worst(out)
        text += f"; {size_text(course, worst)}"
        name, value = worst.name, worst.beyond_mm or 0.0
    return _told(course, Outcome.SCRAP, text, row, min(first, row), tool=course.station(row), requirement=name, value=value)


def _worst(features: Sequence[Feature]) -> Feature:
    """The one farthest out of its limits; of those that are equally far, but for round-off, the first."""
    beyond = [feature.beyond_mm or 0.0 for feature in features]
    return next(feature for feature, far in zip(features, beyond, strict=True) if far >= max(beyond) - COORDINATE_ROUND_OFF_MM)


def _unmended(again: Field, wrong: Sequence[Feature], reference: Reference) -> set[str]:
    """Requirements that do not come right on the part put right: not in their limits, or on faces that are no longer whole."""
    kit = reference.course.world.kit
    good = {feature.name: feature.state for feature in reference.features}
    mended, finished = Ready(again, before=reference.finished), reference.finished
    names = {feature.name for feature in wrong}
    states = {feature.name: feature.state for feature in measure_requirements(kit, mended, names=names)}
    unmended = {feature.name for feature in wrong if states[feature.name] not in ("in", good[feature.name])}
    for requirement in kit.setup.requirement:
        if requirement.name in names:
            had, has = face_ends(requirement, kit, finished), face_ends(requirement, kit, mended)
            if has < WHOLE_SHARE * had:
                unmended.add(requirement.name)
    return unmended


def _worse(now: Sequence[Feature], good: Sequence[Feature], states: tuple[str, ...]) -> list[Feature]:
    """Requirements that come out in one of these states and did not without the slip."""
    usual = {feature.name: feature.state for feature in good}
    return [feature for feature in now if feature.state in states and usual[feature.name] not in states]


def _leftover(run: Followed, after: Field, reference: Reference) -> Consequence:
    """Nothing out of limits and nothing spoiled: metal left where there should be none, or nothing at all."""
    left = reference.first_left(after)
    if left is not None:
        text = f"more than {run.course.size(reference.general_mm)} of metal is left where the good program cuts; run it again"
        return _told(run.course, Outcome.REWORK, text, min(left, len(run.course.path) - 1), -1)
    return Consequence(Outcome.HARMLESS, "every requirement comes out within its limits", stopped=run.course.stopped)


def _first_of(course: Course) -> int:
    """The first row that may cut; -1 if none does."""
    rows = np.flatnonzero(course.moves.cuts)
    return int(course.moves.ident[rows[0]]) if rows.size else -1
