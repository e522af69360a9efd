"""Measured pieces: what a gauge showed of a feature, and what was typed into the control between two pieces."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Annotated

from pydantic import AfterValidator

from setwright.base.span import Span
from setwright.model.quantity import Angle, Length, Name, Part, not_negative, positive

__all__ = ["Gauge", "Measured", "Measurement", "Typing"]


class Gauge(Part):
    """A gauge of the shop that measures pieces.

    `uncertainty`: expanded (k = 2) of one measured length, as this shop uses it; `angle_uncertainty` the same of an angle.
    `resolution`: the least step it shows.
    """

    name: Name
    uncertainty: Annotated[Length, AfterValidator(positive)]
    angle_uncertainty: Annotated[Angle, AfterValidator(positive)] | None = None
    resolution: Annotated[Length, AfterValidator(not_negative)] = 0.0
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Measurement:
    """One value: of which piece and feature of a setup, mm (an angle: rad), with which gauge of the shop, when; its line."""

    piece: str
    setup: str
    feature: str
    value: float
    gauge: str
    when: datetime.datetime | datetime.date | None
    span: Span


@dataclass(frozen=True, slots=True)
class Typing:
    """A register changed by `by` (mm, as the control shows it) before a piece was cut."""

    piece: str
    setup: str
    register: str
    by: float
    span: Span


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of a job, in the order of the file; `file` as it is told, `digest` of its bytes."""

    measurements: tuple[Measurement, ...]
    typings: tuple[Typing, ...]
    file: str
    digest: str

    def pieces(self, setup: str) -> tuple[str, ...]:
        """The pieces of a setup as they were cut: by their numbers where all have one, else as they first stand there."""
        every = [(one.span.line, one.piece) for one in self.measurements if one.setup == setup]
        every += [(one.span.line, one.piece) for one in self.typings if one.setup == setup]
        found = tuple(dict.fromkeys(piece for _, piece in sorted(every)))
        return tuple(sorted(found, key=int)) if all(piece.isdecimal() for piece in found) else found
