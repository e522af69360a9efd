"""TOML a setter can read aloud: values lined up with the words they rest on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from setwright.start.wording import Evidence, number_text

__all__ = ["TomlText", "quoted"]

_COMMENT_COLUMN = 47
_WIDEST = 128


def quoted(text: str) -> str:
    """A basic string of TOML."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else " " for c in escaped) + '"'


class TomlText:
    """Lines of one TOML file in the making; `inch` is the unit of its bare numbers."""

    def __init__(self, *, inch: bool) -> None:
        self.inch = inch
        self._lines: list[str] = []

    def comment(self, text: str) -> None:
        """A line of comment."""
        self._lines.append(f"# {text}")

    def table(self, head: str) -> None:
        """A table's head such as "[setup.blank]", after an empty line."""
        self._lines += ["", head]

    def put(self, key: str, value: str, why: Sequence[Evidence] = (), *, said: str = "") -> None:
        """`key = value` with its guess beside it, or above it where it is long; `said` is a plain comment."""
        line = f"{key} = {value}"
        comment = f"guess: {'; '.join(map(str, why))}" if why else said
        if not comment:
            self._lines.append(line)
        elif max(len(line), _COMMENT_COLUMN) + len(comment) + 3 <= _WIDEST:
            self._lines.append(f"{line:<{_COMMENT_COLUMN - 2}}  # {comment}")
        else:
            self._lines += [f"# {part}" for part in _broken(comment)]
            self._lines.append(line)

    def text(self, key: str, value: str, why: Sequence[Evidence] = (), *, said: str = "") -> None:
        """A string."""
        self.put(key, quoted(value), why, said=said)

    def length(self, key: str, mm: float, why: Sequence[Evidence] = (), *, said: str = "") -> None:
        """A length."""
        self.put(key, self.number(mm), why, said=said)

    def number(self, mm: float) -> str:
        """A length as a bare number of the file's unit."""
        return number_text(mm, inch=self.inch)

    def metric(self, mm: float) -> str:
        """A length of the stated default equipment: always in mm, with its unit where the file counts in inches."""
        text = number_text(mm, inch=False)
        return quoted(f"{text} mm") if self.inch else text

    def numbers(self, values: Iterable[float]) -> str:
        """Lengths as an array."""
        return "[" + ", ".join(self.number(value) for value in values) + "]"

    def __str__(self) -> str:
        return "\n".join(self._lines).strip() + "\n"


def _broken(text: str) -> list[str]:
    """Words in lines of readable width."""
    lines, line = [], ""
    for word in text.split():
        if line and len(line) + len(word) + 1 > _WIDEST - 2:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    return [*lines, line]
