"""The study of a setup: every slip of the catalogue that can happen in it, what each would do, and the risk of them all.

Slips that come to the same, motion for motion and body for body, are followed once. The answer does not depend on the order in
which they are followed nor on how many are followed at once.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from threading import Lock
from typing import Any, Final

import numpy as np

from setwright.base.digest import digest_bytes
from setwright.base.errors import InputRefused
from setwright.base.processes import map_copies
from setwright.geometry.bodies import Body, BoxShape, CylinderShape
from setwright.hover.consequence import consequence_of
from setwright.hover.course import Course, course_of
from setwright.hover.outcome import Consequence, Outcome
from setwright.hover.reference import Reference, reference_of
from setwright.prove.compute import Progress
from setwright.slips.case import SlipCase
from setwright.slips.catalogue import Occurrence, slips
from setwright.slips.world import World

__all__ = ["COMMON", "StudiedSlip", "Study", "doubles_of", "occurrences_in", "study"]

COMMON: Final = 8
"""How many of the most frequent slips are paired for double slips."""

@dataclass(frozen=True, slots=True)
class StudiedSlip:
    """An occurrence, the world it makes, and what happens in it."""

    occurrence: Occurrence
    world: World = field(repr=False)
    consequence: Consequence

    @property
    def harmful(self) -> bool:
        """Whether it is worse than rework."""
        return self.consequence.outcome.harmful

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys other programs rely on."""
        occurrence = self.occurrence
        size = None if occurrence.size_mm is None else occurrence.size_mm / (25.4 if units in ("in", "inch") else 1.0)
        return {
            "slug": occurrence.slug, "words": occurrence.words, "subject": occurrence.subject, "size": size,
            "probability": occurrence.rate, "remedy": occurrence.remedy, **self.consequence.as_plain(units),
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Study:
    """What can go wrong in one setup. `slips`: every occurrence, the worst first, then by rate; `as_set`: what happens without any;
    `followed`: how many different worlds there were."""

    reference: Reference = field(repr=False)
    as_set: Consequence
    slips: tuple[StudiedSlip, ...]
    followed: int

    @property
    def world(self) -> World:
        """The setup without a slip."""
        return self.reference.course.world

    def risk(self) -> dict[Outcome, float]:
        """The probability that some slip ends in each outcome, one slip at a time: the sum of their rates."""
        total = dict.fromkeys(Outcome, 0.0)
        for slip in self.slips:
            total[slip.consequence.outcome] += slip.occurrence.rate
        return total

    @property
    def harmful(self) -> float:
        """The probability of a slip that is worse than rework, of independent slips: one less the product of their absence."""
        return 1.0 - float(np.prod([1.0 - slip.occurrence.rate for slip in self.slips if slip.harmful]))

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data."""
        return {
            "as_set": self.as_set.as_plain(units),
            "slips": [slip.as_plain(units) for slip in self.slips],
            "risk": {outcome.value: rate for outcome, rate in self.risk().items()},
            "harmful": self.harmful, "worlds": self.followed,
        }  # fmt: skip


def occurrences_in(case: SlipCase) -> tuple[Occurrence, ...]:
    """Every occurrence of the catalogue in a setup, in the order of the catalogue."""
    return tuple(occurrence for slip in slips() for occurrence in slip.occurrences(case))


def doubles_of(singles: Sequence[Occurrence], *, common: int = COMMON) -> tuple[Occurrence, ...]:
    """Two slips at once, of the `common` most frequent ones about different things; the rate is that of both, taken as independent.
    Where things are put together anew that comes first, and two of those are not paired."""
    by_subject: dict[str, Occurrence] = {}
    for occurrence in sorted(singles, key=lambda one: -one.rate):
        by_subject.setdefault(occurrence.subject, occurrence)
    frequent = list(by_subject.values())[:common]
    return tuple(_both(a, b) for a, b in itertools.combinations(frequent, 2) if not (a.rebuilds and b.rebuilds))


def _both(a: Occurrence, b: Occurrence) -> Occurrence:
    first, then = (b, a) if b.rebuilds else (a, b)

    def change(world: World) -> World:
        return then.change(first.change(world))

    return Occurrence(f"{a.slug} and {b.slug}", f"{a.words}; {b.words}", a.rate * b.rate, f"{a.subject}, {b.subject}",
                      f"{a.remedy}; {b.remedy}", change, rebuilds=first.rebuilds)  # fmt: skip


def study(
    world: World,
    *,
    pitch_mm: float | None = None,
    occurrences: Iterable[Occurrence] | None = None,
    doubles: int = 0,
    progress: Progress | None = None,
) -> Study:
    """Follow every occurrence in a setup (the catalogue's, unless given) and, with `doubles`, pairs of that many common ones.

    Raises InputRefused where the setup cannot be worked out even without a slip.
    """
    reference = reference_of(world, pitch_mm=pitch_mm)
    singles = tuple(occurrences) if occurrences is not None else occurrences_in(reference.course.case)
    wanted = [*singles, *(doubles_of(singles, common=doubles) if doubles else ())]
    worlds = [(occurrence, made) for occurrence in wanted if (made := _world_of(occurrence, world)) is not None]
    different = {_told_apart(made): made for made in [world, *(made for _, made in worlds)]}
    step = _counted(progress, len(different))
    known: dict[str, Consequence] = {}
    answers = map_copies(lambda made: _followed(made, reference, known), list(different.values()), done=step)
    found = dict(zip(different, answers, strict=True))
    studied = [StudiedSlip(occurrence, made, _what_is_known(occurrence, found[_told_apart(made)].consequence))
               for occurrence, made in worlds]  # fmt: skip
    studied.sort(key=lambda slip: (slip.consequence.outcome.rank, -slip.occurrence.rate, slip.occurrence.slug,
                                   slip.occurrence.words))  # fmt: skip
    followed = {found[_told_apart(made)].key for _, made in worlds}
    return Study(reference, found[_told_apart(world)].consequence, tuple(studied), len(followed))


def _what_is_known(occurrence: Occurrence, found: Consequence) -> Consequence:
    """What was followed, but of a slip whose world nobody can write down."""
    return Consequence(Outcome.UNDECIDED, occurrence.unknown) if occurrence.unknown else found


def _world_of(occurrence: Occurrence, world: World) -> World | None:
    """The world of a slip; None where the things do not go together so, and it cannot happen (the blank does not fit the vise)."""
    try:
        return occurrence.change(world)
    except InputRefused:
        return None


def _told_apart(made: World) -> str:
    """What tells worlds apart without running them; two that are told apart may still come to the same."""
    things = [id(thing) for thing in (made.kit, made.truth, made.metal, made.sources)]
    return repr((things, made.registers, dict(made.own), made.skip_levels, made.left_shift, made.left_turn, made.left_modes))


@dataclass(frozen=True, slots=True)
class _Found:
    """What happens in a world, and a digest of what decides it."""

    key: str
    consequence: Consequence


def _followed(made: World, reference: Reference, known: dict[str, Consequence]) -> _Found:
    """The consequence of one world, from `known` if it is there; what cannot be worked out is undecided, and says why."""
    try:
        course = course_of(made, like=reference.course)
        key = _key(made, course)
        if key not in known:
            known[key] = consequence_of(made, reference, course=course)
    except InputRefused as refusal:
        first = refusal.problems[0]
        text = ", ".join(text for text in (first.what, first.why) if text)
        return _Found(digest_bytes(text.encode()), Consequence(Outcome.UNDECIDED, text))
    return _Found(key, known[key])


def _key(made: World, course: Course) -> str:
    """A digest of what decides the consequence: motions, tools, bodies, the metal; equal ones are followed once."""
    parts = [stretch.key.encode() for stretch in course.stretches]
    parts += [course.stopped.encode(), str(course.stop_row).encode(), _radii(made, course)]
    parts += [part for body in (*made.kit.placement.bodies, made.kit.blank) if body is not None for part in _body_key(body)]
    parts.append(b"" if made.metal is None else str(id(made.metal)).encode())
    return digest_bytes(*parts)


def _radii(made: World, course: Course) -> bytes:
    """True radii, which say when a tool is overloaded."""
    return repr([made.truth.radii.get(stretch.station) for stretch in course.stretches]).encode()


def _body_key(body: Body) -> tuple[bytes, ...]:
    shape = body.shape
    if isinstance(shape, BoxShape | CylinderShape):
        return body.name.encode(), repr(shape).encode()
    return body.name.encode(), np.ascontiguousarray(shape.triangles).tobytes()


def _counted(progress: Progress | None, total: int) -> Callable[[], None]:
    done = itertools.count(1)
    lock = Lock()

    def step() -> None:
        with lock:
            if progress is not None:
                progress("following slips", next(done), total)

    return step
