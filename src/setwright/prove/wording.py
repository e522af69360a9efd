"""Sentences that several checks of Prove share."""

from __future__ import annotations

from setwright.prove.case import Contact, ProveCase

__all__ = ["how_deep", "the_body"]

_PLAIN = ("blank", "fixed jaw", "moving jaw", "vise body", "end stop", "fixture plate", "table", "parallel at fixed jaw",
          "parallel at moving jaw")  # fmt: skip


def the_body(name: str) -> str:
    """A body in a sentence: the blank, the fixed jaw; names a setter gave stand in quotes as they are."""
    return f"the {name}" if name in _PLAIN else f"“{name}”"


def how_deep(case: ProveCase, contact: Contact) -> str:
    """ "2.350 mm deep", and where it is deepest when several motions do it."""
    if contact.count == 1:
        return f"{case.length(contact.depth_mm)} deep"
    where = "here" if contact.deepest_row == contact.row else f"in line {case.line_at(contact.deepest_row)}"
    return f"up to {case.length(contact.depth_mm)} deep ({where}), in {contact.count} motions, here first"
