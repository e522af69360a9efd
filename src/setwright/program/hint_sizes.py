"""The sizes a comment gives of a tool: every number with its label, unit and noun, and what follows when no doubt is left."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from setwright.program.trade_words import (
    ANGLE_LABELS,
    ANGLE_NOUNS,
    CORNER_LABELS,
    DIAMETER_LABELS,
    LETTER_DRILLS_IN,
    NUMBER_DRILLS_IN,
    OTHER_LABELS,
    OTHER_NOUNS,
    PITCH_LABELS,
    TEETH_NOUNS,
)

if TYPE_CHECKING:
    from setwright.model.tool import ToolKind

__all__ = ["LENGTH", "NUMBER", "SAME_SIZE_MM", "ToolWords", "length_mm", "read_tool_words"]

SAME_SIZE_MM: Final = 0.03
"""Sizes written in inches and again in mm are rounded by up to this and still one size (3/8 in is 9.525, often written 9.5)."""

_UNIT: Final = r"MM|INCH(?:ES)?|IN(?![A-Z])|\""
NUMBER: Final = r"\d+[ -]\d+/\d+|\d+/\d+|\d+[.,]?\d*|[.,]\d+"
"""A written number: decimal, a fraction, or both."""

LENGTH: Final = rf"({NUMBER}) ?({_UNIT})?"
"""A number and its unit, if it has one: two groups."""

_INCH: Final = Fraction("25.4")
_TOKEN: Final = re.compile(
    r"""(?P<junk>\d+[.:]\d+[.:]\d+\S*|\d+-\d+-\d+\S*|\d+/\d+/\d+\S*|\d+-\d{3,}|0\d+-\d+)
       |(?P<number>[1-9]\d?[ -]\d{1,2}/(?:2|4|8|16|32|64)(?!\d)|\d+/\d+|\d+[.,]?\d*|[.,]\d+)
       |(?P<unit>MM|INCH(?:ES)?(?![A-Z])|IN(?![A-Z])|"|°)
       |(?P<word>[A-Z]+)|(?P<sign>[=:\#/+-])|(?P<gap>\ +)|(?P<other>.)""",
    re.VERBOSE,
)
_METRIC_THREAD: Final = re.compile(r"(?<![A-Z])M ?(\d+(?:[.,]\d+)?)(?: ?X ?(\d*[.,]?\d+))?(?![\d])")
_INCH_THREAD: Final = re.compile(r"(?<![\d/.])(#?\d{1,2}|\d{1,2}/\d{1,2}) ?- ?(\d{1,2})(?![\d/])")
_COARSE_MM: Final = {1.6: 0.35, 2.0: 0.4, 2.5: 0.45, 3.0: 0.5, 4.0: 0.7, 5.0: 0.8, 6.0: 1.0, 8.0: 1.25, 10.0: 1.5, 12.0: 1.75,
                     14.0: 2.0, 16.0: 2.0, 18.0: 2.5, 20.0: 2.5, 22.0: 2.5, 24.0: 3.0}  # fmt: skip
"""Coarse pitches of ISO 261 by nominal diameter."""

_POINTED: Final = ("spot drill", "chamfer mill", "centre drill")
_POINTED_DEG: Final = (60.0, 82.0, 90.0, 100.0, 120.0, 140.0)
_DRILL_DEG: Final = (118.0, 120.0, 130.0, 135.0, 140.0)
_LEAST_MM: Final[dict[ToolKind | None, float]] = {"face mill": 8.0, "chamfer mill": 1.0}
_SMALLEST_MM, _LARGEST_MM = 0.05, 400.0
_MOST_TEETH = 60


@dataclass(slots=True)
class ToolWords:
    """The sizes a comment gives; lengths mm, angle rad. `named_diameter`: a label or noun says it is one, or it has a unit."""

    kind: ToolKind | None
    diameter: float | None = None
    corner_radius: float | None = None
    point_angle: float | None = None
    flutes: int | None = None
    pitch: float | None = None
    named_diameter: bool = False


@dataclass(slots=True)
class _Number:
    """A number of the comment: `label` the word before it (`tied`: glued to it or by a sign), `noun` the word after it."""

    written: str
    value: float
    whole: bool
    unit: str = ""
    label: str = ""
    tied: bool = False
    hash: bool = False
    noun: str = ""
    noun_glued: bool = False


@dataclass(slots=True)
class _Roles:
    """What the numbers of a comment can be."""

    named: list[float] = field(default_factory=list)
    plain: list[float] = field(default_factory=list)
    bare: list[float] = field(default_factory=list)
    corners: list[float] = field(default_factory=list)
    angles: list[float] = field(default_factory=list)
    teeth: list[int] = field(default_factory=list)
    pitches: list[float] = field(default_factory=list)


def read_tool_words(text: str, *, kind: ToolKind | None, unit: float) -> ToolWords:
    """The sizes in a comment. `text`: in capitals, station and name of the kind blanked out; `unit`: mm of a bare number."""
    words = ToolWords(kind)
    if kind in ("tap", "thread mill"):
        text = _thread(text, words)
    roles = _Roles()
    before: _Number | None = None
    for number in _numbers(text):
        _sort(number, before, roles, kind, unit)
        before = number
    if kind == "drill" and (letter := re.search(r"(?<![A-Z])([B-Z]) ?\|", text)):
        roles.named.append(_inches(LETTER_DRILLS_IN[letter[1]]))
    if words.diameter is None:
        words.diameter = _one(roles.named) if roles.named else _one(roles.plain) if roles.plain else _one(roles.bare)
        words.named_diameter = bool(roles.named or roles.plain)
    if words.diameter is not None and not max(_LEAST_MM.get(kind, 0.0), _SMALLEST_MM) <= words.diameter <= _LARGEST_MM:
        words.diameter = None
    words.point_angle = math.radians(angle) if (angle := _one(roles.angles)) is not None and 0.0 < angle < 180.0 else None
    words.flutes = roles.teeth[0] if len(set(roles.teeth)) == 1 and 1 <= roles.teeth[0] <= _MOST_TEETH else None
    words.pitch = words.pitch if words.pitch is not None else _one(roles.pitches)
    _corner(words, _one(roles.corners))
    return words


def length_mm(written: str, unit_name: str, *, unit: float) -> float:
    """A written length in mm, correctly rounded: decimal or a fraction (which is inches); `unit` mm if it names none."""
    value = _exact(written)
    names_inch = unit_name not in ("", "MM") or ("/" in written and not unit_name)
    return float(value * (Fraction(1) if unit_name == "MM" else _INCH if names_inch else Fraction(str(unit))))


def _exact(written: str) -> Fraction:
    value = Fraction(0)
    for part in re.split(r"[ -]", written):
        over, _, under = part.replace(",", ".").rstrip(".").partition("/")
        value += Fraction(over) / (Fraction(under) or 1) if under else Fraction(over)
    return value


def _one(values: list[float]) -> float | None:
    """The one value all agree on, None if there is none or they differ."""
    return values[0] if values and max(values) - min(values) <= SAME_SIZE_MM else None


def _corner(words: ToolWords, corner: float | None) -> None:
    """A corner radius tells a bull-nose or a ball mill from an end mill."""
    if corner is not None and words.diameter is None and words.kind == "ball mill":
        words.diameter, words.named_diameter = 2.0 * corner, True
    if corner is None or words.diameter is None or corner > words.diameter / 2 + SAME_SIZE_MM:
        return
    words.corner_radius = min(corner, words.diameter / 2)
    if words.kind == "end mill" and corner > 0.0:
        words.kind = "ball mill" if abs(corner - words.diameter / 2) <= SAME_SIZE_MM else "bull-nose mill"


def _thread(text: str, words: ToolWords) -> str:
    """Diameter and pitch of a thread written as M8X1.25, M8, 1/4-20 or #10-32; returns the text without it."""
    metric = _METRIC_THREAD.search(text)
    if metric:
        words.diameter = float(metric[1].replace(",", "."))
        words.pitch = float(metric[2].replace(",", ".")) if metric[2] else _COARSE_MM.get(words.diameter)
        return text[: metric.start()] + " " + text[metric.end() :]
    inch = _INCH_THREAD.search(text)
    if inch and int(inch[2]) > 0:
        size = _exact(inch[1].lstrip("#"))
        if "/" not in inch[1]:
            size = Fraction("0.060") + Fraction("0.013") * size  # the numbered sizes of ASME B1.1
        words.diameter, words.pitch = float(size * _INCH), float(_INCH / int(inch[2]))
        return text[: inch.start()] + " " + text[inch.end() :]
    return text


def _numbers(text: str) -> Iterator[_Number]:
    """The numbers of a text with what stands around them."""
    tokens = [(match.lastgroup or "", match.group()) for match in _TOKEN.finditer(text)]
    for at, (group, written) in enumerate(tokens):
        if group != "number":
            continue
        number = _Number(written, float(_exact(written)), re.fullmatch(r"\d+", written) is not None)
        _look_back(tokens[:at], number)
        _look_on(tokens[at + 1 :], number)
        yield number


def _inches(size: float) -> float:
    return float(Fraction(str(size)) * _INCH)


def _look_back(tokens: list[tuple[str, str]], number: _Number) -> None:
    gap = False
    for group, written in reversed(tokens):
        if group == "gap":
            gap = True
        elif group == "sign" and written in "=:#-+":
            number.tied = number.tied or written in "=:"
            number.hash = number.hash or written == "#"
            gap = gap and written not in "=:"
        elif group == "word":
            number.label = written
            number.tied = number.tied or not gap
            return
        else:
            # a number glued to the name of the tool is a serial number
            number.label, number.tied = (written, True) if written == "|" and not gap else ("", False)
            return


def _look_on(tokens: list[tuple[str, str]], number: _Number) -> None:
    glued = True
    for group, written in tokens:
        if group == "unit" and not number.unit:
            number.unit = written
        elif group == "gap" or (group == "sign" and written == "-"):
            glued = False
        elif group == "word":
            number.noun, number.noun_glued = written, glued
            return
        else:
            return


def _sort(number: _Number, before: _Number | None, roles: _Roles, kind: ToolKind | None, unit: float) -> None:
    """Put a number where its label, noun and unit say it belongs; numbers that are something else are left out."""
    label, tied, noun, value = number.label, number.tied, number.noun, number.value
    length = length_mm(number.written, number.unit, unit=unit)
    labelled = label if tied or len(label) > 1 else ""
    if noun in TEETH_NOUNS and (len(noun) > 1 or number.noun_glued) and number.whole:
        roles.teeth.append(int(value))
    elif number.unit == "°" or noun in ANGLE_NOUNS or labelled in ANGLE_LABELS:
        roles.angles.append(value)
    elif noun in OTHER_NOUNS:
        return
    elif label in DIAMETER_LABELS:
        is_register = before is not None and before.label == "H" and before.value == value and label == "D"
        if not is_register:
            roles.named.append(length)
    elif noun in DIAMETER_LABELS and len(noun) > 1:
        roles.named.append(length)
    elif label in CORNER_LABELS:
        roles.corners.append(length)
    elif labelled in PITCH_LABELS:
        roles.pitches.append(length)
    elif labelled in OTHER_LABELS or (tied and label):
        return
    elif number.hash:
        if kind == "drill" and number.whole and 1 <= value <= len(NUMBER_DRILLS_IN):
            roles.named.append(_inches(NUMBER_DRILLS_IN[int(value) - 1]))
    elif not number.unit and number.whole and _is_angle(value, kind):
        roles.angles.append(value)
    elif number.unit or "/" in number.written:
        roles.plain.append(length)
    else:
        roles.bare.append(length)


def _is_angle(value: float, kind: ToolKind | None) -> bool:
    return (kind in _POINTED and value in _POINTED_DEG) or (kind == "drill" and value in _DRILL_DEG)
