"""What the comments of a part program say about tools, blank, zero and material, as far as it can be read with certainty.

A comment is read by a small grammar: names of tools and places in several languages (`trade_words`), and numbers with the label
before them (D16, CR=0.5, TAPER 90), their unit (mm, in, a fraction is inches) and the noun after them (3 FLUTES, 90 DEG). A bare
number takes the program's unit. A comment that leaves a doubt (two numbers that could both be the diameter, two kinds of tool)
gives no value; comments that contradict one another are reported as such and left to a person.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, pairwise, takewhile
from typing import TYPE_CHECKING, Any, Final

from setwright.program.hint_sizes import LENGTH, NUMBER, SAME_SIZE_MM, length_mm, read_tool_words
from setwright.program.source import Lines
from setwright.program.trade_words import (
    ANOTHER_SIZE,
    BAR_WORDS,
    BLANK_WORDS,
    DIAMETER_LABELS,
    KINDS,
    MATERIALS,
    NAMED_SIZES,
    NUMBERED_WORDS,
    PLATE_WORDS,
    ROUND_WORDS,
    SHAPE_WORDS,
    SHEET_WORDS,
    STATION_LABELS,
    THICK_WORDS,
)
from setwright.program.zero_hints import ZeroHint, read_zero

if TYPE_CHECKING:
    from setwright.model.tool import ToolKind

__all__ = ["BlankHint", "CodeLines", "Comment", "Contradiction", "Hints", "MaterialHint", "ToolHint", "ZeroHint", "comments_of",
           "read_hints"]  # fmt: skip

_INCH: Final = 25.4
_LONGEST = 300
_CYRILLIC: Final = str.maketrans({
    "А": "A", "Б": "B", "В": "V", "Г": "G", "Д": "D", "Е": "E", "Ё": "E", "Ж": "ZH", "З": "Z", "И": "I", "Й": "Y", "К": "K",
    "Л": "L", "М": "M", "Н": "N", "О": "O", "П": "P", "Р": "R", "С": "S", "Т": "T", "У": "U", "Ф": "F", "Х": "KH", "Ц": "TS",
    "Ч": "CH", "Ш": "SH", "Щ": "SHCH", "Ъ": "", "Ы": "Y", "Ь": "", "Э": "E", "Ю": "YU", "Я": "YA",
})  # fmt: skip
_POINTED: Final = ("drill", "spot drill", "centre drill", "chamfer mill")
_SIGNS: Final = str.maketrans({"″": '"', "”": '"', "“": '"', "Ø": " DIA ", "⌀": " DIA ", "º": "°", "×": "X", "_": " ", "|": ";",
                                "\t": " "})  # fmt: skip
_STATION: Final = re.compile(
    rf"(?<![A-Z])(?:{'|'.join(sorted(STATION_LABELS, key=len, reverse=True))}) ?(?:NO\.?|NR\.?|NUM(?:BER)?|#)? ?[=:]? ?0*"
    r"(\d{1,5})(?:\.\d+)?(?![\d/]| ?(?:MM|IN(?![A-Z])|\"))"
)
_LISTED_TOOL: Final = re.compile(rf"(?<![A-Z])(?:TOOL|CUTTER) ?/ ?([A-Z]{{2,}})? ?,? ?({NUMBER})(?: ?, ?({NUMBER}))?")
_TOOL_DIAMETER: Final = re.compile(r"(?<![A-Z])(?:TOOL|CUTTER|BIT|MILL) DIA(?:M(?:ETER)?)?(?![A-Z])")
_DIAMETER_OF: Final = re.compile(r"(?<![A-Z])(DIA(?:M(?:ETER)?)?)\.? ?(?:OF|IS) ")
_CODE_TOOL: Final = re.compile(r"(?<![A-Z#])T ?0*(\d{1,5})(?:\.\d*)?")
_CODE_CHANGE: Final = re.compile(r"(?<![A-Z#])M ?0*6(?![\d.])")
_UNIT_SAID: Final = re.compile(r"[\d.] ?(MM|INCH(?:ES)?|IN(?![A-Z])|\")")
_ALONG: Final = re.compile(rf"(?<![A-Z])(?:D|L)?([XYZ]) ?[=:]? ?{LENGTH}")
_PRODUCT: Final = re.compile(rf"(?<![\d.,/]){LENGTH} ?(?:X|\*|BY) ?{LENGTH}(?: ?(?:X|\*|BY) ?{LENGTH})?(?![\d/]|[.,]\d)")
_SHEET_SIZE: Final = re.compile(
    rf"(?<![\d.,/X*] )(?<![\d.,/X*]){LENGTH}(?: ?THICK)?[ -]*(?:{MATERIALS.pattern}[ -]*)*(?:{SHEET_WORDS})(?![A-Z])"
)
_ZEROES: Final = re.compile(r"(?<![A-Z])[XYZ] ?0(?:\.0*)?(?![\d.]|,\d)")
_NUMBERED: Final = re.compile(rf"(?:#|(?<![A-Z])(?:{NUMBERED_WORDS}))[ .:#-]*$")
_SAID_ROUND: Final = rf"(?:{'|'.join(sorted(DIAMETER_LABELS, key=len, reverse=True))}|[Ø⌀])"
_DIAMETER_FIRST: Final = re.compile(rf"(?<![A-Z]){_SAID_ROUND}\.? ?[=:]? ?{LENGTH} ?(?:X|\*|BY)")
_DIAMETER_BEHIND: Final = re.compile(rf"(?<![\d.,/A-Z]){LENGTH} ?{_SAID_ROUND}\.? ?(?:X|\*|BY)(?![A-Z])")
_ACROSS: Final = re.compile(rf"(?<![A-Z]){_SAID_ROUND}\.? ?[=:]? ?{LENGTH}|(?<![\d.,/A-Z]){LENGTH} ?{_SAID_ROUND}(?![A-Z])")
_MATERIAL_LABEL: Final = re.compile(r"(?<![A-Z])(?:MATERIAL|MATERIALE|MATERIAU|WERKSTOFF|MAT)(?![A-Z])")
_DEEPEST: Final = re.compile(rf"(?<![A-Z])(?:Z ?MIN|MIN\.? ?Z|(?:LOWEST|DEEPEST) Z) ?[=:]? ?(-?(?:{NUMBER}))")
_EVERY_SIDE: Final = re.compile(
    rf"(?:PLUS|\+|WITH|ADD) ?{LENGTH} ?(?:STOCK |MATERIAL |EXTRA |ALLOWANCE |OVERSIZE )?"
    r"(?:PER|EACH|EVERY|ALL|ON (?:ALL|EVERY|EACH)) ?(?:SIDES?|FACES?|A?ROUND|OVER)(?![A-Z])"
)
_AS_FINISHED: Final = re.compile(
    r"(?<![A-Z])(?:FINISH(?:ED)?|FINAL|NET) (?:PART |PIECE )?"
    r"(?:SIZES?|DIMS?|DIMENSIONS?|PARTS?|PIECE|PLATE|BLOCK)(?: TO| IS)?(?![A-Z])"
)
_SHEET_SIDES: Final = 3.0
_LONGEST_SHEET_MM: Final = 3100.0
"""A sheet is this many times as wide as thick at least, and no longer than that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolHint:
    """What one comment says of one tool; lengths mm, angle rad, None where it says nothing.

    `station`: the tool's number, None if neither the comment nor its place tells it; `named`: the comment itself names it;
    `deepest`: the lowest Z the comment says it goes to.
    """

    line: int
    text: str
    station: int | None = None
    named: bool = False
    kind: ToolKind | None = None
    diameter: float | None = None
    corner_radius: float | None = None
    point_angle: float | None = None
    flutes: int | None = None
    pitch: float | None = None
    deepest: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankHint:
    """A blank's sizes, mm: `size` along X, Y and (if written) Z, or `round` (diameter, height if written).

    `thick`, `long`, `wide`: sizes that a sentence names one by one, None where it does not. `every_side`: how much more there is
    on every side of these sizes, mm.
    """

    line: int
    text: str
    size: tuple[float, ...] = ()
    round: tuple[float, ...] = ()
    thick: float | None = None
    long: float | None = None
    wide: float | None = None
    every_side: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialHint:
    """The work material, in the words of the comment."""

    line: int
    text: str
    material: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """Comments that cannot all be right: what they speak of, the lines, and their texts."""

    what: str
    lines: tuple[int, ...]
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Hints:
    """Everything read from one program's comments, in the order of the lines. `finished`: sizes of the finished part."""

    tools: tuple[ToolHint, ...] = ()
    blanks: tuple[BlankHint, ...] = ()
    zeros: tuple[ZeroHint, ...] = ()
    materials: tuple[MaterialHint, ...] = ()
    contradictions: tuple[Contradiction, ...] = ()
    finished: tuple[BlankHint, ...] = ()

    def within(self, first: int, last: int) -> Hints:
        """The same with only those comments on blank and zero that stand in these lines; tools and material hold throughout."""
        blanks = tuple(hint for hint in self.blanks if first <= hint.line <= last)
        zeros = tuple(hint for hint in self.zeros if first <= hint.line <= last)
        kept = Hints(self.tools, blanks, zeros, self.materials, finished=self.finished)
        return replace(kept, contradictions=tuple(_contradictions(kept)))

    def of_station(self, station: int | None) -> tuple[ToolHint, ...]:
        """What is said of one station, comments that name it first."""
        own = [hint for hint in self.tools if hint.station == station]
        return tuple(sorted(own, key=lambda hint: not hint.named))


@dataclass(frozen=True, slots=True)
class Comment:
    """A comment: its line, its text, the same as `trade_words` are compared, and whether the line has no code beside it."""

    line: int
    text: str
    plain: str
    alone: bool


def read_hints(lines: Sequence[str], *, inch: bool) -> Hints:
    """Read the comments of a program. `lines`: its text line by line; `inch`: the unit of its bare numbers."""
    comments, codes = comments_of(lines)
    stations = _stations_of_lines(codes)
    unit = _INCH if inch else 1.0
    tools: list[ToolHint] = []
    blanks: list[BlankHint] = []
    zeros: list[ZeroHint] = []
    materials: list[MaterialHint] = []
    for comment in comments:
        found_tools = [tool for part in _each_tool(comment) if (tool := _tool(part, stations, unit)) is not None]
        tools += found_tools
        if not found_tools:
            found = list(_blank(comment, unit, goes_on=bool(blanks) and comment.alone and blanks[-1].line == comment.line - 1))
            blanks += found
            materials += _material(comment)
        zeros += read_zero(comment.line, comment.text, comment.plain, unit)
    blanks = [_with_every_side(hint, comments, unit) for hint in blanks or _part(comments, unit)]
    said = Hints(tuple(tools), tuple(blanks), tuple(zeros), tuple(materials), finished=tuple(_finished(comments, unit)))
    return replace(said, contradictions=tuple(_contradictions(said)))


# --- the text ----------------------------------------------------------------------------------------------------------


class CodeLines:
    """The code of a program's lines by position from 0, without comments and in capitals."""

    def __init__(self, lines: Lines) -> None:
        self._lines = lines

    def __len__(self) -> int:
        return len(self._lines)

    def __getitem__(self, at: int) -> str:
        return _parted(self._lines[at])[0].upper()

    def holding(self, pattern: re.Pattern[str], letter: str) -> dict[int, re.Match[str]]:
        """Where a pattern, of which `letter` is a part, is first found in each line that holds it; by line, from 1."""
        found = ((at + 1, pattern.search(self[at])) for at in self._lines.with_any(letter).tolist())
        return {line: match for line, match in found if match is not None}


def comments_of(lines: Sequence[str]) -> tuple[list[Comment], CodeLines]:
    """The comments, and the code beside them."""
    lines = lines if isinstance(lines, Lines) else Lines.of("\n".join([*lines, ""]).encode())
    comments = []
    for at in lines.with_any("(;/").tolist():
        code, texts = _parted(lines[at])
        for text in texts:
            plain = _plain(text)
            if 1 < len(plain) <= _LONGEST:
                comments.append(Comment(at + 1, text.strip(), plain, not code.strip()))
    return comments, CodeLines(lines)


def _parted(line: str) -> tuple[str, list[str]]:
    """A line's code and its comments: between brackets (nested ones belong to the outer), or after a semicolon or two slashes."""
    if "(" not in line and ";" not in line and "//" not in line:
        return line, []
    code: list[str] = []
    texts: list[str] = []
    depth = start = 0
    for at, sign in enumerate(line):
        if sign == "(":
            start = at + 1 if depth == 0 else start
            depth += 1
        elif sign == ")" and depth > 0:
            depth -= 1
            if depth == 0:
                texts.append(line[start:at])
        elif depth == 0 and (sign == ";" or line.startswith("//", at)):
            return "".join(code), [*texts, line[at + 1 :].lstrip("/")]
        elif depth == 0:
            code.append(sign)
    if depth > 0:
        texts.append(line[start:])
    return "".join(code), texts


def _plain(text: str) -> str:
    """Capitals, no accents, Latin letters, single blanks."""
    raised = text.replace("''", '"').upper().translate(_CYRILLIC).translate(_SIGNS)
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", raised) if not unicodedata.combining(sign))
    return re.sub(r" +", " ", bare).strip()


def _stations_of_lines(codes: CodeLines) -> dict[int, tuple[int, bool]]:
    """Line → (station, whether that very line calls it) for lines that call or change the tool and comments beside a change."""
    changed, current = codes.holding(_CODE_CHANGE, "M"), -1
    called = {line: int(found[1]) for line, found in codes.holding(_CODE_TOOL, "T").items()}
    here: dict[int, int] = {}
    changes = []
    for line in sorted(changed.keys() | called.keys()):
        current = called.get(line, current)
        if current >= 0:
            here[line] = current
        if current >= 0 and line in (changed or called):
            changes.append(line)
    beside: dict[int, int] = {}
    for line in changes:
        for near in chain(_without_code(codes, range(line - 1, 0, -1)), _without_code(codes, range(line + 1, len(codes) + 1))):
            beside.setdefault(near, here[line])
    return {**{line: (t, False) for line, t in beside.items()}, **{line: (t, True) for line, t in here.items()}}


def _without_code(codes: CodeLines, lines: range) -> Iterator[int]:
    """The lines up to the first one with code."""
    return takewhile(lambda line: not codes[line - 1].strip(), lines)


# --- tools ---------------------------------------------------------------------------------------------------------------


def _each_tool(comment: Comment) -> list[Comment]:
    """A comment that names several stations, cut so that each part names one: at commas and the like, else before each station."""
    marks = list(_STATION.finditer(comment.plain))
    if len({mark[1] for mark in marks}) < 2:
        return [comment]
    parts = [part for part in re.split(r"[,;/]| AND ", comment.plain) if part.strip()]
    if any(len({mark[1] for mark in _STATION.finditer(part)}) != 1 for part in parts):
        starts = [mark.start() for mark in marks]
        parts = [comment.plain[a:b] for a, b in pairwise([*starts, len(comment.plain)])]
    return [replace(comment, plain=part) for part in parts]


def _listed_tool(comment: Comment, stations: dict[int, tuple[int, bool]], unit: float) -> ToolHint | None:
    """A tool written as a list of numbers behind TOOL/ or CUTTER/: diameter, then corner radius (a drill: point angle)."""
    found = _LISTED_TOOL.search(comment.plain)
    if found is None:
        return None
    word, first, second = found.groups()
    kind = "end mill" if word in (None, "MILL", "CUTTER") else _kind(word)[0]
    diameter, more = length_mm(first, "", unit=unit), float(second.replace(",", ".")) if second and "/" not in second else None
    if kind is None or not diameter > 0.0:
        return None
    corner = None if more is None or kind in _POINTED else min(more * unit, diameter / 2)
    if kind == "end mill" and corner:
        kind = "ball mill" if abs(corner - diameter / 2) <= SAME_SIZE_MM else "bull-nose mill"
    angle = math.radians(more) if more is not None and kind in _POINTED and 0.0 < more < 180.0 else None
    return ToolHint(line=comment.line, text=comment.text, station=stations.get(comment.line, (None, False))[0], kind=kind,
                    diameter=diameter, corner_radius=corner, point_angle=angle)  # fmt: skip


def _tool(comment: Comment, stations: dict[int, tuple[int, bool]], unit: float) -> ToolHint | None:
    """The tool a comment describes, or None if it describes none."""
    if (listed := _listed_tool(comment, stations, unit)) is not None:
        return listed
    named = {int(match[1]) for match in _STATION.finditer(comment.plain)}
    rest = _DIAMETER_OF.sub(r"\1 ", _STATION.sub(" ; ", comment.plain))
    kind, phrase_found, rest = _kind(rest)
    if kind is None and phrase_found:
        return None
    words = read_tool_words(rest, kind=kind, unit=unit)
    if kind is None and words.diameter is None:
        return None
    if kind is None and words.flutes is not None:
        kind = words.kind = "end mill"
    if len(named) > 1 or (kind is None and not words.named_diameter and not named):
        return None
    station, same_line = (named.pop(), True) if named else stations.get(comment.line, (None, False))
    says_both = words.diameter is not None and (kind is not None or _TOOL_DIAMETER.search(rest) is not None)
    only_named = phrase_found == comment.plain and phrase_found.endswith(("ER", "MILL"))  # a word for the tool, not for the work
    is_title = not (named or same_line or says_both or only_named) and len(phrase_found.split()) < 2
    of_blank = BLANK_WORDS.search(comment.plain) or (kind is None and [*_sheet_sizes(comment.plain)])
    if is_title or (station is None and not says_both) or ((station is None or not (named or kind)) and of_blank):
        return None
    low = _DEEPEST.search(comment.plain)
    deepest = None if low is None else length_mm(low[1].removeprefix("-"), "", unit=unit) * (-1.0 if low[1][0] == "-" else 1.0)
    return ToolHint(line=comment.line, text=comment.text, station=station, named=_STATION.search(comment.plain) is not None,
                    kind=words.kind, diameter=words.diameter, corner_radius=words.corner_radius, point_angle=words.point_angle,
                    flutes=words.flutes, pitch=words.pitch, deepest=deepest)  # fmt: skip


def _kind(text: str) -> tuple[ToolKind | None, str, str]:
    """The one kind of tool a text names (None if it names none or several), the phrase, and the text without it."""
    taken: list[tuple[ToolKind, int, int]] = []
    for kind, pattern in KINDS:
        for match in pattern.finditer(text):
            if all(match.end() <= start or match.start() >= end for _, start, end in taken):
                taken.append((kind, match.start(), match.end()))
    if not taken:
        return None, "", text
    rest = text
    for _, start, end in taken:
        rest = rest[:start] + "|" * (end - start) + rest[end:]
    kinds = {kind for kind, _, _ in taken}
    _, start, end = taken[0]
    return (kinds.pop() if len(kinds) == 1 else None), text[start:end], rest


# --- blank and material ------------------------------------------------------------------------------------------------------


def _blank(comment: Comment, unit: float, *, goes_on: bool) -> Iterator[BlankHint]:
    """Sizes beside a word for the blank: axis by axis, as a product, or named one by one. `goes_on`: the comment before spoke of
    the blank."""
    text = _of_the_blank(comment.plain)
    is_round = ROUND_WORDS.search(text) is not None
    speaks = BLANK_WORDS.search(text) is not None
    if speaks or goes_on or SHAPE_WORDS.search(text) or THICK_WORDS.search(text) or [*_sheet_sizes(text)]:
        named = _named_sizes(text, unit)
        if "thick" in named or (len(named) > 1 and (speaks or goes_on or SHAPE_WORDS.search(text))):
            yield BlankHint(line=comment.line, text=comment.text, **named, size=_beside(text, unit, **named))
            return
        if "long" in named and len(section := _product(text, unit)) == 2 and BAR_WORDS.search(text) and not is_round:
            yield BlankHint(line=comment.line, text=comment.text, thick=min(section), wide=max(section), long=named["long"])
            return
        if len(size := _product(text, unit)) == 3 and PLATE_WORDS.search(text) and min(size) == size[0] < min(size[1:]):
            yield BlankHint(line=comment.line, text=comment.text, thick=size[0], wide=min(size[1:]), long=max(size[1:]))
            return
    if not (speaks or is_round or MATERIALS.search(text)):
        return
    along: dict[str, set[float]] = {}
    for axis, number, name in [] if _product(text, unit) else _ALONG.findall(text):
        along.setdefault(axis, set()).add(length_mm(number, name, unit=unit))
    if {"X", "Y"} <= along.keys() and speaks:
        sizes = [along[axis] for axis in "XYZ" if axis in along]
        if all(len(one) == 1 for one in sizes) and all(min(one) > 0.0 for one in sizes):
            yield BlankHint(line=comment.line, text=comment.text, size=tuple(min(one) for one in sizes))
        return
    text = _DIAMETER_BEHIND.sub(r"D\1 \2 X", text)
    size = _product(text, unit)
    if not size and is_round and (across := _ACROSS.search(text)) is not None and "long" in (named := _named_sizes(text, unit)):
        number, name = (across[1], across[2]) if across[1] else (across[3], across[4])
        yield BlankHint(line=comment.line, text=comment.text, round=(length_mm(number, name or "", unit=unit), named["long"]))
        return
    if len(size) == 2 and (is_round or _DIAMETER_FIRST.search(text)):
        yield BlankHint(line=comment.line, text=comment.text, round=size)
    elif size and not is_round:
        yield BlankHint(line=comment.line, text=comment.text, size=size)


def _of_the_blank(text: str) -> str:
    """What a comment may say of the blank: without the places of zero, and without the clauses that speak of something else."""
    clauses = re.split(r"([,;]|\b(?:WITH|HAVING|MIT|CON|AVEC)\b)", _EVERY_SIDE.sub(" ; ", _ZEROES.sub(" ; ", text)))
    return "".join("" if ANOTHER_SIZE.search(clause) else clause for clause in clauses)


def _beside(text: str, unit: float, *, thick: float | None = None, long: float | None = None, wide: float | None = None
            ) -> tuple[float, ...]:  # fmt: skip
    """The product of two sizes beside a thickness, along X and Y; bare numbers are in the program's unit or in the one that the
    thickness is given in, whichever makes a sheet of it; empty where both do."""
    size = _product(text, unit)
    if len(size) == 3:
        return size
    if len(size) != 2 or thick is None or long is not None or wide is not None:
        return ()
    names = {"MM" if name == "MM" else "IN" for name in re.findall(_UNIT_SAID, text)} | {"IN" for _ in re.findall(r"\d/\d", text)}
    other = 1.0 if names == {"MM"} else _INCH if names == {"IN"} else unit
    readings = {size, tuple(length / unit * other for length in size)} if not _says_unit(text) else {size}
    if len(readings) > 1:
        readings = {one for one in readings if _SHEET_SIDES * thick <= min(one) and max(one) <= _LONGEST_SHEET_MM}
    return readings.pop() if len(readings) == 1 else ()


def _says_unit(text: str) -> bool:
    """Whether the only product of sizes names its unit."""
    found = _PRODUCT.findall(text)
    return len(found) == 1 and any(found[0][at] or "/" in found[0][at - 1] for at in (1, 3, 5))


def _named_sizes(text: str, unit: float) -> dict[str, Any]:
    """Sizes with a word each ("12 mm thick", "thickness 1/4 in"), mm; a bare number takes the only unit the comment names."""
    found: dict[str, set[float]] = {}
    names = {name for name in re.findall(_UNIT_SAID, text) if name}
    per = {"MM" if name == "MM" else "IN" for name in names}
    common = ("MM" if per == {"MM"} else "IN" if per == {"IN"} else "") if len(per) == 1 else ""
    for which, before, after in NAMED_SIZES:
        pairs = [match.groups() for match in re.finditer(rf"(?<![\d.,/]){LENGTH}[ -]*(?:{after})(?![A-Z])", text)]
        for match in re.finditer(rf"(?<![A-Z])(?:{before})(?![A-Z])[^\d.,;]{{0,24}}{LENGTH}(?: ?[=(,]? ?{LENGTH})?", text):
            if "=" not in match[0] and re.search(rf"{LENGTH}[ -]*$", text[: match.start()]):  # its number stands before it
                continue
            first, name, second, other = match.groups()
            pairs += [(first, name), *([(second, other)] if second and other else [])]
        pairs += _sheet_sizes(text) if which == "thick" else []
        found[which] = {round(length_mm(number, name or ("" if "/" in number else common), unit=unit), 4) for number, name in pairs}
    return {which: min(sizes) for which, sizes in found.items()
            if sizes and max(sizes) - min(sizes) <= SAME_SIZE_MM and min(sizes) > 0.0}  # fmt: skip


def _sheet_sizes(text: str) -> Iterator[tuple[str, str]]:
    """Lengths right before a word for sheet; not a number that counts drawings or operations, nor the grade of a material."""
    for match in _SHEET_SIZE.finditer(text):
        number, name = match.groups()
        grade = not name and MATERIALS.fullmatch(number) is not None
        if not grade and _is_size(number) and _NUMBERED.search(text[: match.start()]) is None:
            yield number, name


def _is_size(number: str) -> bool:
    """Whether a number is one that a size is written with: fractions are below 1 and of halves, quarters, up to sixty-fourths."""
    over, _, under = re.split(r"[ -]", number)[-1].partition("/")
    return not under or (int(under) in (2, 4, 8, 16, 32, 64) and int(over) < int(under))


def _product(text: str, unit: float) -> tuple[float, ...]:
    """The only product of sizes in a text, mm; empty if there is none, or several, or a size that is not above 0."""
    products = _PRODUCT.findall(text)
    if len(products) != 1 or not all(_is_size(products[0][at]) for at in (0, 2, 4) if products[0][at]):
        return ()
    numbers = [(products[0][i], products[0][i + 1]) for i in (0, 2, 4) if products[0][i]]
    common = next((name for _, name in reversed(numbers) if name), "")
    size = tuple(length_mm(number, name or common, unit=unit) for number, name in numbers)
    return size if min(size) > 0.0 else ()


def _part(comments: Sequence[Comment], unit: float) -> list[BlankHint]:
    """Three sizes beside the name of a part, where all such comments agree: nothing else speaks of the blank."""
    said = ((comment, _of_the_blank(comment.plain)) for comment in comments)
    sized = [(comment, _product(text, unit)) for comment, text in said if SHAPE_WORDS.search(text)]
    found = [BlankHint(line=comment.line, text=comment.text, size=size) for comment, size in sized if len(size) == 3]
    return found if len({hint.size for hint in found}) == 1 else []


def _with_every_side(hint: BlankHint, comments: Sequence[Comment], unit: float) -> BlankHint:
    """The same with what its own comment says there is more on every side."""
    texts = [comment.plain for comment in comments if comment.line == hint.line and comment.text == hint.text]
    found = next((match for text in texts if (match := _EVERY_SIDE.search(text)) is not None), None)
    return hint if found is None else replace(hint, every_side=length_mm(found[1], found[2] or "", unit=unit))


def _finished(comments: Sequence[Comment], unit: float) -> Iterator[BlankHint]:
    """Three sizes of the finished part: no blank is smaller."""
    for comment in comments:
        for clause in re.split(r"[,;]|\b(?:WITH|FROM)\b", comment.plain):
            if _AS_FINISHED.search(clause) and not ANOTHER_SIZE.search(_AS_FINISHED.sub(" ", clause)):
                size = _product(clause, unit)
                if len(size) == 3:
                    yield BlankHint(line=comment.line, text=comment.text, size=size)


def _material(comment: Comment) -> Iterator[MaterialHint]:
    """The material, where a comment that describes no tool names one."""
    found = [match.group() for match in MATERIALS.finditer(comment.plain)]
    grade_only = bool(found) and all(word.isdigit() for word in found)
    speaks_of_it = BLANK_WORDS.search(comment.plain) or _MATERIAL_LABEL.search(comment.plain)
    if found and (speaks_of_it or not grade_only):
        yield MaterialHint(line=comment.line, text=comment.text, material=" ".join(dict.fromkeys(found)))


# --- contradictions ------------------------------------------------------------------------------------------------------------


def _contradictions(hints: Hints) -> Iterator[Contradiction]:
    for station in sorted({hint.station for hint in hints.tools if hint.station is not None}):
        own = hints.of_station(station)
        kinds = {hint.kind for hint in own if hint.kind is not None}
        sizes = [hint.diameter for hint in own if hint.diameter is not None]
        if len(kinds) > 1 or (sizes and max(sizes) - min(sizes) > SAME_SIZE_MM):
            yield _contradiction(f"tool {station}", own)
    if _differ(hints.blanks):
        yield _contradiction("the blank", hints.blanks)
    for axis in ("x", "y", "z", "above"):
        if len({getattr(hint, axis) for hint in hints.zeros} - {None}) > 1:
            yield _contradiction("where zero lies", hints.zeros)
            return


def _differ(blanks: Sequence[BlankHint]) -> bool:
    """Whether comments give different sizes of one thing."""
    whole = {hint.size or hint.round for hint in blanks} - {()}
    thick = [hint.thick for hint in blanks if hint.thick is not None] + [size[2] for size in whole if len(size) == 3]
    named = [[v for hint in blanks if (v := getattr(hint, which)) is not None] for which in ("long", "wide")]
    return len(whole) > 1 or any(sizes and max(sizes) - min(sizes) > SAME_SIZE_MM for sizes in (thick, *named))


def _contradiction(what: str, hints: Sequence[ToolHint | BlankHint | ZeroHint]) -> Contradiction:
    ordered = sorted(hints, key=lambda hint: hint.line)
    return Contradiction(what=what, lines=tuple(h.line for h in ordered), texts=tuple(h.text for h in ordered))
