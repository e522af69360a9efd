"""Numbers as people read them in the terminal."""

from __future__ import annotations

from setwright.base.units import format_duration, format_length

__all__ = ["duration", "length", "span_of"]


def length(mm: float, units: str, *, bare: bool = False, signed: bool = False) -> str:
    """A length with its unit (or without, `bare`)."""
    text = format_length(mm, units, signed=signed)
    return text.rsplit(" ", 1)[0] if bare else text


def span_of(limits: tuple[float, float] | None, places: int) -> str:
    """ "900 … 1500", "4000", or a dash."""
    if limits is None:
        return "–"
    low, high = (f"{value:,.{places}f}" for value in limits)
    return low if low == high else f"{low} … {high}"


def duration(seconds: float | None, within: float | None = None) -> str:
    """ "2 min 05 s", with its ± where that is known; a dash if not known."""
    return "–" if seconds is None else format_duration(seconds, within)
