"""Codes that only some controls have, or that mean one thing to some and another to others."""

from __future__ import annotations

from typing import Final

from setwright.program.block import code_text
from setwright.program.codes import NUMBERED_OFFSETS, PATTERNS, SMOOTHING
from setwright.program.machine import Machine
from setwright.program.remark import Severity
from setwright.program.words import Words

__all__ = ["GROUP", "meaning"]

GROUP: Final = dict.fromkeys(NUMBERED_OFFSETS, "work offset")
"""Modal group of codes that only some controls have."""

_INCH_OR_MM = {700: 200, 710: 210}


def meaning(machine: Machine, words: Words, code: int) -> int | None:
    """The code as which a code outside the common ones is carried out; None where there is nothing to carry out.

    Raises Stop, naming the behaviour that would let it pass, where the profile does not have it, or for a code nobody knows.
    """
    name = code_text("G", code)
    if code in SMOOTHING and not (words.any_axis or words.any_centre):
        _smoothing(machine, words, name)
        return None
    if code in NUMBERED_OFFSETS:
        if machine.profile.offsets_g110 == "refuse":
            raise machine.stop(f"{name} is not understood", why="a numbered offset to some controls, something else to others",
                               remedy="write G54.1 P with its number", key=name, behaviour="offsets_g110")  # fmt: skip
        return code
    if code in PATTERNS and "L" in words:
        if machine.profile.hole_patterns == "refuse":
            raise machine.stop(f"{name} is not understood", why="a row of holes to some controls, something else to others",
                               remedy="write the holes out, or choose a profile that reads it", key=name,
                               behaviour="hole_patterns")  # fmt: skip
        return code
    if code in _INCH_OR_MM:
        return _unit(machine, name, code)
    raise machine.stop(f"{name} is not understood", why="what it does depends on the control, and it may move the tool",
                       remedy="write the moves out, or take the block out of the program", key=name)  # fmt: skip


def _unit(machine: Machine, name: str, code: int) -> int:
    if machine.profile.unit_words != "G70 G71 too":
        raise machine.stop(f"{name} is not understood", why="the unit to some controls, something else to others",
                           remedy="write G20 or G21", key=name, behaviour="unit_words")  # fmt: skip
    machine.assume("unit_words", f"{name} chooses {'inch' if code == 700 else 'mm'}", key=name)
    return _INCH_OR_MM[code]


def _smoothing(machine: Machine, words: Words, name: str) -> None:
    """How far corners may be rounded: no motion, but the path is followed only so closely."""
    if machine.profile.path_smoothing == "refuse":
        raise machine.stop(f"{name} is not understood", why="some controls round corners by it, others move",
                           remedy="take it out, or choose a profile that reads it", key=name,
                           behaviour="path_smoothing")  # fmt: skip
    words.take("EPQR")
    machine.assume("path_smoothing", f"{name} says how far the control may round corners and moves nothing", key=name)
    machine.remark("corners may be rounded", Severity.NOTICE,
                   f"{name} lets the control round corners; the path is taken as it is written.",
                   "Look up how far it may stray, and compare with the tightest tolerance.", key=name)  # fmt: skip
