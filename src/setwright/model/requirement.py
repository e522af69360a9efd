"""Drawing requirements: a size with its limits, and between what it is measured."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Final, Self

from pydantic import AfterValidator, BeforeValidator, Field, PlainSerializer, ValidationInfo, model_validator

from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.model.fits import named_limits
from setwright.model.quantity import Angle, Length, Name, Part, positive

__all__ = ["NO_LIMITS", "AngleOf", "EvenOf", "PositionOf", "Requirement", "Size", "Thickness", "parse_size"]

NO_LIMITS: Final = "none"
"""The tolerance of a size that is given for information only."""

_SIZE: Final = re.compile(
    r"""^\s*(?P<nominal>[+-]?\d*[.,]?\d+)\s*
        (?:(?:±|\+\s*/\s*-)\s*(?P<both>\d*[.,]?\d+)
          |(?P<one>[+-]\s*\d*[.,]?\d+|0)\s*(?:/|\s)\s*(?P<two>[+-]\s*\d*[.,]?\d+|0))?
        \s*(?P<unit>[a-zA-Z"″]*)\s*$""",
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Size:
    """Nominal size and limit deviations, mm; `lower <= upper`, both relative to nominal. Equal to zero each: no tolerance given."""

    nominal: float
    lower: float
    upper: float

    def __str__(self) -> str:
        return f"{self.nominal!r} {self.upper:+}/{self.lower:+} mm"


def parse_size(value: object, units: str) -> Size:
    """`"12.50 +0.03/-0.00"`, `"12.5 ±0.05"`, `"0.500 +/-0.002 in"`, or a bare number (no tolerance).

    Raises UnitError with what to write instead.
    """
    if isinstance(value, Size):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return Size(parse_quantity(value, Dimension.LENGTH, units), 0.0, 0.0)
    match = _SIZE.match(value) if isinstance(value, str) else None
    fit = re.fullmatch(r"\s*[Øø⌀]?\s*(\d+(?:[.,]\d+)?)\s*([A-Za-z]{1,2}\d{1,2})\s*", value) if isinstance(value, str) else None
    if match is None and fit is not None:
        raise UnitError(f'"{value}" is a size and a fit; write size = "{fit[1]}" and tolerance = "{fit[2]}"')
    if match is None:
        raise UnitError(f'"{value}" is not a size with limits; write for example "12.50 +0.03/-0.00" or "12.5 ±0.05"')
    unit = match["unit"] or units

    def mm(text: str) -> float:
        return parse_quantity(str(Decimal(text.replace(",", ".").replace(" ", ""))), Dimension.LENGTH, unit)

    nominal = mm(match["nominal"])
    if match["both"]:
        return Size(nominal, -mm(match["both"]), mm(match["both"]))
    if match["one"]:
        lower, upper = sorted((mm(match["one"]), mm(match["two"])))
        return Size(nominal, lower, upper)
    return Size(nominal, 0.0, 0.0)


def _read_size(value: object, info: ValidationInfo) -> Size:
    return parse_size(value, (info.context or {}).get("units", "mm"))


SizeField = Annotated[Size, BeforeValidator(_read_size), PlainSerializer(str, when_used="json")]


class PositionOf(Part):
    """Where the centre of a bore or boss shall be, in W; `within` is the diameter of the zone it must lie in."""

    of: Name
    x: Length
    y: Length
    within: Annotated[Length, AfterValidator(positive)]


class EvenOf(Part):
    """How even a flat or sloped face shall be: no more than `within` from its lowest to its highest point."""

    of: Name
    within: Annotated[Length, AfterValidator(positive)]


class AngleOf(Part):
    """The angle between two flat or sloped faces and how far it may be off either way; bare numbers are degrees."""

    between: tuple[Name, Name]
    is_: Annotated[Angle, Field(alias="is")]
    within: Annotated[Angle, AfterValidator(positive)]


class Thickness(Part):
    """The least metal that shall stand when the setup is done: `wall` level across, `floor` straight down. Zero: nothing asked."""

    wall: Length = 0.0
    floor: Length = 0.0


_KINDS: Final = ("between", "diameter", "position", "flatness", "cusp", "angle")


class Requirement(Part):
    """One requirement of the drawing: exactly one of `between`, `diameter`, `position`, `flatness`, `cusp`, `angle`.

    `tolerance`: the limits of a size by a name, a fit of ISO 286 ("H7", "g6") or a class of ISO 2768-1 (f, m, c, v); "none" for a
    size that the drawing gives for information only. Left away, a size without limits has the job's general tolerance, if it states
    one.
    """

    name: Name
    between: tuple[Name, Name] | None = None
    diameter: Name | None = None
    position: PositionOf | None = None
    flatness: EvenOf | None = None
    cusp: EvenOf | None = None
    angle: AngleOf | None = None
    size: SizeField | None = Field(default=None)
    tolerance: Name | None = None

    @property
    def limits(self) -> Size:
        """Nominal size and limit deviations: mm, for an angle degrees."""
        if self.angle is not None:
            within = math.degrees(self.angle.within)
            return Size(math.degrees(self.angle.is_), -within, within)
        zone = self.position or self.flatness or self.cusp
        if zone is not None:
            return Size(0.0, 0.0, zone.within)
        if self.size is None:
            raise AssertionError("a requirement without size passed validation")
        if self.tolerance in (None, NO_LIMITS):
            return self.size
        named = named_limits(str(self.tolerance), self.size.nominal)
        return Size(self.size.nominal, named.lower, named.upper)

    @property
    def faces(self) -> tuple[str, ...]:
        """Names of the faces it is measured on."""
        if self.between is not None:
            return self.between
        if self.angle is not None:
            return self.angle.between
        zone = self.position or self.flatness or self.cusp
        return (zone.of,) if zone is not None else (self.diameter or "",)

    @model_validator(mode="after")
    def _named_once(self, info: ValidationInfo) -> Self:
        """Limits stand in the size or have a name; the job's general tolerance goes where neither is."""
        open_ = self.size is not None and self.size.lower == self.size.upper == 0.0
        if self.tolerance is None:
            general = (info.context or {}).get("general_tolerance")
            return self.model_copy(update={"tolerance": general})._in_tables() if open_ and general else self
        if self.size is None:
            raise ValueError("tolerance goes with a size; this kind has its limit as within = ...")
        if not open_:
            raise ValueError(f'the size has limits and tolerance = "{self.tolerance}" gives others: leave one of them away')
        return self._in_tables()

    def _in_tables(self) -> Self:
        """The same; raises UnitError where the tables have no limits of that name for its size."""
        if self.tolerance != NO_LIMITS and self.size is not None:
            named_limits(str(self.tolerance), self.size.nominal)
        return self

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        kinds = [k for k in _KINDS if getattr(self, k) is not None]
        if len(kinds) != 1:
            raise ValueError('write exactly one of between = ["face", "face"], diameter = "bore", position = { of, x, y, within }, '
                             'flatness = { of, within }, cusp = { of, within }, angle = { between, is, within }')  # fmt: skip
        if kinds[0] in ("between", "diameter") and self.size is None:
            raise ValueError('a size is missing, for example size = "12.50 +0.03/-0.00"')
        if kinds[0] in ("flatness", "cusp", "angle") and self.size is not None:
            raise ValueError(f"{kinds[0]} has its limit as within = ...; leave size away")
        return self
