"""Sentences that several checks of Prove share."""

from __future__ import annotations

from setwright.prove.case import Contact, ProveCase
from setwright.prove.plunges import Plunge

__all__ = ["MEASURE_IT", "how_deep", "how_it_runs", "how_to_settle", "if_it_reaches", "the_body"]

MEASURE_IT = "measure the blank there and answer its guess in job.toml; if it reaches that far, "
"""What a setter does first about a contact that only a guessed blank brings about."""

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


_PAST = {"left": "beyond X", "right": "beyond X", "front": "beyond Y", "back": "beyond Y", "bottom": "below Z", "top": "above Z"}


def if_it_reaches(case: ProveCase, one: Contact) -> str:
    """ " if it reaches beyond X-12.300", where only a guessed part of the blank is met; else nothing."""
    if one.beyond is None:
        return ""
    told = [f"{_PAST[face]}{case.length(place).split()[0]}" for face, place in one.beyond]
    return f" if it reaches {' and '.join(told)}" if told else " where that is only guessed to be"


_RUNS = {"straight": "if the control runs rapids straight", "bent": "if each axis runs to its end at its own rapid speed",
         "one way": "some if rapids run straight, some if each axis runs at its own speed"}  # fmt: skip


def how_it_runs(one: Contact) -> str:
    """ ", if the control runs rapids straight" where a contact hangs on that or on another doubt; else nothing."""
    return (f", {_RUNS[one.way]}" if one.way else "") + (f", {one.doubt}" if one.doubt else "")


def how_to_settle(one: Contact) -> str:
    """What a setter does about a rapid that may run either way or another doubt, to follow a remedy."""
    if one.doubt:
        return "; or state body_diameter and edge_angle in the tool's file, edge_at_stop and bore_shift in the machine's behaviours"
    return '; or state how rapids run as behaviours.rapid = "straight" or "dog-leg" in the machine\'s file' if one.way else ""
