"""Measured pieces: what a gauge showed of a feature, and what was typed into the control between two pieces."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import AfterValidator

from setwright.base.span import Span
from setwright.model.quantity import Angle, Length, Name, Part, not_negative, positive

__all__ = ["Gauge", "Measured", "MeasuredKind", "Measurement", "ToolChange", "Typing"]

MeasuredKind = Literal["inside diameter", "outside diameter", "inside width", "outside width", "depth", "position", "flatness",
                       "angle", "cusp"]  # fmt: skip


class Gauge(Part):
    """A gauge of the shop that measures pieces.

    `uncertainty`: expanded (k = 2) of one measured length, as this shop uses it; `angle_uncertainty` the same of an angle.
    `resolution`: the least step it shows. `measures`: what it can be put on, so that it is proposed for that: "inside diameter",
    "outside diameter", "inside width", "outside width" (also a length or thickness), "depth" (a step between faces that look the
    same way), "position", "flatness", "angle", "cusp".
    """

    name: Name
    uncertainty: Annotated[Length, AfterValidator(positive)]
    angle_uncertainty: Annotated[Angle, AfterValidator(positive)] | None = None
    resolution: Annotated[Length, AfterValidator(not_negative)] = 0.0
    measures: tuple[MeasuredKind, ...] = ()
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
class ToolChange:
    """A tool of a setup changed for a new one before a piece was cut; its line."""

    piece: str
    setup: str
    station: int
    span: Span


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of a job, in the order of the file; `file` as it is told, `digest` of its bytes."""

    measurements: tuple[Measurement, ...]
    typings: tuple[Typing, ...]
    file: str
    digest: str
    changes: tuple[ToolChange, ...] = ()

    def changes_of(self, setup: str) -> tuple[ToolChange, ...]:
        """The tools changed in a setup."""
        return tuple(one for one in self.changes if one.setup == setup)

    def pieces(self, setup: str) -> tuple[str, ...]:
        """The pieces of a setup as they were cut: by their numbers where all have one, else as they first stand there."""
        every = [(one.span.line, one.span.column, one.piece) for of in (self.measurements, self.typings, self.changes) for one in of
                 if one.setup == setup]  # fmt: skip
        found = tuple(dict.fromkeys(piece for _, _, piece in sorted(every)))
        return tuple(sorted(found, key=int)) if all(piece.isdecimal() for piece in found) else found

    def numbers(self, setup: str) -> dict[str, int]:
        """The number of each piece: what it is called where all are numbers, so that pieces nobody measured count; else its
        turn."""
        pieces = self.pieces(setup)
        named = not all(piece.isdecimal() for piece in pieces)
        return {piece: turn if named else int(piece) for turn, piece in enumerate(pieces, 1)}
