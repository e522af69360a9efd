"""Two people's changes of one job put together: field by field in TOML, by line in other texts; what overlaps is shown with both
values.

The state that a change was made from tells what each of the two changed. What only one of them changed is taken from that one; what
both changed alike is taken once; what both changed otherwise is a clash, which only a person can settle. A TOML text that was put
together is read again and held against the values that were to come out of it; where it differs the whole file is a clash. So
nothing is lost unseen.
"""

from __future__ import annotations

import copy
import difflib
import json
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import tomlkit
from tomlkit.exceptions import TOMLKitError

from setwright.base.errors import Problem
from setwright.base.span import Span
from setwright.record.blobs import Blobs
from setwright.record.changes import Change, called, changes, size_said
from setwright.record.jobs import ReadsJob, Revision, find_revision, revise, stale
from setwright.record.refusals import Clashing, NotThere, Stale
from setwright.record.store import Record

__all__ = ["Choice", "Clash", "Joined", "Joins", "Saved", "join", "merge_files", "save"]

_MOST_TRIES: Final = 100
_MOST_LINES: Final = 5_000
"""Lines between the first and the last change of a text; with more, the file is one clash."""
_ABSENT: Final = object()
Steps = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Clash:
    """Something that two people changed otherwise: the file, what in it, and what it was, is in `yours`, and is in `theirs`, as
    written; None where there was or is nothing."""

    file: str
    what: str
    before: str | None
    yours: str | None
    theirs: str | None

    def __str__(self) -> str:
        place = f"{self.file}: {self.what}" if self.what else self.file
        yours, theirs = ("taken out" if one is None else one for one in (self.yours, self.theirs))
        return f"{place}: yours {yours}, theirs {theirs}"

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        return {name: getattr(self, name) for name in ("file", "what", "before", "yours", "theirs")}


@dataclass(frozen=True, slots=True)
class Choice:
    """How a person settled a clash, having seen `theirs`; it counts for no other value of theirs."""

    file: str
    what: str
    theirs: str | None
    take: Literal["yours", "theirs"]


@dataclass(frozen=True, slots=True)
class Saved:
    """The revision that a change made, and what others had changed since the state it was made from (empty if nothing)."""

    revision: Revision
    others: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class Joined:
    """What to change in the newest revision so that it holds both changes, what only a person can settle, what others changed."""

    files: dict[str, bytes | None]
    clashes: list[Clash]
    others: tuple[Change, ...]


Joins = Callable[[Blobs, Revision, Mapping[str, bytes | None], Revision, Sequence[Choice]], Joined]
"""How a change is put together with those of others: `join`, here or in another process."""


def join(
    blobs: Blobs, base: Revision, changed: Mapping[str, bytes | None], newest: Revision, choices: Sequence[Choice] = ()
) -> Joined:
    """A change made from `base`, put together with what others made of it: `newest`. A file that is the same in both and was not
    changed is not read."""
    paths = {*changed, *(path for path in (*base.files, *newest.files) if base.files.get(path) != newest.files.get(path))}
    old, theirs = ({path: blobs.get(sha) for path, sha in one.files.items() if path in paths} for one in (base, newest))
    return Joined(*merge_files(old, changed, theirs, choices), tuple(changes(old, theirs)))


def save(
    record: Record, name: str, changed: Mapping[str, bytes | None], *, based_on: int, by: str, note: str = "",
    choices: Sequence[Choice] = (), read: ReadsJob | None = None, joins: Joins = join,
) -> Saved:  # fmt: skip
    """Change files of a job as `revise` does, put together with what others changed since `based_on`; `read` as there.

    Raises Clashing where the changes overlap and `choices` do not settle it, NotThere when there is no such revision, InputRefused
    when the result would be no job.
    """
    for _ in range(_MOST_TRIES):
        newest = find_revision(record, name)
        if newest.number < based_on:
            raise NotThere.because(f'"{name}" has no revision {based_on}', remedy="look at its history")
        try:
            if newest.number == based_on:
                return Saved(revise(record, name, changed, based_on=based_on, by=by, note=note, read=read))
            base = find_revision(record, name, number=based_on)
            joined = joins(record.blobs, base, changed, newest, choices)
            if joined.clashes:
                raise _clashing(joined.clashes, newest, based_on)
            said = f"{note} (put together with revision {newest.number})".strip()
            made = revise(record, name, joined.files, based_on=newest.number, by=by, note=said[:500], read=read)
        except Stale:  # somebody was faster once more
            continue
        return Saved(made, joined.others)
    raise stale(find_revision(record, name), based_on)


def _clashing(clashes: Sequence[Clash], newest: Revision, based_on: int) -> Clashing:
    why = f"{newest.by} changed it on {newest.at:%Y-%m-%d %H:%M UTC}, since your revision {based_on}"
    remedy = "choose yours or theirs for each; nothing was written"
    return Clashing([Problem(str(one), why=why, remedy=remedy, span=Span(one.file)) for one in clashes],
                    [one.as_plain() for one in clashes], newest.number)  # fmt: skip


def merge_files(
    base: Mapping[str, bytes], changed: Mapping[str, bytes | None], theirs: Mapping[str, bytes], choices: Sequence[Choice] = ()
) -> tuple[dict[str, bytes | None], list[Clash]]:
    """What to change in `theirs` so that it holds the changes of both, and what only a person can settle."""
    taken = {(one.file, one.what, one.theirs): one.take == "yours" for one in choices}
    joined: dict[str, bytes | None] = {}
    clashes: list[Clash] = []
    for path, mine in changed.items():
        merge = _Merge(path, taken)
        joined[path] = merge.whole(base.get(path), mine, theirs.get(path))
        clashes += merge.clashes
    return joined, clashes


@dataclass(frozen=True, slots=True)
class _Part:
    """Lines of a text that was put together. In a clash they are theirs, `yours` and `base` what stood against them, `at` their
    first number in theirs."""

    lines: Sequence[str]
    yours: Sequence[str] = ()
    base: Sequence[str] = ()
    clash: bool = False
    at: int = 0


@dataclass(slots=True)
class _Merge:
    """One file's three states. `edits` of a TOML document lead from theirs to the result: each is done on the text and on the
    values, and the two must agree."""

    file: str
    taken: Mapping[tuple[str, str, str | None], bool]
    clashes: list[Clash] = field(default_factory=list)
    edits: list[Callable[[Any, Any], None]] = field(default_factory=list)

    def whole(self, base: bytes | None, yours: bytes | None, theirs: bytes | None) -> bytes | None:
        """The file with both changes; what clashes stays as theirs."""
        if yours in (base, theirs):
            return theirs
        if theirs == base:
            return yours
        if yours is not None and theirs is not None:
            try:
                return self._text((base or b"").decode(), yours.decode(), theirs.decode()).encode()
            except UnicodeDecodeError:
                pass
        return self._whole_file(base, yours, theirs)

    def _whole_file(self, base: bytes | None, yours: bytes | None, theirs: bytes | None) -> bytes | None:
        return yours if self._choose("", size_said(base), size_said(yours), size_said(theirs)) else theirs

    def _text(self, base: str, yours: str, theirs: str) -> str:
        lines = _joined_lines(*(text.split("\n") for text in (base, yours, theirs)))
        parts = None if lines is None else list(lines)
        if self.file.endswith(".toml"):
            try:
                return self._document(base, yours, theirs, parts)
            except (tomllib.TOMLDecodeError, RecursionError, TOMLKitError):
                self.clashes.clear()  # one of the three is no document: line by line, as any other text
        if parts is None:
            whole = self._whole_file(*(text.encode() for text in (base, yours, theirs)))
            return (whole or b"").decode()
        return "\n".join(line for part in parts for line in self._settled(part))

    def _settled(self, part: _Part) -> Sequence[str]:
        if not part.clash:
            return part.lines
        last = part.at + len(part.lines) - 1
        what = f"line {part.at}" if len(part.lines) < 2 else f"lines {part.at} to {last}"
        said = ("\n".join(one) if one else None for one in (part.base, part.yours, part.lines))
        return part.yours if self._choose(what, *said) else part.lines

    def _choose(self, what: str, before: str | None, yours: str | None, theirs: str | None) -> bool:
        """Whether yours is taken; a clash that nobody settled yet is noted."""
        choice = self.taken.get((self.file, what, theirs))
        if choice is None:
            self.clashes.append(Clash(self.file, what, before, yours, theirs))
        return bool(choice)

    # --- field by field -------------------------------------------------------------------------------------------------------

    def _document(self, base: str, yours: str, theirs: str, parts: list[_Part] | None) -> str:
        values = [tomllib.loads(text) for text in (base, yours, theirs)]
        self._tables((), (), "", *values)
        wanted, text = copy.deepcopy(values[2]), tomlkit.parse(theirs)
        source = tomlkit.parse(yours)
        for edit in self.edits:
            edit(wanted, values[1])
        if parts is not None and not any(part.clash for part in parts):
            plain = "\n".join(line for part in parts for line in part.lines)
            if _holds(plain, wanted):
                return plain
        try:
            for edit in self.edits:
                edit(text, source)
            written = tomlkit.dumps(text)
        except (TOMLKitError, LookupError, TypeError, ValueError):
            written = ""
        if _holds(written, wanted):
            return written
        self.clashes.clear()
        return (self._whole_file(*(one.encode() for one in (base, yours, theirs))) or b"").decode()

    def _tables(
        self, at: Steps, source: Steps, said: str, base: Mapping[str, Any], yours: Mapping[str, Any], theirs: Mapping[str, Any]
    ) -> None:  # fmt: skip
        """Every field of a table that stands at `at` in theirs, at `source` in yours, and is called `said`."""
        for key in dict.fromkeys((*theirs, *yours, *base)):
            here = f"{said} › {key}" if said else key
            self._value((*at, key), (*source, key), here, *(one.get(key, _ABSENT) for one in (base, yours, theirs)))

    def _value(self, at: Steps, source: Steps, said: str, base: Any, yours: Any, theirs: Any) -> None:
        if yours in (base, theirs):
            return
        if theirs == base:
            self._take(at, source, gone=yours is _ABSENT)
        elif isinstance(yours, dict) and isinstance(theirs, dict):
            self._tables(at, source, said, base if isinstance(base, dict) else {}, yours, theirs)
        elif _are_tables(yours) and _are_tables(theirs) and self._items(at, source, said, base, yours, theirs):
            return
        elif self._choose(said, *(_said(one) for one in (base, yours, theirs))):
            self._take(at, source, gone=yours is _ABSENT)

    def _take(self, at: Steps, source: Steps, *, gone: bool) -> None:
        *way, last = at

        def edit(theirs: Any, own: Any) -> None:
            holder = _walk(theirs, way)
            if gone:
                del holder[last]
            else:
                holder[last] = _walk(own, source)

        self.edits.append(edit)

    def _items(self, at: Steps, source: Steps, said: str, base: Any, yours: list[Any], theirs: list[Any]) -> bool:
        """Lists of tables: items of one name are one thing; items without names may only have been added behind the others. False
        where it cannot be told which item is which."""
        before: list[Any] = base if _are_tables(base) else []
        names = [called(items) for items in (before, yours, theirs)]
        if any(name.isdigit() for one in names for name in one):
            count = len(before)
            if yours[:count] != before or theirs[:count] != before:
                return False
            self.edits += [_appended(at, (*source, number)) for number in range(count, len(yours))]
            return True
        olds, mine, others = (dict(zip(one, items, strict=True)) for one, items in zip(names, (before, yours, theirs), strict=True))
        both = [name for name in olds if name in mine and name in others]
        if any([name for name in one if name in both] != both for one in (mine, others)):
            return False  # put into another order
        gone: list[int] = []
        for name in dict.fromkeys((*others, *mine, *olds)):
            old, my, their = (one.get(name, _ABSENT) for one in (olds, mine, others))
            here = f"{said} {name}"
            if my in (old, their):
                continue
            if their is _ABSENT:
                if old is _ABSENT or self._choose(here, _said(old), _said(my), None):
                    self.edits.append(_appended(at, (*source, names[1].index(name))))
            elif my is _ABSENT:
                if their == old or self._choose(here, _said(old), None, _said(their)):
                    gone.append(names[2].index(name))
            else:
                places = (*at, names[2].index(name)), (*source, names[1].index(name))
                self._tables(*places, here, {} if old is _ABSENT else old, my, their)
        self.edits += [_removed(at, number) for number in sorted(gone, reverse=True)]
        return True


def _are_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


def _said(value: Any) -> str | None:
    return None if value is _ABSENT else json.dumps(value, ensure_ascii=False, default=str)


def _walk(value: Any, steps: Sequence[str | int]) -> Any:
    for step in steps:
        value = value[step]
    return value


def _appended(at: Steps, source: Steps) -> Callable[[Any, Any], None]:
    return lambda theirs, own: _walk(theirs, at).append(_walk(own, source))


def _removed(at: Steps, number: int) -> Callable[[Any, Any], None]:
    return lambda theirs, _own: _walk(theirs, at).pop(number)


def _holds(text: str, wanted: Mapping[str, Any]) -> bool:
    """Whether a text says exactly these values."""
    try:
        return tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        return False


def _joined_lines(base: Sequence[str], yours: Sequence[str], theirs: Sequence[str]) -> Iterator[_Part] | None:
    """The lines of both changes, in parts; None where too many lines lie between the first and the last change.

    Lines of `base` that both kept divide the texts; between two of them stands what one of the two changed, or a clash. Changes of
    lines side by side are a clash as well.
    """
    texts = (base, yours, theirs)
    least = min(map(len, texts))
    head = next((n for n in range(least) if not base[n] == yours[n] == theirs[n]), least)
    tail = next((n for n in range(least - head) if not base[-1 - n] == yours[-1 - n] == theirs[-1 - n]), least - head)
    was, mine, others = ([*text[head : len(text) - tail]] for text in texts)
    if max(len(was), len(mine), len(others)) > _MOST_LINES:
        return None
    return _parts(was, mine, others, theirs[:head], theirs[len(theirs) - tail :])


def _parts(
    base: Sequence[str], yours: Sequence[str], theirs: Sequence[str], head: Sequence[str], tail: Sequence[str]
) -> Iterator[_Part]:
    mine, others = _kept(base, yours), _kept(base, theirs)
    i = j = k = 0
    yield _Part(head)
    for line in [n for n in range(len(base)) if n in mine and n in others] + [len(base)]:
        a, b = mine.get(line, len(yours)), others.get(line, len(theirs))
        was, my, their = base[i:line], yours[j:a], theirs[k:b]
        if my in (was, their):
            yield _Part(their)
        else:
            yield _Part(my) if their == was else _Part(their, my, was, clash=True, at=len(head) + k + 1)
        yield _Part(base[line : line + 1])
        i, j, k = line + 1, a + 1, b + 1
    yield _Part(tail)


def _kept(base: Sequence[str], other: Sequence[str]) -> dict[int, int]:
    """Where lines of `base` are in another text, by their number in both."""
    blocks = difflib.SequenceMatcher(None, base, other, autojunk=False).get_matching_blocks()
    return {one.a + n: one.b + n for one in blocks for n in range(one.size)}
