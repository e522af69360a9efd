"""The lines of a program, cut apart and decoded only when somebody looks at one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import overload

__all__ = ["Lines"]


class Lines(Sequence[str]):
    """A program's lines by position from 0; bytes that are no UTF-8 are read as one character each."""

    def __init__(self, data: bytes) -> None:
        self._data = data.removeprefix(b"\xef\xbb\xbf")

    @cached_property
    def _raw(self) -> list[bytes]:
        raw = self._data.split(b"\n")
        return raw[:-1] if raw and not raw[-1] else raw

    def __len__(self) -> int:
        return len(self._raw)

    def __iter__(self) -> Iterator[str]:
        """All of them in one go, several times sooner than one by one."""
        try:
            lines = self._data.decode("utf-8").split("\n")
        except UnicodeDecodeError:
            return map(_decoded, self._raw)
        if lines and not lines[-1]:
            lines.pop()
        return (line.rstrip("\r") for line in lines)

    @overload
    def __getitem__(self, at: int) -> str: ...

    @overload
    def __getitem__(self, at: slice) -> Sequence[str]: ...

    def __getitem__(self, at: int | slice) -> str | Sequence[str]:
        if isinstance(at, slice):
            return [_decoded(raw) for raw in self._raw[at]]
        return _decoded(self._raw[at])


def _decoded(raw: bytes) -> str:
    raw = raw.rstrip(b"\r")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")
