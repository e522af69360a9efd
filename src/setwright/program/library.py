"""The program texts at hand: which programs stand where, where block numbers are, and the blocks themselves, read once."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence

from setwright.base.errors import Problem
from setwright.program.block import Block
from setwright.program.grammar import read_line
from setwright.program.profile import Profile
from setwright.program.scan import EMPTY, GENERAL
from setwright.program.source import Source, SourceText

__all__ = ["Finder", "Library", "Texts", "Unreadable"]

Finder = Callable[[str], Source | None]
"""Given the name of a program ("O1234"), the source that holds it, or None."""

_MOST_PROBLEMS = 100
_MOST_UNREADABLE = 2000
_MOST_REMEMBERED = 20_000
_LETTER_N, _LETTER_O = ord("N"), ord("O")


class Texts:
    """What was read of programs under one profile, so that running them again does not read them again. Remembers up to
    _MOST_REMEMBERED lines."""

    def __init__(self, profile: Profile) -> None:
        self.profile = profile
        self._texts: dict[Source, SourceText] = {}
        self._lines: dict[tuple[SourceText, int], Block | Problem] = {}

    def text(self, source: Source) -> SourceText:
        """A source, scanned. Raises InputRefused for what is no text."""
        if source not in self._texts:
            self._texts[source] = SourceText(source)
        return self._texts[source]

    def line(self, text: SourceText, line: int) -> Block | Problem:
        """The block of a line, or what is wrong with it."""
        known = self._lines.get((text, line))
        if known is None:
            known = read_line(text, line, self.profile)
            if len(self._lines) < _MOST_REMEMBERED:
                self._lines[text, line] = known
        return known


class Library:
    """Sources by index; `last` is the number of lines before the closing tape mark of each. `texts`: what was read before."""

    def __init__(
        self, sources: Sequence[Source | SourceText], profile: Profile, find: Finder | None, texts: Texts | None = None
    ) -> None:
        self.profile = profile
        self._read = texts if texts is not None and texts.profile == profile else None
        self.find = find
        self.texts: list[SourceText] = []
        self.last: list[int] = []
        self.problems: list[Problem] = []
        self._blocks: list[dict[int, Block]] = []
        self._unreadable: list[dict[int, Problem]] = []
        self._programs: list[dict[int, int]] = []
        self._numbers: list[dict[int, list[int]]] = []
        self._statements: list[list[int] | None] = []
        self._found: dict[tuple[int, int, int], int | None] = {}
        self.keep = False
        for source in sources:
            self.add(source)

    def add(self, source: Source | SourceText) -> int:
        """Scan a source, read every line that the scanner left, and note its programs. Returns its index."""
        text = SourceText.of(source) if self._read is None or isinstance(source, SourceText) else self._read.text(source)
        index = len(self.texts)
        self.texts.append(text)
        blocks: dict[int, Block] = {}
        unreadable: dict[int, Problem] = {}
        self._blocks.append(blocks)
        self._unreadable.append(unreadable)
        scan = text.scan
        last, opened = len(text), False
        for line in ((scan.flags & GENERAL).nonzero()[0] + 1).tolist():
            block = self._line(text, line)
            if isinstance(block, Block) and block.tape:
                if opened or (scan.flags[: line - 1] & EMPTY == 0).any():
                    last = line - 1
                    break
                opened = True
            if isinstance(block, Block):
                blocks[line] = block
                continue
            unreadable[line] = block
            if len(unreadable) > _MOST_UNREADABLE:
                last = line
                break
            if len(self.problems) < _MOST_PROBLEMS:
                self.problems.append(block)
        self.last.append(last)
        self._programs.append(self._find_programs(index))
        self._numbers.append({})
        self._statements.append(None)
        return index

    def _find_programs(self, index: int) -> dict[int, int]:
        scan = self.texts[index].scan
        found: dict[int, int] = {}
        for word in (scan.letter == _LETTER_O).nonzero()[0].tolist():
            line = int(scan.first_word.searchsorted(word, side="right"))
            if line <= self.last[index]:
                found.setdefault(int(scan.value[word]), line)
        for line, block in self._blocks[index].items():
            if block.program >= 0:
                found.setdefault(block.program, line)
        return found

    def block(self, file: int, line: int) -> Block:
        """The block of a line. Raises Unreadable with what is wrong."""
        known = self._blocks[file].get(line)
        if known is not None:
            return known
        block = self._unreadable[file].get(line) or self._line(self.texts[file], line)
        if isinstance(block, Problem):
            raise Unreadable(block)
        if self.keep:
            self._blocks[file][line] = block
        return block

    def _line(self, text: SourceText, line: int) -> Block | Problem:
        return read_line(text, line, self.profile) if self._read is None else self._read.line(text, line)

    def blocks(self, file: int) -> dict[int, Block]:
        """The blocks of a file read so far, by line (all that were executed, once `keep` is set)."""
        return self._blocks[file]

    def programs(self, file: int) -> dict[int, int]:
        """The program numbers of a file, each with its line."""
        return self._programs[file]

    def locate(self, number: int, file: int) -> tuple[int, int] | None:
        """(file, line) of a program by number: in the same file, in the others, or fetched."""
        for index in [file, *(i for i in range(len(self.texts)) if i != file)]:
            if number in self._programs[index]:
                return index, self._programs[index][number]
        source = self.find(f"O{number:04d}") if self.find is not None else None
        if source is None:
            return None
        index = self.add(source)
        return index, self._programs[index].get(number, 1)

    def segment(self, file: int, line: int) -> tuple[int, int]:
        """First and last line of the program that a line belongs to."""
        starts = sorted(self._programs[file].values())
        first = max((start for start in starts if start <= line), default=1)
        last = min((start - 1 for start in starts if start > line), default=self.last[file])
        return (1 if starts and first == starts[0] and line < first else first), last

    def statement_lines(self, file: int, first: int, last: int) -> list[int]:
        """The lines from first to last that hold a control statement, in order."""
        lines = self._statements[file]
        if lines is None:
            blocks = self._blocks[file]
            lines = self._statements[file] = sorted(line for line, block in blocks.items() if block.statement is not None)
        return lines[bisect_left(lines, first) : bisect_right(lines, last)]

    def block_number(self, number: int, file: int, line: int) -> int | None:
        """The line of block N in the program that `line` belongs to; searched from that line on, then from its beginning."""
        key = number, file, line
        if key not in self._found:
            places = self._numbers_of(file).get(number, [])
            first, last = self.segment(file, line)
            inside = places[bisect_left(places, first) : bisect_right(places, last)]
            after = inside[bisect_right(inside, line) :]
            self._found[key] = after[0] if after else (inside[0] if inside else None)
        return self._found[key]

    def _numbers_of(self, file: int) -> dict[int, list[int]]:
        numbers = self._numbers[file]
        if not numbers:
            scan = self.texts[file].scan
            words = (scan.letter == _LETTER_N).nonzero()[0]
            lines = scan.first_word.searchsorted(words, side="right").tolist()
            for number, line in zip(scan.value[words].tolist(), lines, strict=True):
                numbers.setdefault(int(number), []).append(line)
            for line, block in self._blocks[file].items():
                if block.number >= 0 and scan.flags[line - 1] & GENERAL:
                    numbers.setdefault(block.number, []).append(line)
            for places in numbers.values():
                places.sort()
            numbers.setdefault(-1, [])
        return numbers


class Unreadable(Exception):
    """A line that cannot be read was reached."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.what)
        self.problem = problem
