"""Where a program says that the part is clamped anew: a stop, and words beside it such as "flip", "re-clamp" or "second side".

A stop alone says nothing: it may be there to clear chips or to check a size. Only what is written near it counts, and only where
something was cut before and something is cut behind it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from setwright.geometry.moves import MoveKind
from setwright.program.hints import Comment, comments_of
from setwright.program.path import Path
from setwright.program.trade_words import MOVED_WORDS, NEXT_WORDS, ROTATED_WORDS, TURNED_OVER_WORDS, ZERO_ANEW_WORDS

__all__ = ["Clamping", "clampings", "said_at"]

Way = Literal["turned over", "rotated", "moved", "set anew"]

_BEFORE: Final = 8
_BEHIND: Final = 12
_GOES_SIDEWAYS: Final = re.compile(r"(?<![A-Z#])[XY] ?[-+.\d#\[]")
_IN_THE_MACHINE: Final = re.compile(r"G ?(?:53|28|30)(?![\d.])")
_STOPS: Final = re.compile(r"(?<![A-Z#])M ?0*[01](?![\d.])")
_NEGATED: Final = re.compile(r"(?:DO NOT|DON ?.? ?T|NO NEED TO|NEVER|WITHOUT|NICHT|OHNE|NE PAS|SANS|NO|NON|SENZA|SIN|NE)(?![A-Z])"
                             r"[^.;,]*$")  # fmt: skip
_LOOKED_AT: Final = re.compile(r"CHECK|MEASURE|INSPECT|VERIFY|PRUEF|PRUF|MESSEN|KONTROLL|CONTROL|MESURE|MEDIR|MISURA|IZMER|PROVER")
_OPERATION: Final = re.compile(r"(?<![A-Z])OP(?:ERATION|ERACION|ERAZIONE|\.)? ?(?:NO\.?|NR\.?|#)? ?0*(\d{1,3})(?![\d.])")
_AXIS: Final = re.compile(r"(?:ABOUT|AROUND|OVER|ON|UM|AUTOUR|SUR|ALREDEDOR|SOBRE|EN|INTORNO|ATTORNO|VOKRUG)"
                          r"(?: (?:THE|DIE|DE|DEL|L|LA|EL|EJE|AXE|ALL|ASSE|A|AXIS|OSI))*[ '-]*([XYZ])(?![A-Z])"
                          r"|(?<![A-Z])([XYZ])[ -]?(?:AXIS|ACHSE)")  # fmt: skip
_ANGLE: Final = re.compile(r"(?<![\d.])(90|180|270)(?![\d.])")


@dataclass(frozen=True, slots=True)
class Clamping:
    """A stop at which the part is clamped anew, as the text says. `line`: the stop's; `before`: the path row behind it; `text`,
    `said`: the comment and its line.

    `way`: what it says of the part; "set anew": another operation, side or zero. `axis`, `by`: how far it is turned about which
    axis of the program, "" and 0 where the text does not say.
    """

    file: str
    line: int
    before: int
    text: str
    said: int
    way: Way
    axis: Literal["", "x", "y", "z"] = ""
    by: Literal[0, 90, 180, 270] = 0


def clampings(texts: Mapping[str, Sequence[str]], path: Path) -> tuple[Clamping, ...]:
    """Every stop of the path at which the text says that the part is clamped anew, in their order. `texts`: lines by file."""
    feed = np.concatenate([[0], np.cumsum(path.kind != MoveKind.RAPID)])
    found: list[Clamping] = []
    last = 0
    read: dict[str, _Text] = {}
    for event in path.events:
        name = path.files[event.file]
        cut, still = feed[event.before] > feed[last], feed[-1] > feed[event.before]
        if event.kind not in ("stop", "optional stop") or not (cut and still) or name not in texts:
            continue
        if name not in read:
            read[name] = _Text(texts[name])
        said = read[name].near(event.line, optional=event.kind == "optional stop")
        if said is not None:
            comment, way = said
            axis, angle = _AXIS.search(comment.plain), _ANGLE.search(comment.plain)
            about = (axis[1] or axis[2]).lower() if axis and way in ("turned over", "rotated") else ""
            by = int(angle[1]) if angle and way in ("turned over", "rotated") else 0
            found.append(Clamping(name, event.line, event.before, comment.text, comment.line, way, about, by))  # type: ignore[arg-type]
            last = event.before
    return tuple(found)


def said_at(lines: Sequence[str], stop: int) -> str:
    """What the text says at a stop of the part being clamped anew; "" for nothing. `stop`: its line, from 1."""
    text = _Text(lines)
    said = text.near(stop, optional=False)
    return said[0].text if said is not None else ""


class _Text:
    """A program's comments by line, and its code."""

    def __init__(self, lines: Sequence[str]) -> None:
        comments, self.codes = comments_of(lines)
        self.comments: dict[int, list[Comment]] = {}
        for comment in comments:
            self.comments.setdefault(comment.line, []).append(comment)
        near = {line for stop in self.codes.holding(_STOPS, "M") for line in self._lines_near(stop)}
        away = [comment.plain for comment in comments if comment.line not in near]
        numbers = [int(found[1]) for text in away if (found := _OPERATION.search(text))]
        self.own_operation = numbers[0] if numbers else 0
        self.counts_tools = len(set(numbers)) > 1

    def near(self, stop: int, *, optional: bool) -> tuple[Comment, Way] | None:
        """The comment beside a stop that says most plainly that the part is clamped anew."""
        said = [(comment, way) for line in self._lines_near(stop) for comment in self.comments.get(line, ())
                for way in self._ways(comment.plain, optional=optional)]  # fmt: skip
        order: tuple[Way, ...] = ("turned over", "rotated", "moved", "set anew")
        return min(said, key=lambda one: order.index(one[1]), default=None)

    def _lines_near(self, stop: int) -> list[int]:
        """The stop's line, what is written behind it up to the first move across the work, and before it down to the last one."""
        behind, before = [stop], []
        for line in range(stop + 1, min(stop + _BEHIND, len(self.codes)) + 1):
            behind.append(line)
            if self._moves(line):
                break
        for line in range(stop - 1, max(stop - _BEFORE, 0), -1):
            if self._moves(line) or _STOPS.search(self.codes[line - 1]):
                break
            before.append(line)
        return behind + before

    def _moves(self, line: int) -> bool:
        code = self.codes[line - 1]
        return _GOES_SIDEWAYS.search(code) is not None and _IN_THE_MACHINE.search(code) is None

    def _ways(self, text: str, *, optional: bool) -> Iterator[Way]:
        """What a comment says of the part; an optional stop needs plain words of it, a number of an operation is none."""
        words: tuple[tuple[Way, re.Pattern[str]], ...] = (
            ("turned over", TURNED_OVER_WORDS), ("rotated", ROTATED_WORDS), ("moved", MOVED_WORDS), ("set anew", NEXT_WORDS),
            *(() if optional else (("set anew", ZERO_ANEW_WORDS),)),
        )  # fmt: skip
        for way, pattern in words:
            match = pattern.search(text)
            if match and not _NEGATED.search(text[: match.start()]) and not (way == "set anew" and _LOOKED_AT.search(text)):
                yield way
        number = _OPERATION.search(text)
        if number and not optional and not self.counts_tools and int(number[1]) not in (1, 10, self.own_operation):
            yield "set anew"
