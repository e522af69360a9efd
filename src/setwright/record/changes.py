"""What changed between two states of a job's files, in words: keys of the documents, lines of the programs, other files."""

from __future__ import annotations

import difflib
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

__all__ = ["Change", "called", "changes", "size_said"]

_NAMES: Final = ("name", "station", "use")
"""What an item of a list is called by, if it has one of these."""
_MOST_LINES: Final = 200


@dataclass(frozen=True, slots=True)
class Change:
    """One change: the file, what in it (a key, a line), and what it was and is as written; None where there was or is nothing."""

    file: str
    what: str
    before: str | None
    after: str | None

    def __str__(self) -> str:
        place = f"{self.file}: {self.what}" if self.what else self.file
        if self.before is None:
            return f"{place}: new, {self.after}"
        return f"{place}: taken out, was {self.before}" if self.after is None else f"{place}: was {self.before}, is {self.after}"

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        return {"file": self.file, "what": self.what, "before": self.before, "after": self.after}


def changes(before: Mapping[str, bytes], after: Mapping[str, bytes]) -> list[Change]:
    """The changes from one set of files to another, by path; empty when every byte is the same.

    >>> [str(change) for change in changes({"job.toml": b"a = 1"}, {"job.toml": b"a = 2"})]
    ['job.toml: a: was 1, is 2']
    >>> changes({}, {})
    []
    """
    found: list[Change] = []
    for path in sorted({*before, *after}):
        old, new = before.get(path), after.get(path)
        if old is None or new is None:
            found.append(Change(path, "", size_said(old), size_said(new)))
        elif old != new:
            found += _within(path, old, new)
    return found


def size_said(data: bytes | None) -> str | None:
    """How large a file is, in words; None for none."""
    return None if data is None else "1 byte" if len(data) == 1 else f"{len(data):,} bytes"


def _within(path: str, old: bytes, new: bytes) -> list[Change]:
    try:
        texts = old.decode("utf-8-sig"), new.decode("utf-8-sig")
    except UnicodeDecodeError:
        return [Change(path, "", size_said(old), size_said(new))]
    if path.endswith(".toml"):
        try:
            documents = tomllib.loads(texts[0]), tomllib.loads(texts[1])
        except tomllib.TOMLDecodeError:
            return _lines(path, *texts)
        found = _keys(path, *(_flat(document) for document in documents))
        return found or [Change(path, "comments or order", size_said(old), size_said(new))]
    return _lines(path, *texts)


def _flat(value: Any, under: str = "") -> dict[str, str]:
    """Every value of a document by its path; an item of a list goes by its name, or else by its number."""
    if isinstance(value, dict):
        items = [(f"{under} › {key}" if under else key, item) for key, item in value.items()]
    elif isinstance(value, list) and any(isinstance(item, dict) for item in value):
        items = [(f"{under} {called}", item) for called, item in zip(called(value), value, strict=True)]
    else:
        return {under: json.dumps(value, ensure_ascii=False, default=str)}
    return {path: text for name, item in items for path, text in _flat(item, name).items()}


def called(items: list[Any]) -> list[str]:
    """What the items of a list go by: their names in quotes, or the number (from 1) of one that has none of its own."""
    names = [next((f"“{item[key]}”" for key in _NAMES if isinstance(item, dict) and key in item), "") for item in items]
    return [name if name and names.count(name) == 1 else str(number) for number, name in enumerate(names, 1)]


def _keys(path: str, old: Mapping[str, str], new: Mapping[str, str]) -> list[Change]:
    order = list(dict.fromkeys((*new, *old)))
    return [Change(path, key, old.get(key), new.get(key)) for key in order if old.get(key) != new.get(key)]


def _lines(path: str, old: str, new: str) -> list[Change]:
    """Lines that changed, numbered in the text where they stand: the new one, or the old one for lines taken out."""
    a, b = old.splitlines(), new.splitlines()
    if a == b:
        return [Change(path, "line ends", None, None)]
    found: list[Change] = []
    for tag, a0, a1, b0, b1 in difflib.SequenceMatcher(None, a, b, autojunk=False).get_opcodes():
        if tag != "equal":
            was, is_ = a[a0:a1], b[b0:b1]
            for row in range(max(len(was), len(is_))):
                first = was[row] if row < len(was) else None
                second = is_[row] if row < len(is_) else None
                line = b0 + row if second is not None else a0 + row
                found.append(Change(path, f"line {line + 1}", first, second))
    if len(found) > _MOST_LINES:
        rest = len(found) - _MOST_LINES
        found = [*found[:_MOST_LINES], Change(path, f"and {rest:,} more lines", f"{len(a):,} lines", f"{len(b):,} lines")]
    return found
