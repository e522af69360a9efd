"""The words of one block with their numbers settled, read in the units and modes in force."""

from __future__ import annotations

import math

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.program.arc import PLANES
from setwright.program.machine import Machine, Triple

__all__ = ["LARGEST_NUMBER", "Words"]

LARGEST_NUMBER = 1.0e9
"""No word of a program means more than this (a million metres, a thousand million turns a minute): beyond lies a mistake."""

_AXES = "XYZ"
_ONLY_AXES = frozenset("XYZIJKRF")
_ODD = frozenset("ABCUVWE")
_EXPLAINED = frozenset("XYZIJKFSTHDABC")


class Words:
    """Letters with numbers as written (`values`), those written without a point (`whole`), the G codes times ten and M codes."""

    __slots__ = ("_taken", "any_axis", "any_centre", "g", "m", "machine", "only_axes", "values", "whole")

    def __init__(self, machine: Machine, values: dict[str, float], whole: str, g: tuple[int, ...], m: tuple[int, ...]) -> None:
        self.machine, self.values, self.whole, self.g, self.m = machine, values, whole, g, m
        self.any_axis = "X" in values or "Y" in values or "Z" in values
        self.any_centre = "I" in values or "J" in values or "K" in values
        self.only_axes = values.keys() <= _ONLY_AXES
        self._taken: set[str] = set()

    def __contains__(self, letter: str) -> bool:
        return letter in self.values

    def take(self, letters: str) -> None:
        """Note that these letters have been used."""
        self._taken.update(letters)

    def number(self, letter: str) -> float:
        """The number as written."""
        self._taken.add(letter)
        value = self.values[letter]
        if abs(value) > LARGEST_NUMBER:
            raise self.machine.stop(f"{letter}{value:g} is beyond all measure", key=letter,
                                    remedy="look where the number comes from")  # fmt: skip
        return value

    def integer(self, letter: str, what: str) -> int:
        """The number, which must be whole and not negative."""
        value = self.number(letter)
        if value < 0.0 or value != math.floor(value):
            raise self.machine.stop(f"{letter}{value:g} is no {what}", remedy=f"write {letter} with a whole number", key=letter)
        return int(value)

    def length(self, letter: str) -> float:
        """The number as a length in mm."""
        machine = self.machine
        value = self.number(letter) * machine.modal.unit
        if letter in self.whole and machine.profile.decimal == "least increment":
            inch = machine.modal.unit != 1.0
            return value * (machine.profile.increment_inch if inch else machine.profile.increment_mm)
        return value

    def target(self) -> Triple:
        """The programmed point that the axis words name (mm); axes without a word stay."""
        modal = self.machine.modal
        if modal.polar:
            return self._polar_target()
        point = [*self.machine.prog]
        for i, axis in enumerate(_AXES):
            if axis in self.values:
                value = self.length(axis)
                point[i] = value if modal.absolute else point[i] + value
        return point[0], point[1], point[2]

    def _polar_target(self) -> Triple:
        machine, modal = self.machine, self.machine.modal
        first, second, normal = PLANES[modal.plane]
        centre = machine.polar_centre
        point = [*machine.prog]
        du, dv = point[first] - centre[0], point[second] - centre[1]
        radius = math.hypot(du, dv)
        angle = math.degrees(math.atan2(dv, du)) if radius > SAME_PLACE_MM else machine.polar_angle
        if _AXES[first] in self.values:
            value = self.length(_AXES[first])
            radius = value if modal.absolute else radius + value
        if _AXES[second] in self.values:
            value = self.number(_AXES[second])
            angle = value if modal.absolute else angle + value
        machine.polar_angle = angle
        point[first] = centre[0] + radius * math.cos(math.radians(angle))
        point[second] = centre[1] + radius * math.sin(math.radians(angle))
        if _AXES[normal] in self.values:
            value = self.length(_AXES[normal])
            point[normal] = value if modal.absolute else point[normal] + value
        return point[0], point[1], point[2]

    def odd_letters(self) -> list[str]:
        """Words of axes beside X, Y, Z, and of no meaning at all, that nothing has used yet."""
        return sorted((self.values.keys() & _ODD) - self._taken) if not self.only_axes else []

    def unused(self) -> list[str]:
        """Letters that nothing in the block has used, except those that are plainly remembered."""
        return sorted(letter for letter in self.values if letter not in self._taken and letter not in _EXPLAINED)
