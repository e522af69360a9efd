"""A block of the program, read: words by letter, G and M codes, macro statements. No meaning yet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum

__all__ = ["Block", "Code", "Statement", "StatementKind", "Value", "code_text"]

Code = Callable[..., "float | None"]
"""A compiled expression: called with (locals, commons, system, indirect); None is the vacant value."""
Value = float | Code


class StatementKind(Enum):
    """The control statements of the macro language."""

    GOTO = "GOTO"
    IF_GOTO = "IF GOTO"
    IF_THEN = "IF THEN"
    WHILE = "WHILE"
    DO = "DO"
    END = "END"
    OUTPUT = "OUTPUT"


@dataclass(slots=True)
class Statement:
    """A control statement: its condition, the target (block number of GOTO, number of DO and END) and what THEN assigns."""

    kind: StatementKind
    condition: Code | None = None
    target: Value = 0.0
    assignments: tuple[tuple[Value, Code], ...] = ()


@dataclass(slots=True)
class Block:
    """One block. `g` holds code numbers times ten (G54.1 is 541), `m` the M numbers, in the order written.

    `words` maps every other letter to its number as written, or to an expression (then `dynamic`); `whole` names the letters
    whose number was written without a decimal point; `at` gives column and length of every word by its text key ("X", "G54.1" ...).
    `groups` keeps I, J, K as written where one of them is repeated (a macro call only).
    `skip` is the block-delete level (0 none); `number` and `program` are the N and O numbers, -1 if there is none;
    `tape` marks a line that begins with %; `kind` is kept for `hot`.
    """

    line: int
    g: tuple[int, ...] = ()
    m: tuple[int, ...] = ()
    words: dict[str, Value] = field(default_factory=dict)
    whole: str = ""
    groups: tuple[tuple[str, Value], ...] = ()
    dynamic: bool = False
    dynamic_codes: tuple[tuple[str, Code], ...] = ()
    skip: int = 0
    number: int = -1
    program: int = -1
    assignments: tuple[tuple[Value, Code], ...] = ()
    statement: Statement | None = None
    comment: str = ""
    tape: bool = False
    kind: int = -1
    at: dict[str, tuple[int, int]] = field(default_factory=dict)


def code_text(letter: str, code: int) -> str:
    """A code as people write it.

    >>> code_text("G", 541), code_text("G", 20)
    ('G54.1', 'G2')
    """
    return f"{letter}{code // 10}.{code % 10}" if code % 10 else f"{letter}{code // 10}"
