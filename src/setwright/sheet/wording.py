"""The sheet's numbers as text a person reads across a machine: signed, with unit, the same digits everywhere, never "-0"."""

from __future__ import annotations

import math
from typing import Final

from setwright.base.units import format_length
from setwright.sheet.content import Register

__all__ = ["MINUS", "plain_length", "range_text", "register_text", "signed_length", "uncertainty_text"]

MINUS: Final = "\u2212"
"""The true minus sign: as wide as the plus, so that a sign cannot hide."""
_ANGLE_PLACES: Final = 4


def plain_length(mm: float, units: str) -> str:
    """A length as on a drawing, without the zeros behind it and without unit: "124", "12.5", "0.125".

    >>> plain_length(12.5, "mm"), plain_length(12.7, "inch"), plain_length(-0.0001, "mm")
    ('12.5', '0.5', '0')
    """
    text = format_length(mm, units).split()[0]
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return ("0" if text in ("-0", "") else text).replace("-", MINUS)


def signed_length(mm: float, units: str) -> str:
    """A register's length with its sign and all its places, without unit: "+12.700", "−287.442"."""
    return format_length(mm, units, signed=True).split()[0].replace("-", MINUS)


def register_text(register: Register, units: str) -> str:
    """The number to type; empty when it is not determined, so that a box to write in is printed instead."""
    if register.value is None or not math.isfinite(register.value):
        return ""
    if not register.angle:
        return signed_length(register.value, units)
    text = f"{register.value:+.{_ANGLE_PLACES}f}"
    return (text.replace("-", "+") if float(text) == 0.0 else text).replace("-", MINUS) + "°"


def uncertainty_text(register: Register, units: str) -> str:
    """The expanded uncertainty, rounded up in its last place so that it never looks better than it is; empty if unknown."""
    half = register.uncertainty
    if half is None or not math.isfinite(half):
        return ""
    inch = units in ("in", "inch") and not register.angle
    places = _ANGLE_PLACES if inch or register.angle else 3
    steps = math.ceil(round((half / 25.4 if inch else half) * 10**places, 3))
    return f"± {steps / 10**places:.{places}f}" + ("°" if register.angle else "")


def range_text(span: tuple[float, float] | None, *, scale: float = 1.0, places: int = 0) -> str:
    """Least to largest, or the one number when they print alike; empty if there is none."""
    if span is None:
        return ""
    least, largest = (f"{end * scale:.{places}f}" for end in span)
    return least if least == largest else f"{least}–{largest}"
