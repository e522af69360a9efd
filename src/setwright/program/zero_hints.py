"""What a comment says of where the program's zero lies on the blank: at which side, and how far below its top."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, TypeVar

from setwright.program.hint_sizes import LENGTH, length_mm
from setwright.program.trade_words import PLACES, ZERO_WORDS

__all__ = ["ZeroHint", "read_zero"]

_BLANK_NAMES: Final = r"(?:STOCK|BLANK|BLOCK|BILLET|RAW (?:MATERIAL|PART)|MATERIAL|WORK ?PIE?CE|ROHTEIL|ROHLING)"
_TOP_AT: Final = re.compile(
    rf"(?<![A-Z])(?:{_BLANK_NAMES} TOP|TOP OF (?:THE )?{_BLANK_NAMES}) ?(?:IS |LIES |AT |= ?)*Z ?[=:]? ?\+? ?{LENGTH}(?![\d/])"
)
_BELOW_TOP: Final = re.compile(
    rf"(?<![A-Z])Z ?(?:0(?:\.0*)?|ZERO) (?:IS |LIES |AT |= ?)*{LENGTH} (?:BELOW|UNDER) (?:THE )?"
    rf"(?:{_BLANK_NAMES} TOP|TOP (?:OF (?:THE )?)?{_BLANK_NAMES}|TOP(?! OF))"
)
_ON_TOP: Final = re.compile(
    rf"(?<![\d.,/A-Z]){LENGTH} (?:OF )?"
    r"(?:(?:EXTRA |RAW )?(?:STOCK|MATERIAL|ALLOWANCE|AUFMASS) ?|EXTRA |TO (?:BE )?(?:FACED?|MILL|CLEAN)(?: OFF)? )"
    r"(?:LEFT )?(?:(?:ON|OFF|FROM|AT) (?:THE )?TOP(?! OF)|OBEN)(?![A-Z])"
)
_LEFT_ON: Final = re.compile(r"(?<![A-Z])LEAV(?:E|ES|ING)(?![A-Z])")
_OF_THE_PART: Final = re.compile(r"OF (?:THE )?(?:PART|BLOCK|STOCK|BLANK|WORK ?PIE?CE|PLATE|BILLET|MATERIAL)")
Along = Literal["left", "right", "centre"]
Across = Literal["front", "back", "centre"]
Level = Literal["top", "bottom"]
Side = TypeVar("Side", bound=str)


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroHint:
    """Where on the blank the program's zero lies, axis by axis; `offset` is the work offset named, "" if none.

    `above`: how high the blank's top stands above Z0, mm, where that is written as a number.
    """

    line: int
    text: str
    offset: str = ""
    x: Along | None = None
    y: Across | None = None
    z: Level | None = None
    above: float | None = None


def read_zero(line: int, comment: str, plain: str, unit: float) -> Iterator[ZeroHint]:
    """Where zero lies, if a comment speaks of zero and names places of the blank, or how far below the blank's top it lies.

    `line`, `comment`: where and as it stands; `plain`: the same as `trade_words` are compared; `unit`: mm of a bare number.
    """
    text = plain
    patterns = (_TOP_AT, _BELOW_TOP, *(() if _LEFT_ON.search(text) else (_ON_TOP,)))
    above = next((match for pattern in patterns if (match := pattern.search(text)) is not None), None)
    if above is not None:
        yield ZeroHint(line=line, text=comment, above=length_mm(above[1], above[2] or "", unit=unit))
        text = text[: above.start()] + " ; " + text[above.end() :]
    if not ZERO_WORDS.search(text) or "FINISH" in text:
        return
    x: Along | None = None
    y: Across | None = None
    z: Level | None = None
    for axes, clause in _clauses(text):
        places = {place for place, pattern in PLACES if pattern.search(clause)}
        if "centre" in places and " OF " in clause and not _OF_THE_PART.search(clause):
            places.discard("centre")
        level: Level | None = _only(places, "top", "bottom")
        depth: Across | None = _only(places, "front", "back")
        middle: Literal["centre"] | None = "centre" if "centre" in places else None
        if "X" in axes:
            along: Along | None = _only(places, "left", "right")
            x = along or (middle if "Y" not in axes or depth is None else None) or x
        if "Y" in axes:
            seen_from_above: Across | None = None
            if depth is None and (x is not None or "CORNER" in clause):
                seen_from_above = "back" if level == "top" else "front" if level == "bottom" else None
                level = None if seen_from_above else level
            y = depth or seen_from_above or (middle if axes == "Y" or x in (None, "centre") else None) or y
        if "Z" in axes:
            z = level or z
    if x or y or z:
        offset = re.search(r"G5[4-9](?!\d)", text)
        yield ZeroHint(line=line, text=comment, offset=offset[0] if offset else "", x=x, y=y, z=z)


def _only(places: set[str], one: Side, other: Side) -> Side | None:
    """Which of two opposite places is named; None if neither or both are."""
    found = [place for place in (one, other) if place in places]
    return found[0] if len(found) == 1 else None


def _clauses(text: str) -> Iterator[tuple[str, str]]:
    """The text cut where it turns to another axis: (axes spoken of, words)."""
    parts = re.split(r"(?<![A-Z])([XYZ]) ?(?:0|ZERO|=)", text)
    if len(parts) == 1:
        yield "XYZ", text
        return
    axes = ""
    for axis, words in zip(parts[1::2], parts[2::2], strict=True):
        axes += axis
        if re.search(r"[A-Z]{3}", words):
            yield axes, words
            axes = ""
