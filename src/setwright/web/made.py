"""Something a station made, on its way from a worker to the record."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["Made"]


@dataclass(frozen=True, slots=True)
class Made:
    """A file's name, its type, its bytes."""

    name: str
    media_type: str
    data: bytes = field(repr=False)
