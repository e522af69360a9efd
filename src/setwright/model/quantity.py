"""Quantities as fields of the document: text with a unit in, internal float out, and back loss-free.

The unit a bare number takes is stated by the document (`units = "mm"` or `"in"`) and handed to validation as context.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, PlainSerializer, StringConstraints, ValidationInfo

from setwright.base.units import Dimension, UnitError, parse_quantity

__all__ = [
    "Acceleration",
    "Angle",
    "Duration",
    "Feed",
    "Length",
    "Name",
    "Part",
    "Point2",
    "Point3",
    "Power",
    "Ratio",
    "Reason",
    "Speed",
    "Spread",
    "Temperature",
    "Torque",
    "not_negative",
    "positive",
]

_INTERNAL: Final = {
    Dimension.LENGTH: "mm",
    Dimension.ANGLE: "rad",
    Dimension.TIME: "s",
    Dimension.FEED: "mm/min",
    Dimension.SPEED: "rpm",
    Dimension.ACCELERATION: "mm/s2",
    Dimension.JERK: "mm/s3",
    Dimension.POWER: "kW",
    Dimension.TORQUE: "N·m",
    Dimension.TEMPERATURE: "K",
    Dimension.RATIO: "",
}
_BARE: Final = {
    "mm": {Dimension.ANGLE: "deg", Dimension.ACCELERATION: "m/s2", Dimension.JERK: "m/s3"},
    "in": {Dimension.LENGTH: "in", Dimension.ANGLE: "deg", Dimension.FEED: "in/min", Dimension.ACCELERATION: "in/s2"},
}


def _reader(dimension: Dimension) -> Callable[[Any, ValidationInfo], float]:
    def read(value: Any, info: ValidationInfo) -> float:
        units = (info.context or {}).get("units", "mm")
        return parse_quantity(value, dimension, _BARE.get(units, {}).get(dimension, _INTERNAL[dimension]))

    return read


def _writer(dimension: Dimension) -> Callable[[float], str]:
    unit = _INTERNAL[dimension]
    return lambda value: f"{value!r} {unit}".strip()


Length = Annotated[float, BeforeValidator(_reader(Dimension.LENGTH)), PlainSerializer(_writer(Dimension.LENGTH), when_used="json")]
Angle = Annotated[float, BeforeValidator(_reader(Dimension.ANGLE)), PlainSerializer(_writer(Dimension.ANGLE), when_used="json")]
Duration = Annotated[float, BeforeValidator(_reader(Dimension.TIME)), PlainSerializer(_writer(Dimension.TIME), when_used="json")]
Feed = Annotated[float, BeforeValidator(_reader(Dimension.FEED)), PlainSerializer(_writer(Dimension.FEED), when_used="json")]
Speed = Annotated[float, BeforeValidator(_reader(Dimension.SPEED)), PlainSerializer(_writer(Dimension.SPEED), when_used="json")]
Acceleration = Annotated[
    float, BeforeValidator(_reader(Dimension.ACCELERATION)), PlainSerializer(_writer(Dimension.ACCELERATION), when_used="json")
]
Power = Annotated[float, BeforeValidator(_reader(Dimension.POWER)), PlainSerializer(_writer(Dimension.POWER), when_used="json")]
Torque = Annotated[float, BeforeValidator(_reader(Dimension.TORQUE)), PlainSerializer(_writer(Dimension.TORQUE), when_used="json")]
Temperature = Annotated[
    float, BeforeValidator(_reader(Dimension.TEMPERATURE)), PlainSerializer(_writer(Dimension.TEMPERATURE), when_used="json")
]
Ratio = Annotated[float, BeforeValidator(_reader(Dimension.RATIO)), PlainSerializer(_writer(Dimension.RATIO), when_used="json")]
Point2 = tuple[Length, Length]
Point3 = tuple[Length, Length, Length]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]
Reason = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=600)]


class Part(BaseModel):
    """A piece of the document: immutable, nothing unknown in it, no NaN."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True, str_strip_whitespace=True,
                              defer_build=True)


def not_negative(value: float) -> float:
    """Validator: zero or more."""
    if not value >= 0:
        raise UnitError("must not be less than zero")
    return value


def positive(value: float) -> float:
    """Validator: more than zero."""
    if not value > 0:
        raise UnitError("must be more than zero")
    return value


Spread = Annotated[Length, AfterValidator(not_negative)]
"""How far something may lie off, ±."""
