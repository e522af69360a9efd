"""Sentences that more than one place of Touch says."""

from __future__ import annotations

__all__ = ["remedy_for_axis", "shown_digits"]

_MM_PER_INCH = 25.4


def shown_digits(mm: float, units: str) -> str:
    """A position as a display shows it: three decimals in mm, four in inches.

    >>> shown_digits(-16.8524, "mm"), shown_digits(25.4, "in")
    ('-16.852', '1.0000')
    """
    return f"{mm / _MM_PER_INCH:.4f}" if units in ("in", "inch") else f"{mm:.3f}"


def remedy_for_axis(axis: str) -> str:
    """What to do about an axis ("x", "y", "z") that nothing fixes."""
    if axis == "z":
        return ("touch the datum's Z face with a tool whose length is known, or bring that tool to the tool setter as well; where "
                "lengths are set on the part itself, write lengths = “tip on datum” under [control] in the machine's file, which "
                "station Kit shows")  # fmt: skip
    return f"touch a face square to {axis.upper()}, or sweep the datum bore"
