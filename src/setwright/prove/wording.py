"""Sentences that several checks of Prove share."""

from __future__ import annotations

from setwright.prove.case import Contact, ProveCase
from setwright.prove.plunges import Plunge

__all__ = ["how_deep", "the_body"]

_PLAIN = ("blank", "fixed jaw", "moving jaw", "vise body", "end stop", "fixture plate", "table", "parallel at fixed jaw",
          "parallel at moving jaw")  # fmt: skip


def the_body(name: str) -> str:
    """A body in a sentence: the blank, the fixed jaw; names a setter gave stand in quotes as they are."""
    return f"the {name}" if name in _PLAIN else f"“{name}”"


def how_deep(case: ProveCase, one: Contact | Plunge) -> str:
    """ "2.350 mm deep", and where it is deepest when several motions do it."""
    deep = case.length(one.depth_mm)
    if one.count == 1:
        return f"{deep} deep"
    where = "in this one" if one.deepest_row == one.row else f"in line {case.line_at(one.deepest_row)}"
    return f"in {one.count} motions from here on, {deep} deep {where}"
