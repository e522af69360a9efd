"""What stands behind the line at which a reading stopped: as much of it as needs no motion to be told.

Nothing behind a stop is computed, since nobody knows where the tool would be. But which tools, registers and offsets are called
there, and in which lines, stands in the text.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from setwright.base.span import Span
from setwright.program.source import Source, SourceText

__all__ = ["Unread", "behind"]

_COMMENT: Final = re.compile(r"\([^)\n]*(?:\)|$)|;.*|//.*")
_WORD: Final = re.compile(r"(?<![A-Z#])([THDGM]) ?0*(\d{1,5})(\.\d+)?(?![\d#\[])")
_WORK_OFFSETS: Final = range(54, 60)


@dataclass(frozen=True, slots=True)
class Unread:
    """The text behind a stop: `file`, the line it starts after, how many lines with words follow (other files included).

    `tools`, `lengths`, `radii` (by number), `offsets` ("G55"): what is called there, each with the first place of its call.
    """

    file: str
    line: int
    blocks: int
    tools: dict[int, Span]
    lengths: dict[int, Span]
    radii: dict[int, Span]
    offsets: dict[str, Span]

    @property
    def text(self) -> str:
        """What is called there, in one sentence; empty where nothing is."""
        named = [*((f"T{number}", span) for number, span in self.tools.items()), *self.offsets.items()]
        said = [f"{name} from line {span.line}" for name, span in named]
        for letter, registers in (("H", self.lengths), ("D", self.radii)):
            said += [f"{letter}{number}" for number in registers]
        return ", ".join(said)


def behind(sources: Sequence[Source | SourceText], stop: Span, *, back_to: tuple[str, int] | None = None) -> Unread:
    """What stands behind `stop` in its file and in the files after it; where a subprogram stopped, from the line `back_to` (file,
    line) that it would have gone back to.

    >>> found = behind([Source("p.nc", "G1 X1 A9\\nT5 M6 (DRILL)\\nG55 G43 H5 Z5\\nM30\\n")], Span("p.nc", 1))
    >>> found.blocks, found.text
    (3, 'T5 from line 2, G55 from line 3, H5')
    """
    found = Unread(stop.file, stop.line, 0, {}, {}, {}, {})
    blocks, begun = 0, False
    file, first = back_to or (stop.file, stop.line + 1)
    for source in sources:
        if source.name != file and not begun:
            continue
        text = SourceText.of(source)
        for line in range(1 if begun else first, len(text) + 1):
            words = _COMMENT.sub("", text.line(line)).strip().upper()
            if words in ("", "%"):
                continue
            blocks += 1
            _note(words, text.span(line), found)
        begun = True
    return Unread(found.file, found.line, blocks, found.tools, found.lengths, found.radii, found.offsets)


def _note(words: str, span: Span, found: Unread) -> None:
    """Enter what a block calls."""
    for letter, number, point in _WORD.findall(words):
        value = int(number)
        if letter == "T":
            found.tools.setdefault(value, span)
        elif letter in "HD" and value:
            (found.lengths if letter == "H" else found.radii).setdefault(value, span)
        elif letter == "G" and value in _WORK_OFFSETS:
            found.offsets.setdefault(f"G{value}{point}", span)
