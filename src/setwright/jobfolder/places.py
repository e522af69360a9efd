"""From a key path of the document to its place in the TOML text."""

from __future__ import annotations

from typing import Final

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from setwright.base.span import Span

__all__ = ["Places"]

_LANGUAGE: Final = Language(tree_sitter_toml.language())
_KEY_KINDS: Final = ("bare_key", "quoted_key")
Key = tuple[str | int, ...]


class Places:
    """Where every key and value of one TOML text stands.

    Paths are those of the parsed document: strings for keys, numbers for the items of arrays.
    """

    def __init__(self, text: str, file: str) -> None:
        self._lines = text.splitlines()
        self._file = file
        self._places: dict[Key, Node] = {}
        self._counts: dict[Key, int] = {}
        for child in Parser(_LANGUAGE).parse(text.encode()).root_node.children:
            self._enter(child)

    def of(self, path: tuple[str | int, ...]) -> Span:
        """The place of a path, or of its nearest parent that is written; the file as a whole if nothing is."""
        for length in range(len(path), 0, -1):
            node = self._places.get(path[:length])
            if node is not None:
                line = node.start_point.row
                text = self._lines[line] if line < len(self._lines) else ""
                column = len(text.encode()[: node.start_point.column].decode(errors="replace")) + 1
                return Span(self._file, line + 1, column, max(1, node.end_byte - node.start_byte), text)
        return Span(self._file)

    def _enter(self, node: Node, under: Key = ()) -> None:
        if node.type == "pair":
            path = under + _key(node.children[0])
            self._note(path, node.children[0])
            self._enter_value(node.children[-1], path)
        elif node.type in ("table", "table_array_element"):
            head = next(child for child in node.children if child.type in (*_KEY_KINDS, "dotted_key"))
            path = self._resolved(_key(head), item=node.type == "table_array_element")
            self._note(path, head)
            for child in node.children:
                if child.type == "pair":
                    self._enter(child, path)

    def _enter_value(self, node: Node, path: Key) -> None:
        if node.type == "inline_table":
            for child in node.children:
                self._enter(child, path)
        elif node.type == "array":
            values = [child for child in node.children if child.is_named and child.type != "comment"]
            for number, child in enumerate(values):
                self._note((*path, number), child)
                self._enter_value(child, (*path, number))

    def _note(self, path: Key, node: Node) -> None:
        for length in range(1, len(path)):
            self._places.setdefault(path[:length], node)
        self._places[path] = node

    def _resolved(self, key: Key, *, item: bool) -> Key:
        """The path of a table's head, with the number of the current item after every array of tables on the way."""
        path: Key = ()
        for number, part in enumerate(key):
            path = (*path, part)
            last = number == len(key) - 1
            if last and item:
                self._counts[path] = self._counts.get(path, -1) + 1
            if path in self._counts:
                path = (*path, self._counts[path])
        return path


def _key(node: Node) -> Key:
    if node.type == "dotted_key":
        return tuple(part for child in node.children if child.is_named for part in _key(child))
    text = (node.text or b"").decode()
    return (text.strip("\"'"),)
