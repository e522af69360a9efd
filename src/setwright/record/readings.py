"""One reading of a readings.toml added, changed or taken out; every other byte of the text stays as the person wrote it."""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.jobfolder.document import read_toml
from setwright.record.refusals import NotThere

__all__ = ["ReadingKind", "add_reading", "change_reading", "readings_in", "remove_block", "remove_reading"]

_LANGUAGE: Final = Language(tree_sitter_toml.language())
_FILE: Final = "readings.toml"
_GREATEST: Final = 2**63 - 1
"""The greatest whole number that a TOML text can hold everywhere."""
_MOST_SHOWN: Final = 40


class ReadingKind(StrEnum):
    """The lists of a readings.toml."""

    CONTACT = "contact"
    TOOL_LENGTH = "tool_length"
    TOOL_DIAMETER = "tool_diameter"


def readings_in(text: str, kind: ReadingKind) -> list[dict[str, Any]]:
    """The readings of one list as written, in order."""
    return list(read_toml(text, shown=_FILE).get(kind.value, []))


def add_reading(text: str, kind: ReadingKind, reading: Mapping[str, Any]) -> str:
    """The text with one more reading at its end.

    >>> add_reading("", ReadingKind.TOOL_LENGTH, {"setup": "first", "tool": 3})
    '[[tool_length]]\\nsetup = "first"\\ntool = 3\\n'
    """
    before = text if not text or text.endswith("\n") else text + "\n"
    return before + ("\n" if before else "") + _block(kind, reading)


def change_reading(text: str, kind: ReadingKind, number: int, reading: Mapping[str, Any]) -> str:
    """The text with reading `number` (from 1) of the list replaced. Raises NotThere."""
    start, end = _place(text, kind.value, number, file=_FILE)
    data = text.encode()
    return (data[:start] + _block(kind, reading).rstrip("\n").encode() + data[end:]).decode()


def remove_reading(text: str, kind: ReadingKind, number: int) -> str:
    """The text without reading `number` (from 1) of the list. Raises NotThere."""
    return remove_block(text, kind.value, number, file=_FILE)


def remove_block(text: str, name: str, number: int, *, file: str) -> str:
    """A TOML text without the block `number` (from 1) of its list `name`; every other byte stays. `file`: what it is called where
    there is no such block. Raises NotThere."""
    start, end = _place(text, name, number, file=file)
    data = text.encode()
    line_end = data.find(b"\n", end)
    return (data[:start] + (data[line_end:] if line_end >= 0 else b"").lstrip(b"\r\n")).decode()


def _place(text: str, wanted: str, number: int, *, file: str) -> tuple[int, int]:
    """Bytes from the head of a block to the end of its last line."""
    read_toml(text, shown=file)
    found: list[tuple[int, int, bool]] = []
    for node in Parser(_LANGUAGE).parse(text.encode()).root_node.children:
        if node.type in ("table", "table_array_element"):
            head, *rest = (child for child in node.children if child.is_named and child.type != "comment")
            name = (head.text or b"").decode()
            end = max(_end(child) for child in (head, *rest))
            if node.type == "table_array_element" and name == wanted:
                found.append((node.start_byte, end, not rest))
            elif found and name.startswith(f"{wanted}."):
                found[-1] = (found[-1][0], end, False)
    if not 1 <= number <= len(found):
        said = f"there is no {wanted} {number}: {file} has {len(found)}"
        raise NotThere.because(said, remedy=f"look at the list in {file}", span=Span(file))
    start, end, bare = found[number - 1]
    return start, end + len("]]") if bare else end


def _end(node: Node) -> int:
    """Where a head or a pair ends, without a comment behind it."""
    return max((child.end_byte for child in node.children if child.type != "comment"), default=node.end_byte)


def _block(kind: ReadingKind, reading: Mapping[str, Any]) -> str:
    lines = [f"{_key(key)} = {_value(value, key)}" for key, value in reading.items() if value is not None]
    return "\n".join((f"[[{kind.value}]]", *lines)) + "\n"


def _key(key: str) -> str:
    return key if key.replace("_", "").isalnum() and key.isascii() else _quoted(key)


def _quoted(text: str) -> str:
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise InputRefused.because("a text of the reading is no text", remedy="write it with ordinary letters") from error
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: Any, key: str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if (isinstance(value, int) and abs(value) <= _GREATEST) or (isinstance(value, float) and math.isfinite(value)):
        return repr(value)
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = (f"{_key(name)} = {_value(item, name)}" for name, item in value.items() if item is not None)
        return f"{{ {', '.join(inside)} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(item, key) for item in value)}]"
    shown = repr(value)
    shown = shown if len(shown) <= _MOST_SHOWN else f"{shown[:_MOST_SHOWN]}…"
    raise InputRefused.because(f"{shown} cannot be written into a reading", remedy="give a number or a text", key=key)
