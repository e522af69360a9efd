"""Expressions of the macro language: `[#1 + 2 * SIN[#3]]` compiled to Python code once, evaluated at full speed.

Angles are degrees. A vacant variable counts as 0 in arithmetic; EQ and NE tell vacant from 0. Precedence, high to low: functions
and sign; **; * / MOD AND; + - OR XOR; comparisons. AND, OR, XOR work bit by bit on whole numbers (truth is 1 or 0).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any, cast

from setwright.program.block import Code

__all__ = ["ExpressionReader", "Misread", "compile_code"]

_FULL_TURN_DEG = 360.0


class Misread(Exception):
    """The text at `column` (from 1) cannot be read; turned into a Problem by `grammar`."""

    def __init__(self, column: int, length: int, what: str, *, why: str = "", remedy: str = "",
                 behaviour: str = "") -> None:  # fmt: skip
        super().__init__(what)
        self.column, self.length, self.what, self.why, self.remedy = column, length, what, why, remedy
        self.behaviour = behaviour


def _sin(degrees: float) -> float:
    turned = math.fmod(degrees, _FULL_TURN_DEG)
    exact = {0.0: 0.0, 30.0: 0.5, 90.0: 1.0, 150.0: 0.5, 180.0: 0.0, 210.0: -0.5, 270.0: -1.0, 330.0: -0.5}.get(abs(turned))
    if exact is not None:
        return math.copysign(exact, turned) if turned < 0 and exact > 0 else (-exact if turned < 0 else exact)
    return math.sin(math.radians(turned))


def _cos(degrees: float) -> float:
    return _sin(90.0 + math.fmod(degrees, _FULL_TURN_DEG))


def _tan(degrees: float) -> float:
    return _sin(degrees) / _cos(degrees)


def _atan2(y: float, x: float) -> float:
    return math.degrees(math.atan2(y, x))


def _round(value: float) -> float:
    return float(math.floor(abs(value) + 0.5)) * (1.0 if value >= 0.0 else -1.0)


def _fup(value: float) -> float:
    return float(math.ceil(abs(value))) * (1.0 if value >= 0.0 else -1.0)


def _mod(a: float, b: float) -> float:
    if b == 0.0:
        raise ZeroDivisionError
    return math.fmod(a, b)


def _bits(a: float, b: float, operation: Callable[[int, int], int]) -> float:
    return float(operation(int(_round(a)), int(_round(b))))


def _from_bcd(value: float) -> float:
    return float(int(f"{int(_round(value)):x}"))


def _to_bcd(value: float) -> float:
    return float(int(str(int(_round(value))), 16))


def _eq(a: float | None, b: float | None) -> float:
    return 1.0 if a == b else 0.0


def _ne(a: float | None, b: float | None) -> float:
    return 0.0 if a == b else 1.0


_FUNCTIONS = {
    "SIN": "_sin", "COS": "_cos", "TAN": "_tan", "ASIN": "_asin", "ACOS": "_acos", "ABS": "abs", "SQRT": "_sqrt", "SQR": "_sqrt",
    "ROUND": "_round", "RND": "_round", "FIX": "_fix", "FUP": "_fup", "LN": "_ln", "EXP": "_exp",
    "BIN": "_from_bcd", "BCD": "_to_bcd",
}  # fmt: skip
_GLOBALS: dict[str, Any] = {
    "__builtins__": {}, "abs": abs, "_sin": _sin, "_cos": _cos, "_tan": _tan, "_atan2": _atan2, "_round": _round, "_fup": _fup,
    "_fix": lambda v: float(math.trunc(v)), "_sqrt": math.sqrt, "_ln": math.log, "_exp": math.exp,
    "_mod": _mod, "_eq": _eq, "_ne": _ne,
    "_asin": lambda v: math.degrees(math.asin(v)), "_acos": lambda v: math.degrees(math.acos(v)), "_pow": math.pow,
    "_and": lambda a, b: _bits(a, b, int.__and__), "_or": lambda a, b: _bits(a, b, int.__or__),
    "_xor": lambda a, b: _bits(a, b, int.__xor__), "_from_bcd": _from_bcd, "_to_bcd": _to_bcd,
}  # fmt: skip
_COMPARE = {"EQ": "", "NE": "", "GT": ">", "GE": ">=", "LT": "<", "LE": "<="}
_NUMBER = re.compile(r"\d+\.?\d*|\.\d+", re.ASCII)
_WORD = re.compile(r"[A-Z]+")
_DEEPEST = 40
_VACANT = "None"


def compile_code(text: str) -> Code:
    """A callable (locals, commons, system, indirect) -> value from generated Python text."""
    try:
        return cast(Code, eval(compile(f"lambda L, C, S, R: {text}", "<block>", "eval"), _GLOBALS))
    except (SyntaxError, MemoryError, RecursionError):
        raise Misread(1, 1, "this expression is too long", why="it holds some two hundred operations",
                      remedy="divide it over several blocks") from None  # fmt: skip


class ExpressionReader:
    """Reads expressions out of one line; `at` is the reading place (from 0) in `text` (upper case)."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self._depth = 0

    def blanks(self) -> None:
        """Skip blanks."""
        while self.at < len(self.text) and self.text[self.at] in " \t\x00\x1a":
            self.at += 1

    def peek(self) -> str:
        """The next character that is no blank; empty at the end."""
        self.blanks()
        return self.text[self.at] if self.at < len(self.text) else ""

    def take(self, wanted: str, why: str) -> None:
        """Read one expected character."""
        if self.peek() != wanted:
            raise Misread(self.at + 1, 1, f'"{wanted}" is missing', why=why)
        self.at += 1

    def word(self) -> str:
        """The letters at the reading place, not consumed."""
        self.blanks()
        match = _WORD.match(self.text, self.at)
        return match[0] if match else ""

    def number(self) -> float | None:
        """The unsigned number at the reading place, or None."""
        self.blanks()
        match = _NUMBER.match(self.text, self.at)
        if match is None:
            return None
        self.at = match.end()
        return float(match[0])

    def designator(self) -> str:
        """What follows a `#`: code for the number of the variable."""
        self.take("#", "")
        following = self.peek()
        if following == "[":
            return self.bracket()
        if following == "#":
            self._depth += 1
            if self._depth > _DEEPEST:
                raise Misread(self.at + 1, 1, f"variables of variables are nested more than {_DEEPEST} deep")
            code = _plain(self.variable())
            self._depth -= 1
            return code
        start = self.at
        number = self.number()
        if number is None or not number.is_integer():  # an infinite one is none either
            raise Misread(start, 1, '"#" is not followed by the number of a variable', remedy="write for example #100 or #[#1+1]")
        return repr(int(number))

    def variable(self) -> tuple[str, bool]:
        """A variable's value as (code, may be vacant)."""
        number = self.designator()
        if not number.isdigit():
            return f"R({number})", True
        index = int(number)
        if index == 0:
            return _VACANT, True
        if index <= 33:
            return f"L[{index}]", True
        return (f"C[{index}]" if index < 1000 else f"S({index})"), True

    def bracket(self) -> str:
        """`[expression]` as code that yields a number."""
        return _plain(self.raw_bracket())

    def raw_bracket(self) -> tuple[str, bool]:
        """`[expression]` as (code, may be vacant)."""
        opened = self.at + 1
        self.take("[", "an expression stands in square brackets")
        self._depth += 1
        if self._depth > _DEEPEST:
            raise Misread(opened, 1, f"brackets are nested more than {_DEEPEST} deep")
        inner = self._comparison()
        self._depth -= 1
        if self.peek() != "]":
            raise Misread(opened, 1, 'this "[" is not closed',
                          why=f"column {self.at + 1} should continue the expression or close it")
        self.at += 1
        return inner

    def expression(self) -> tuple[str, bool]:
        """An expression without brackets around it, as (code, may be vacant)."""
        return self._comparison()

    def primary(self) -> tuple[str, bool]:
        """A value that may follow a letter: [expression], variable, function, signed."""
        return self._sign()

    def _comparison(self) -> tuple[str, bool]:
        left = self._sum()
        while (word := self.word()[:2]) in _COMPARE and self.word() == word:
            self.at += 2
            right = self._sum()
            if word in ("EQ", "NE"):
                left = f"{'_eq' if word == 'EQ' else '_ne'}({left[0]}, {right[0]})", False
            else:
                left = f"(1.0 if {_plain(left)} {_COMPARE[word]} {_plain(right)} else 0.0)", False
        return left

    def _sum(self) -> tuple[str, bool]:
        left = self._product()
        while True:
            sign, word = self.peek(), self.word()
            if sign in ("+", "-"):
                self.at += 1
                left = f"({_plain(left)} {sign} {_plain(self._product())})", False
            elif word in ("OR", "XOR"):
                self.at += len(word)
                left = f"_{word.lower()}({_plain(left)}, {_plain(self._product())})", False
            else:
                return left

    def _product(self) -> tuple[str, bool]:
        left = self._power()
        while True:
            sign, word = self.peek(), self.word()
            if sign in ("*", "/"):
                self.at += 1
                left = f"({_plain(left)} {sign} {_plain(self._power())})", False
            elif word in ("AND", "MOD"):
                self.at += 3
                left = f"_{word.lower()}({_plain(left)}, {_plain(self._power())})", False
            else:
                return left

    def _power(self) -> tuple[str, bool]:
        left = self._sign()
        self.blanks()
        while self.text.startswith("**", self.at):
            self.at += 2
            left = f"_pow({_plain(left)}, {_plain(self._sign())})", False
        return left

    def _sign(self) -> tuple[str, bool]:
        sign = self.peek()
        if sign in ("+", "-"):
            self.at += 1
            self._depth += 1
            if self._depth > _DEEPEST:
                raise Misread(self.at, 1, "too many signs in a row")
            value = _plain(self._sign())
            self._depth -= 1
            return (f"(-{value})" if sign == "-" else value), False
        return self._atom()

    def _atom(self) -> tuple[str, bool]:
        following = self.peek()
        if following == "[":
            return self.raw_bracket()
        if following == "#":
            return self.variable()
        begun = self.at
        if (number := self.number()) is not None:
            if math.isinf(number):
                raise Misread(begun + 1, 1, "this number is beyond all measure", remedy="look where the number comes from")
            return repr(number), False
        start, word = self.at, self.word()
        if word in _FUNCTIONS:
            self.at += len(word)
            return f"{_FUNCTIONS[word]}({self.bracket()})", False
        if word in ("ATAN", "POW"):
            return self._two_arguments(word), False
        if word:
            raise Misread(start + 1, len(word), f'"{word}" is no function',
                          remedy=f"known are {', '.join(sorted([*_FUNCTIONS, 'ATAN', 'POW']))}")
        raise Misread(start + 1, 1, "a value is missing here", remedy="write a number, a # variable, a function or [ ... ]")

    def _two_arguments(self, word: str) -> str:
        self.at += len(word)
        self.take("[", f"{word} takes its values in brackets")
        first, second = _plain(self._comparison()), None
        if self.peek() == ",":
            self.at += 1
            second = _plain(self._comparison())
        self.take("]", f"the values of {word} are not closed")
        if second is None and self.peek() == "/" and word == "ATAN":
            self.at += 1
            second = self.bracket()
        if second is None:
            second = "1.0"
        return f"{'_atan2' if word == 'ATAN' else '_pow'}({first}, {second})"


def _plain(value: tuple[str, bool]) -> str:
    return f"({value[0]} or 0.0)" if value[1] else value[0]
