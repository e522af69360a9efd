"""A part program as it came: its bytes, its lines, and the place of anything in it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import overload

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.program.scan import GENERAL, Scan, scan

__all__ = ["Lines", "Source", "SourceText"]

_LARGEST_BYTES = 2**31 - 1
_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_FINE = bytes(code for code in range(256) if code >= 32 or code in (0, 9, 10, 13, 26))
_MANY_CONTROL_BYTES = 3
_AT_ONCE = 16, 4096
_FREQUENT = "GNXYZIJKRFgnxyzijkrf"
_EVERYWHERE = f"\t\n\r +-.0123456789{_FREQUENT}"
_LINE_END = re.compile("\r\n|\n|\r")


@dataclass(frozen=True, slots=True)
class Source:
    """One program file: the name shown in messages, and its content as bytes (preferred) or text."""

    name: str
    text: str | bytes


class Lines(Sequence[str]):
    """The lines of a text by position from 0, without their ends; each is decoded when somebody looks at it. Bytes that are no
    UTF-8 are read as one character each.

    `data` uint8 (bytes,); `begins` int32 (lines + 1,): byte at which each line begins, and the size of the text.
    """

    def __init__(self, data: NDArray[np.uint8], begins: NDArray[np.int32]) -> None:
        self._data, self._begins = data, begins

    @classmethod
    def of(cls, data: bytes) -> Lines:
        """The lines of a text; one ends at LF, CR LF or CR, as for the scanner."""
        text = np.frombuffer(data, np.uint8)
        ends = np.flatnonzero((text == 10) | (text == 13))
        ends = ends[~((text[ends] == 13) & (text[np.minimum(ends + 1, text.size - 1)] == 10) & (ends + 1 < text.size))]
        begins = np.concatenate([[0], ends + 1])
        return cls(text, np.append(begins if begins[-1] < text.size else begins[:-1], text.size).astype(np.int32))

    def __len__(self) -> int:
        return int(self._begins.size) - 1

    def __iter__(self) -> Iterator[str]:
        return self.behind(0)

    def behind(self, at: int) -> Iterator[str]:
        """The lines from a position on: first a few, for whoever soon has enough, then many at a time, which is sooner."""
        count = _AT_ONCE[0]
        while at < len(self):
            yield from self[at : at + count]
            at, count = at + count, min(2 * count, _AT_ONCE[1])

    @overload
    def __getitem__(self, at: int) -> str: ...

    @overload
    def __getitem__(self, at: slice) -> list[str]: ...

    def __getitem__(self, at: int | slice) -> str | list[str]:
        if isinstance(at, slice):
            return self._between(*at.indices(len(self)))
        at = range(len(self))[at]
        return _decoded(self._data[self._begins[at] : self._begins[at + 1]].tobytes().rstrip(b"\r\n"))

    def _between(self, first: int, last: int, step: int) -> list[str]:
        if step != 1 or last <= first:
            return [self[at] for at in range(first, last, step)]
        try:
            lines = _LINE_END.split(self._data[self._begins[first] : self._begins[last]].tobytes().decode("utf-8"))
        except UnicodeDecodeError:
            return [self[at] for at in range(first, last)]
        return lines[: last - first]

    def with_any(self, signs: str) -> NDArray[np.int64]:
        """The positions of the lines that may hold one of these ASCII signs, ascending: a letter counts as small and as capital,
        and so does every character beyond ASCII, whose capital might be one of them."""
        both = signs.upper() + signs.lower()
        wanted = np.array([code > 127 or chr(code) in both for code in range(256)])
        places = self._places(_FREQUENT) if set(both) & set(_FREQUENT) else self._rare
        lines = np.asarray(self._begins.searchsorted(places[wanted[self._data[places]]], side="right") - 1, np.int64)
        return np.asarray(lines[np.diff(lines, prepend=-1) > 0])

    @cached_property
    def _rare(self) -> NDArray[np.int64]:
        """The places of all signs but those of which a long program consists: there are few, and one search finds them."""
        return self._places("")

    def _places(self, more: str) -> NDArray[np.int64]:
        """The places of the rare signs, and of `more`."""
        table = bytes(chr(code) not in _EVERYWHERE or chr(code) in more for code in range(256))
        return np.flatnonzero(np.frombuffer(self._data.tobytes().translate(table), np.bool_))


class SourceText:
    """A source made ready: scanned once, with the text of any line on demand.

    `source`: as it came; `data` uint8 (bytes,) without any byte-order mark; `scan` the words of all lines. Raises InputRefused for
    what is no text.
    """

    __slots__ = ("data", "name", "scan", "source")

    def __init__(self, source: Source) -> None:
        self.source = source
        self.name = source.name
        self.data = _bytes_of(source)
        self.scan: Scan = scan(self.data)

    @classmethod
    def of(cls, source: Source | SourceText) -> SourceText:
        """The same made ready, unless it is."""
        return source if isinstance(source, SourceText) else cls(source)

    def __len__(self) -> int:
        return int(self.scan.flags.size)

    @property
    def digest(self) -> str:
        """The SHA-256 of the file as it came."""
        text = self.source.text
        return hashlib.sha256(text.encode("utf-8") if isinstance(text, str) else text).hexdigest()

    def line(self, number: int) -> str:
        """The text of a line (from 1) without its line end; bytes that are no UTF-8 are read as one character each."""
        return self.lines[number - 1] if number > 0 else ""

    @property
    def lines(self) -> Lines:
        """All lines."""
        return Lines(self.data, self.scan.line_at)

    def span(self, line: int, column: int = 0, length: int = 1) -> Span:
        """The place of `length` characters from `column` (both from 1; column 0 = the whole line)."""
        return Span(self.name, line, column, length, self.line(line)) if 0 < line <= len(self) else Span(self.name)

    def word_span(self, line: int, column: int, length: int = 1) -> Span:
        """The place of a word of a block; for lines that the scanner read, `column` counts bytes."""
        if 0 < line <= len(self) and not self.scan.flags[line - 1] & GENERAL:
            start = int(self.scan.line_at[line - 1])
            before = self.data[start : start + max(column - 1, 0)].tobytes()
            column -= len(before) - len(before.decode("utf-8")) if _is_utf8(before) else 0
        return self.span(line, column, length)


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def _is_utf8(raw: bytes) -> bool:
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _bytes_of(source: Source) -> NDArray[np.uint8]:
    raw = source.text.encode("utf-8") if isinstance(source.text, str) else source.text
    for mark, encoding in _MARKS:
        if raw.startswith(mark):
            body = raw[len(mark) :]
            raw = body if encoding == "utf-8" else body.decode(encoding, errors="replace").encode("utf-8")
            break
    if len(raw) > _LARGEST_BYTES:
        raise InputRefused.because("the file is larger than 2 GiB", remedy="cut the program into parts", span=Span(source.name))
    strange = raw.translate(None, _FINE)
    if len(strange) > _MANY_CONTROL_BYTES:
        line = raw[: raw.index(strange[:1])].count(b"\n") + 1
        raise InputRefused.because(
            "this is not a part program",
            why=f"it holds {len(strange)} bytes that stand for no character, the first in line {line}",
            remedy="the file is damaged or of another kind: fetch it again from where it was made",
            span=Span(source.name, line),
        )
    return np.frombuffer(raw, np.uint8)
