"""What comments state of the blank, gathered from all of them: its sizes, what they leave open, and where zero lies on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from setwright.program.hints import BlankHint, ZeroHint
from setwright.start.reading import ProgramReading
from setwright.start.wording import Evidence, cite, cited

__all__ = ["Stated", "first_of", "stated_size", "told_zero"]


@dataclass(frozen=True, slots=True)
class Stated:
    """What comments say of the blank's size: along X, Y, Z (None where they do not), its diameter if it is round.

    `length`, `width`: where it is not said which axis they lie along. `every_side`: how much of the sizes is more than the part
    has, on every side; `more_thick`: by how much the blank is thicker than the finished part, as far as comments say; `part_only`:
    only the part's sizes are known, the blank may be larger.
    """

    sizes: tuple[float | None, float | None, float | None] = (None, None, None)
    diameter: float | None = None
    length: float | None = None
    width: float | None = None
    why: tuple[Evidence, ...] = ()
    why_thick: Evidence | None = None
    why_place: tuple[Evidence, ...] = ()
    every_side: float = 0.0
    more_thick: float = 0.0
    part_only: bool = False


def first_of(hints: Sequence[ZeroHint], what: str) -> ZeroHint:
    """The first comment that says a thing of zero."""
    return next(hint for hint in hints if getattr(hint, what) is not None)


def told_zero(reading: ProgramReading) -> tuple[str, ZeroHint] | None:
    """The first comment on where zero lies, unless comments contradict each other."""
    name = reading.names[0]
    said = reading.hints[name]
    if not said.zeros or any(one.what == "where zero lies" for one in said.contradictions):
        return None
    merged = said.zeros[0]
    for hint in said.zeros[1:]:
        merged = replace(merged, x=merged.x or hint.x, y=merged.y or hint.y, z=merged.z or hint.z,
                         above=merged.above if merged.above is not None else hint.above)  # fmt: skip
    return name, merged


def stated_size(reading: ProgramReading) -> Stated:
    """The blank's size as the clamping before leaves it, else as the comments give it, unless they contradict each other."""
    if reading.left is not None:
        return Stated(reading.left.size, why=(reading.left.why,), why_thick=reading.left.why)
    name = reading.names[0]
    said = reading.hints[name]
    why: dict[str, Evidence] = {}
    for one in said.contradictions:
        if one.what in ("the blank", "where zero lies"):
            texts = ", ".join(f'"({text})"' for text in dict.fromkeys(one.texts))
            told = f"comments on {one.what} contradict each other in {name}: {texts}; several clampings in one program?"
            why[one.what] = cite(told, file=name, line=one.lines[0])
    place = tuple(text for what, text in why.items() if what == "where zero lies")
    if "the blank" in why or not (said.blanks or said.finished):
        return Stated(why=tuple(text for what, text in why.items() if what == "the blank"), why_place=place)
    if not said.blanks:
        return _of_the_part(name, said.finished, place)
    best = max(said.blanks, key=lambda hint: len(hint.size) or len(hint.round))
    thick = next((hint for hint in said.blanks if hint.thick is not None), None)
    x, y, z = (*best.size, None, None, None)[:3]
    if best.round:
        z = best.round[1] if len(best.round) == 2 else None
    z = z if z is not None else thick.thick if thick is not None else None
    sources = [best] if best.size or best.round else []
    length = next((hint for hint in said.blanks if hint.long is not None), None) if x is None else None
    width = next((hint for hint in said.blanks if hint.wide is not None), None) if x is None else None
    sources += [hint for hint in (length, width) if hint is not None]
    gave_z = best if (len(best.size) == 3 or len(best.round) == 2) else thick
    more = max(hint.every_side for hint in said.blanks)
    across, long, wide = best.round[0] if best.round else None, length.long if length else None, width.wide if width else None
    grown = [None if size is None else size + 2.0 * more for size in (x, y, z, across, long, wide)]
    finished = max((hint.size[2] for hint in said.finished), default=None)
    thicker = 0.0 if finished is None or z is None else max(z - finished, 0.0)
    return Stated((grown[0], grown[1], grown[2]), grown[3], grown[4], grown[5],
                   tuple(dict.fromkeys(cited(name, hint) for hint in sources)), cited(name, gave_z) if gave_z else None,
                   place, every_side=more, more_thick=thicker)  # fmt: skip


def _of_the_part(name: str, finished: Sequence[BlankHint], place: tuple[Evidence, ...]) -> Stated:
    """Only the finished part's sizes are known: the blank has them at least."""
    largest = [max(sizes) for sizes in zip(*(hint.size for hint in finished), strict=True)]
    said = ", ".join(f'"({hint.text})"' for hint in finished)
    why = cite(f"{said} is the finished part; what its blank has more is not said, measure yours", file=name, line=finished[0].line)
    return Stated((largest[0], largest[1], largest[2]), why=(why,), why_thick=why, why_place=place, part_only=True)
