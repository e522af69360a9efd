"""How a draft says what it rests on: one sentence of evidence, with the comment or line it comes from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from setwright.base.tolerance import SAME_PLACE_MM

__all__ = ["Cited", "Evidence", "cite", "cited", "in_whole_words", "length_text", "number_text", "one_line", "tidy", "together"]


_LONGEST, _LONGEST_REASON = 90, 600
_INCH = 25.4
_STEP_INCH_MM = 1.27


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a guess rests on, in words; it stands beside the value in the file and in the verdict of a proof.

    `file`, `line`: the place in a program that it speaks of, "" and 0 where there is none.
    """

    text: str
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        return self.text


class Cited(Protocol):
    """A comment that says something."""

    @property
    def line(self) -> int:
        """Its line, from 1."""

    @property
    def text(self) -> str:
        """Its text without brackets."""


def one_line(text: str) -> str:
    """A text in one line of printable characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def in_whole_words(text: str, longest: int) -> str:
    """A text of at most so many characters, cut where a word ends.

    >>> in_whole_words("metal stands above that", 16), in_whole_words("metal stands", 16)
    ('metal stands …', 'metal stands')
    """
    if len(text) <= longest:
        return text
    return f"{text[: longest - 1].rsplit(' ', 1)[0].rstrip(',;:')} …"


def cite(text: str, *, file: str = "", line: int = 0) -> Evidence:
    """Evidence in one line of printable characters, and its place."""
    return Evidence(one_line(text), file, line)


def cited(name: str, hint: Cited) -> Evidence:
    """The comment itself, and where it stands.

    >>> from setwright.program.hints import MaterialHint
    >>> cited("cap-1.nc", MaterialHint(line=3, text="MATERIAL BRASS", material="BRASS")).text
    'from "(MATERIAL BRASS)" in cap-1.nc line 3'
    """
    shown = in_whole_words(one_line(hint.text), _LONGEST)
    return Evidence(f'from "({shown})" in {name} line {hint.line}', name, hint.line)


def together(why: Sequence[Evidence]) -> str:
    """Reasons one after the other, whole; what would make them longer than a guess may be is counted."""
    said = [str(one) for one in why]
    shown = said.copy()
    while len(shown) > 1 and len("; ".join(shown)) > _LONGEST_REASON - len(f"; and {len(said)} more"):
        shown.pop()
    more = [f"and {len(said) - len(shown)} more"] if len(shown) < len(said) else []
    return in_whole_words("; ".join([*shown, *more]), _LONGEST_REASON) or "not stated in the program"


def number_text(mm: float, *, inch: bool) -> str:
    """A length as a bare number of the document's unit: no more digits than a setter writes.

    >>> number_text(12.7, inch=True), number_text(-0.00001, inch=False)
    ('0.5', '0')
    """
    text = f"{mm / _INCH:.5f}" if inch else f"{mm:.4f}"
    text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def tidy(mm: float, *, inch: bool) -> float:
    """A length rounded up to a step a setter writes: 1 mm, or 0.05 in."""
    step = _STEP_INCH_MM if inch else 1.0
    return math.ceil(mm / step - SAME_PLACE_MM) * step


def length_text(mm: float, *, inch: bool) -> str:
    """A length with its unit."""
    return f"{number_text(mm, inch=inch)} {'in' if inch else 'mm'}"
