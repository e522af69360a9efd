"""A part program as it came: its bytes, its lines, and the place of anything in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.program.scan import GENERAL, Scan, scan

__all__ = ["Source", "SourceText"]

_LARGEST_BYTES = 2**31 - 1
_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_FINE = bytes(code for code in range(256) if code >= 32 or code in (0, 9, 10, 13, 26))
_MANY_CONTROL_BYTES = 3


@dataclass(frozen=True, slots=True)
class Source:
    """One program file: the name shown in messages, and its content as bytes (preferred) or text."""

    name: str
    text: str | bytes


class SourceText:
    """A source made ready: scanned once, with the text of any line on demand.

    `data` uint8 (bytes,) without any byte-order mark; `scan` the words of all lines. Raises InputRefused for what is no text.
    """

    __slots__ = ("data", "name", "scan")

    def __init__(self, source: Source) -> None:
        self.name = source.name
        self.data = _bytes_of(source)
        self.scan: Scan = scan(self.data)

    def __len__(self) -> int:
        return int(self.scan.flags.size)

    def line(self, number: int) -> str:
        """The text of a line (from 1) without its line end; bytes that are no UTF-8 are read as one character each."""
        raw = self.data[self.scan.line_at[number - 1] : self.scan.line_at[number]].tobytes().rstrip(b"\r\n")
        try:
            return raw.decode("utf-8")
        except UnicodeDecodeError:
            return raw.decode("latin-1")

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
