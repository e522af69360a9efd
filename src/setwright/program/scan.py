"""Tokenising: from bytes to columns of words, compiled.

The kernel knows only the common form of a block: letters with decimal numbers, blanks, comments. A line that holds anything
else (variables, brackets, control statements, an odd character, a number without digits) is marked GENERAL and left to
`grammar`, which reads it with care and says what is wrong with it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel

__all__ = ["EMPTY", "GENERAL", "PLAIN", "POINT", "Scan", "scan"]

PLAIN = 1
"""Line flag: only N, G0-G3, G17-G19, G90, G91, X, Y, Z, I, J, K, R, F: the compiled modal machine may execute it."""
GENERAL = 2
"""Line flag: the kernel could not read the line; its words are void."""
EMPTY = 4
"""Line flag: no words (blank, or comments only)."""
POINT = 1
"""Word mark: the number was written with a decimal point."""

_MOST_DIGITS = 15
_SHARES = (0.2, 0.5)
"""Words per byte to make room for: the usual and the greatest (a letter and a digit); pages that are not used cost nothing."""
_POWERS = 10.0 ** np.arange(23)


@dataclass(frozen=True, slots=True)
class Scan:
    """The words of a text.

    line_at     int32  (lines + 1,)  byte at which each line starts; the last entry is the size of the text
    first_word  int32  (lines + 1,)  index of each line's first word
    flags       uint8  (lines,)      PLAIN, GENERAL, EMPTY
    letter      uint8  (words,)      upper-case ASCII code
    value       float64 (words,)     the number as written, correctly rounded
    mark        uint8  (words,)      POINT
    at          int32  (words,)      byte of the letter
    """

    line_at: NDArray[np.int32]
    first_word: NDArray[np.int32]
    flags: NDArray[np.uint8]
    letter: NDArray[np.uint8]
    value: NDArray[np.float64]
    mark: NDArray[np.uint8]
    at: NDArray[np.int32]


def scan(data: NDArray[np.uint8]) -> Scan:
    """The words of a text; numbers of up to 15 digits are exact (one correctly rounded division), longer ones are GENERAL."""
    lines = int(np.count_nonzero(data == 10)) + int(np.count_nonzero(data == 13)) + 1
    line_at = np.empty(lines + 1, np.int32)
    first_word = np.empty(lines + 1, np.int32)
    flags = np.empty(lines, np.uint8)
    for share in _SHARES:
        size = int(data.size * share) + 2
        letter, value, mark, at = np.empty(size, np.uint8), np.empty(size), np.empty(size, np.uint8), np.empty(size, np.int32)
        found, words = _scan(data, line_at, first_word, flags, letter, value, mark, at)
        if words >= 0:
            break
    return Scan(line_at[: found + 1], first_word[: found + 1], flags[:found], letter[:words], value[:words], mark[:words],
                at[:words])


@kernel
def _number(data: NDArray[np.uint8], i: int, end: int) -> tuple[int, float, int]:
    """The number at byte i: (byte after it, value, mark); the byte is -1 where there is no plain number of at most 15 digits."""
    while i < end and (data[i] == 32 or data[i] == 9):
        i += 1
    negative = False
    if i < end and (data[i] == 45 or data[i] == 43):
        negative = data[i] == 45
        i += 1
    mantissa = 0
    digits = 0
    seen = 0
    decimals = 0
    mark = 0
    while i < end:
        c = data[i]
        if c >= 48 and c <= 57:
            mantissa = mantissa * 10 + (c - 48)
            seen += 1
            if mantissa > 0:
                digits += 1
            if digits > _MOST_DIGITS:
                return -1, 0.0, 0
            decimals += mark
        elif c == 46 and mark == 0:
            mark = 1
        else:
            break
        i += 1
    if seen == 0 or decimals > 22:
        return -1, 0.0, 0
    value = mantissa / _POWERS[decimals]
    return i, (-value if negative else value) + 0.0, mark


@kernel
def _plain_word(c: int, value: float, seen: int) -> tuple[bool, int]:
    """Whether the word fits a plain block, with the letters and modal groups seen so far (bits); (fits, seen)."""
    if c == 71:
        if value == 0.0 or value == 1.0 or value == 2.0 or value == 3.0:
            bit = 1 << 26
        elif value == 17.0 or value == 18.0 or value == 19.0:
            bit = 1 << 27
        elif value == 90.0 or value == 91.0:
            bit = 1 << 28
        else:
            return False, seen
    elif c == 78 or (c >= 88 and c <= 90) or (c >= 73 and c <= 75) or c == 82 or c == 70:
        bit = 1 << (c - 65)
    else:
        return False, seen
    return (seen & bit) == 0, seen | bit


@kernel
def _scan(
    data: NDArray[np.uint8], line_at: NDArray[np.int32], first_word: NDArray[np.int32], flags: NDArray[np.uint8],
    letter: NDArray[np.uint8], value: NDArray[np.float64], mark: NDArray[np.uint8], at: NDArray[np.int32],
) -> tuple[int, int]:  # fmt: skip
    """Fill the columns of `Scan` in one pass; returns (lines, words), words -1 where they do not fit. CR LF ends one line."""
    n = data.size
    words = 0
    line = 0
    i = 0
    line_at[0] = 0
    first_word[0] = 0
    plain, general, seen = True, False, 0
    while True:
        c = data[i] if i < n else np.uint8(10)
        if c == 10 or c == 13:
            if general:
                words = first_word[line]
                flags[line] = GENERAL
            else:
                flags[line] = (PLAIN if plain else 0) | (EMPTY if words == first_word[line] else 0)
            line += 1
            i += 2 if c == 13 and i + 1 < n and data[i + 1] == 10 else 1
            line_at[line] = min(i, n)
            first_word[line] = words
            plain, general, seen = True, False, 0
            if i >= n:
                break
        elif general or c == 32 or c == 9 or c == 0 or c == 26:
            i += 1
        elif c == 40:
            i += 1
            while i < n and data[i] != 41 and data[i] != 40 and data[i] != 10 and data[i] != 13:
                i += 1
            if i < n and data[i] == 41:
                i += 1
            else:
                general = True
        elif c == 59:
            while i < n and data[i] != 10 and data[i] != 13:
                i += 1
        else:
            if c >= 97:
                c -= 32
            general = bool(c < 65 or c > 90)
            if not general:
                after, number, how = _number(data, i + 1, n)
                general = after < 0
            if not general:
                if plain:
                    plain, seen = _plain_word(int(c), number, seen)
                if words >= letter.size:
                    return line, -1
                letter[words] = c
                value[words] = number
                mark[words] = how
                at[words] = i
                words += 1
                i = after
    return line, words
