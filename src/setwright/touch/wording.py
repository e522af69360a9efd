"""Sentences that more than one place of Touch says."""

from __future__ import annotations

__all__ = ["remedy_for_axis"]


def remedy_for_axis(axis: str) -> str:
    """What to do about an axis ("x", "y", "z") that nothing fixes."""
    if axis == "z":
        return ("touch the datum's Z face with a tool whose length is known, or bring that tool to the tool setter as well; where "
                "lengths are set on the part itself, let the machine's file say so: lengths = “tip on datum”")  # fmt: skip
    return f"touch a face square to {axis.upper()}, or sweep the datum bore"
