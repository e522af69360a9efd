"""What the control now shows, compared digit by digit with what should have been typed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

from setwright.base.errors import InputRefused
from setwright.touch.registers import Entry

__all__ = ["Shown", "compare_shown"]

_NUMBER = re.compile(r"([+-]?)0*(\d*)(?:[.,](\d*))?")


@dataclass(frozen=True, slots=True)
class Shown:
    """One number read back. `shown`, `wanted`: written with the same places; `first`: index of the first character that differs."""

    entry: Entry
    shown: str
    wanted: str
    first: int | None

    @property
    def right(self) -> bool:
        """Whether every digit is as it should be."""
        return self.first is None

    def lines(self) -> list[str]:
        """One line when all is right; else both numbers under each other and a mark under the first digit that differs."""
        if self.first is None:
            return [f"{self.entry.name}  {self.shown}  every digit is right"]
        head, under = f"{self.entry.name} shows ", "should be "
        width = max(len(head), len(under))
        mark = " " * (width + self.first) + "^ first different digit"
        return [f"{head:>{width}}{self.shown}", f"{under:>{width}}{self.wanted}", mark]


def compare_shown(entries: Sequence[Entry], said: Sequence[str], *, units: str = "mm") -> list[Shown]:
    """Each of `said` ("G54 X -312.447", "length 3 131.484" or "H3 131.484", "D1 8.000") against the number to type there, in
    `units`, as the control shows it.

    Digits beyond those of the register count too: they must be zeros. Raises InputRefused for a register that this setup does not
    type and for what is not a number; all of them at once would hide the first, so the first is told.
    """
    by_name = {entry.name.casefold(): entry for entry in entries}
    letters = {"length": "h", "radius": "d"}
    by_name |= {f"{letters[kind]}{number}": entry for entry in entries for kind, _, number in [entry.register.partition(" ")]
                if kind in letters}  # fmt: skip
    return [_compared(by_name, text, units) for text in said]


def _compared(by_name: dict[str, Entry], text: str, units: str) -> Shown:
    name, _, value = " ".join(text.split()).rpartition(" ")
    entry = by_name.get(name.casefold())
    if entry is None:
        known = ", ".join(sorted({one.name for one in by_name.values()}))
        raise InputRefused.because(f'"{text}" names no register of this setup', why=f"it types: {known}",
                                   remedy='write register and number, for example "G54 X -312.447"')  # fmt: skip
    number = _NUMBER.fullmatch(value)
    if number is None or not (number[2] or number[3] or "0" in value):
        raise InputRefused.because(f'"{value}" is not a number', remedy="write it exactly as the control shows it")
    shown, wanted = _aligned(number, _NUMBER.fullmatch(entry.text(units)))
    places = (i for i, (a, b) in enumerate(zip_longest(shown, wanted)) if a != b)
    return Shown(entry, shown, wanted, next(places, None))


def _aligned(shown: re.Match[str], wanted: re.Match[str] | None) -> tuple[str, str]:
    """Both with as many digits before and behind the point, so that a place can be pointed at."""
    if wanted is None:
        raise AssertionError("a number to type is a number")
    whole = max(len(shown[2]), len(wanted[2]), 1)
    behind = max(len(shown[3] or ""), len(wanted[3] or ""))
    signs = "-" in (shown[1], wanted[1])

    def written(parts: re.Match[str]) -> str:
        nought = not (parts[2] + (parts[3] or "")).strip("0")
        sign = ("-" if parts[1] == "-" and not nought else "+") if signs else ""
        fraction = f".{(parts[3] or ''):0<{behind}}" if behind else ""
        return f"{sign}{parts[2]:0>{whole}}{fraction}"

    return written(shown), written(wanted)
