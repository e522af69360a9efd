"""Numbers as people read them in the terminal."""

from __future__ import annotations

from setwright.base.units import format_length

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


def duration(seconds: float | None) -> str:
    """ "2 min 05 s"; a dash if not known."""
    if seconds is None:
        return "–"
    whole = round(seconds)
    hours, minutes = whole // 3600, whole % 3600 // 60
    if hours:
        return f"{hours} h {minutes:02d} min"
    return f"{minutes} min {whole % 60:02d} s" if minutes else f"{whole} s"
