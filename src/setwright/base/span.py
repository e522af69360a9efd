"""A place in a text, and the excerpt with a caret that shows it to a person."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["Span"]

_WIDEST = 100


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of one line of a file.

    `line` and `column` count from 1, as people do; 0 means "the file as a whole". `text` is the line itself, without its
    line end, so that the excerpt can be shown when the file is no longer at hand. `length` is at least 1 character.
    """

    file: str
    line: int = 0
    column: int = 0
    length: int = 1
    text: str = field(default="", compare=False)

    def __str__(self) -> str:
        return ":".join([self.file, *(str(number) for number in (self.line, self.column) if number)])

    def excerpt(self) -> str:
        """The line with a caret under the place, cut to a readable width; empty if the line is not known.

        >>> print(Span("cap.nc", 3, 4, 2, "G1 G7 X10").excerpt())
            3 | G1 G7 X10
              |    ^^
        """
        if not self.text.strip() or not self.line:
            return ""
        start = max(self.column - 1, 0)
        shift = max(0, start - _WIDEST // 2)
        shown = "".join(c if c.isprintable() else "·" for c in self.text.expandtabs(1))[shift : shift + _WIDEST]
        carets = "^" * max(1, min(self.length, len(shown) - (start - shift)))
        return f"{self.line:>5} | {shown}\n      | {' ' * (start - shift)}{carets}"
