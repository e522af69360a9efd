"""Limits that a drawing gives by a name: fits of ISO 286 such as H7, and the classes f, m, c, v of general tolerances, ISO 2768-1.

The tables are the printed ones, in micrometres for ISO 286 and in millimetres for ISO 2768-1; a size on a border belongs to the
smaller range. What no printed table was at hand for is refused, not worked out from the formula behind it: below 18 mm the formula
and the print differ by up to a tenth.
Source: ISO 286-1 and -2, ISO 2768-1, as printed in textbooks of machine drawing.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass
from typing import Final

from setwright.base.units import UnitError

__all__ = ["GENERAL_CLASSES", "Named", "named_limits"]

GENERAL_CLASSES: Final = ("f", "m", "c", "v")

_SIZES: Final = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)
"""Upper ends of the ranges of ISO 286, mm; the first range is up to 3."""

_GRADES: Final = {
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
    12: (100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630),
}
"""Width of the zone by grade, um."""

_AWAY: Final = {
    "f": (10, 13, 16, 20, 25, 30, 36, 43, 50, 56, 62, 68),
    "g": (4, 5, 6, 7, 9, 10, 12, 14, 15, 17, 18, 20),
    "k": (1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5),
    "m": (4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23),
    "n": (8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40),
    "p": (12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68),
}
"""How far a shaft's zone lies from the nominal size, um, by letter and by range from over 3 mm on."""

_GENERAL_SIZES: Final = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
_GENERAL: Final = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
    "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
}
_SMALLEST_GENERAL: Final = 0.5
_FIT: Final = re.compile(r"([A-Za-z]{1,2})(\d{1,2})")
_EXAMPLE: Final = 'write the limits themselves, for example size = "12.50 +0.03/-0.00"'


@dataclass(frozen=True, slots=True)
class Named:
    """Limit deviations, mm, and what a person must know who relies on them ("" where the printed tables agree)."""

    lower: float
    upper: float
    note: str = ""


def named_limits(name: str, size_mm: float) -> Named:
    """The limit deviations that `name` ("H7", "g6", "m") gives a size. Raises UnitError for names and sizes that are not in the
    tables.

    >>> named_limits("H7", 25.0)
    Named(lower=0.0, upper=0.021, note='')
    >>> named_limits("m", 124.0)
    Named(lower=-0.5, upper=0.5, note='')
    """
    size = abs(size_mm)
    if name in GENERAL_CLASSES:
        return _general(name, size)
    match = _FIT.fullmatch(name)
    if match is None:
        raise UnitError(f'tolerance = "{name}" is not known; write a fit as "H7" or "g6", or a class of ISO 2768-1: f, m, c or v')
    return _fit(match[1], int(match[2]), size)


def _general(name: str, size: float) -> Named:
    place = bisect_left(_GENERAL_SIZES, size)
    within = _GENERAL[name][place] if size >= _SMALLEST_GENERAL and place < len(_GENERAL_SIZES) else None
    if within is None:
        raise UnitError(f"ISO 2768-1 {name} has no limits for a size of {size:g} mm; {_EXAMPLE}")
    older = name == "c" and size <= _GENERAL_SIZES[1]
    note = "older tables print 0.15 and 0.2 for class c up to 6 mm; taken as 0.2 and 0.3" if older else ""
    return Named(-within, within, note)


def _fit(letter: str, grade: int, size: float) -> Named:
    hole, zone = letter.isupper(), letter.lower()
    if letter not in (zone, zone.upper()) or (zone not in _AWAY and zone not in ("h", "js")):
        raise UnitError(f'tolerance = "{letter}{grade}": the tables here have F G H JS K M N P for holes and f g h js k m n p for '
                        f"shafts; {_EXAMPLE}")  # fmt: skip
    if grade not in _GRADES or not 0.0 < size <= _SIZES[-1]:
        raise UnitError(f"the tables here have grades 5 to 12 up to 500 mm, not {letter}{grade} of {size:g} mm; {_EXAMPLE}")
    place = bisect_left(_SIZES, size)
    width = _GRADES[grade][place]
    if zone == "h":
        return _um(0, width) if hole else _um(-width, 0)
    if zone == "js":
        note = "older tables round half a grade down; taken as exactly half" if width % 2 and grade >= 7 else ""
        return Named(-width / 2000, width / 2000, note)
    if place == 0:
        raise UnitError(f"the tables here have {letter}{grade} from over 3 mm on, not for {size:g} mm; {_EXAMPLE}")
    away = _AWAY[zone][place - 1]
    if zone in ("f", "g"):
        return _um(away, away + width) if hole else _um(-away - width, -away)
    return _hole(zone, grade, place, away, width) if hole else _shaft(zone, grade, away, width)


def _shaft(zone: str, grade: int, away: int, width: int) -> Named:
    low = 0 if zone == "k" and grade > 7 else away
    return _um(low, low + width)


def _hole(zone: str, grade: int, place: int, away: int, width: int) -> Named:
    """Holes K to P are the shaft's mirror, raised in the finer grades by the step from the grade before."""
    raised = grade <= (7 if zone == "p" else 8)
    if (raised and grade - 1 not in _GRADES) or (zone == "k" and not raised):
        raise UnitError(f"the tables here do not have {zone.upper()}{grade}; {_EXAMPLE}")
    step = width - _GRADES[grade - 1][place] if raised else 0
    high = 0 if zone == "n" and not raised else step - away
    if zone == "m" and grade == 6 and _SIZES[place] == 315:
        high = -9  # the one printed exception
    return _um(high - width, high)


def _um(lower: int, upper: int) -> Named:
    return Named(lower / 1000, upper / 1000)
