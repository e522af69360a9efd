"""Units at the border: text in, internal numbers out, and back.

Inside the package a length is mm, an angle rad, a time s, a feed mm/min, a spindle speed rev/min, a force N, a power kW, a
temperature K above 20 °C where it is a difference. A person writes `"12.7 mm"` or `"0.5 in"`; a bare number takes the
document's stated unit. Conversion is exact: inch = 25.4 mm by definition, done in decimal before the one rounding to float64.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from enum import Enum
from typing import Final

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM

__all__ = [
    "Dimension", "UnitError", "format_apart", "format_area", "format_duration", "format_feed", "format_half", "format_length",
    "format_share", "format_size", "format_volume", "parse_quantity", "rounded_towards", "units_of", "written",
]  # fmt: skip


class UnitError(ValueError):
    """The text is not a quantity of the wanted kind; the message says what was found, what was expected and what to write."""


@dataclass(frozen=True, slots=True)
class _Unit:
    name: str
    factor: Decimal


class Dimension(Enum):
    """What a number measures. The value is the word used in messages."""

    LENGTH = "length"
    ANGLE = "angle"
    TIME = "time"
    FEED = "feed"
    SPEED = "spindle speed"
    ACCELERATION = "acceleration"
    JERK = "jerk"
    FORCE = "force"
    POWER = "power"
    TORQUE = "torque"
    TEMPERATURE = "temperature difference"
    RATIO = "ratio"


_INCH: Final = Decimal("25.4")
_PI: Final = Decimal("3.14159265358979323846264338327950288")
_RAD: Final = _PI / 180
_TABLE: Final[dict[Dimension, dict[str, Decimal]]] = {
    Dimension.LENGTH: {"mm": Decimal(1), "in": _INCH, "um": Decimal("0.001"), "cm": Decimal(10), "m": Decimal(1000),
                       "thou": _INCH / 1000},
    Dimension.ANGLE: {"deg": _RAD, "rad": Decimal(1), "mrad": Decimal("0.001"), "urad": Decimal("0.000001"),
                      "arcmin": _RAD / 60, "arcsec": _RAD / 3600},
    Dimension.TIME: {"s": Decimal(1), "ms": Decimal("0.001"), "min": Decimal(60), "h": Decimal(3600)},
    Dimension.FEED: {"mm/min": Decimal(1), "in/min": _INCH, "m/min": Decimal(1000), "mm/s": Decimal(60)},
    Dimension.SPEED: {"rpm": Decimal(1), "1/min": Decimal(1), "rev/min": Decimal(1)},
    Dimension.ACCELERATION: {"m/s2": Decimal(1000), "mm/s2": Decimal(1), "in/s2": _INCH},
    Dimension.JERK: {"m/s3": Decimal(1000), "mm/s3": Decimal(1)},
    Dimension.FORCE: {"N": Decimal(1), "kN": Decimal(1000), "lbf": Decimal("4.4482216152605")},
    Dimension.POWER: {"kW": Decimal(1), "W": Decimal("0.001"), "hp": Decimal("0.745699871582270")},
    Dimension.TORQUE: {"N·m": Decimal(1), "Nm": Decimal(1), "lbf·ft": Decimal("1.3558179483314")},
    Dimension.TEMPERATURE: {"K": Decimal(1), "degC": Decimal(1), "degF": Decimal(5) / 9},
    Dimension.RATIO: {"": Decimal(1), "%": Decimal("0.01"), "um/m": Decimal("0.000001"), "1/K": Decimal(1),
                      "um/m/K": Decimal("0.000001")},
}
_ALIASES: Final = {
    '"': "in", "inch": "in", "inches": "in", "″": "in", "millimetre": "mm", "millimeter": "mm", "millimetres": "mm",
    "millimeters": "mm", "µm": "um", "μm": "um", "micron": "um", "microns": "um", "°": "deg", "degree": "deg", "degrees": "deg",
    "sec": "s", "second": "s", "seconds": "s", "minutes": "min", "ipm": "in/min", "mmpm": "mm/min", "rev/min": "rpm",
    "r/min": "rpm", "U/min": "rpm", "m/s²": "m/s2", "m/s^2": "m/s2", "mm/s²": "mm/s2", "m/s³": "m/s3", "m/s^3": "m/s3",
    "N*m": "N·m", "N m": "N·m", "°C": "degC", "°F": "degF", "µm/m": "um/m", "µm/m/K": "um/m/K", "ppm": "um/m", "'": "arcmin",
}  # fmt: skip
_NUMBER: Final = re.compile(r"^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
_LARGEST: Final = Decimal(10) ** 9
_MORE_DIGITS: Final = 6
"""More digits than that tell no lengths apart that a machine could."""


def units_of(dimension: Dimension) -> tuple[str, ...]:
    """The unit names accepted for a dimension, the preferred first."""
    return tuple(_TABLE[dimension])


def parse_quantity(value: object, dimension: Dimension, default_unit: str) -> float:
    """The value in the package's internal unit of `dimension`.

    `value` is a number (taken in `default_unit`) or a text with or without a unit. Raises `UnitError` for anything else, for
    NaN or infinity, and for numbers no machine tool has any use for (beyond 1e9 internal units).

    >>> parse_quantity("0.5 in", Dimension.LENGTH, "mm")
    12.7
    >>> parse_quantity(2, Dimension.LENGTH, "in")
    50.8
    """
    number, unit = _split(value, dimension, default_unit)
    factor = _factor(unit, dimension, value)
    internal = number * factor
    if abs(internal) > _LARGEST:
        raise UnitError(f"{_shown(value)} is too large for a {dimension.value}; is the decimal point where it should be?")
    return float(internal)


def _split(value: object, dimension: Dimension, default_unit: str) -> tuple[Decimal, str]:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise UnitError(f"{_shown(value)} is not a {dimension.value}; write for example {_example(dimension, default_unit)}")
    if isinstance(value, int):  # as many digits as there are: no float may be as large
        return Decimal(value), default_unit
    if isinstance(value, float):
        if not math.isfinite(value):
            raise UnitError(f"{value} is not a finite number; write the {dimension.value} as a number, for example "
                            f"{_example(dimension, default_unit)}")  # fmt: skip
        return Decimal(repr(value)), default_unit
    match = _NUMBER.match(value)
    if match is None:
        raise UnitError(f"{_shown(value)} is not a number with a unit; write for example {_example(dimension, default_unit)}")
    try:
        number = Decimal(match[1].replace(",", "."))
    except InvalidOperation as error:
        raise UnitError(f"{_shown(value)} is not a number; write for example {_example(dimension, default_unit)}") from error
    return number, match[2] or default_unit


def _factor(unit: str, dimension: Dimension, value: object) -> Decimal:
    table = _TABLE[dimension]
    name = unit if unit in table else _ALIASES.get(unit, unit)
    if name in table:
        return table[name]
    folded = {known.casefold(): known for known in table} | {alias.casefold(): full for alias, full in _ALIASES.items()}
    name = folded.get(name.casefold(), name)
    if name in table:
        return table[name]
    for other in Dimension:
        if unit and unit in _TABLE[other]:
            raise UnitError(f"{_shown(value)} is a {other.value}, but a {dimension.value} is wanted here; units of a "
                            f"{dimension.value}: {_listed(dimension)}")  # fmt: skip
    near = difflib.get_close_matches(unit, [*table, *_ALIASES], n=1, cutoff=0.4)
    nearest = _ALIASES.get(near[0], near[0]) if near else units_of(dimension)[0]
    hint = nearest if nearest in table else units_of(dimension)[0]
    raise UnitError(f'unknown unit "{unit}" in {_shown(value)}; did you mean "{hint}"? Units of a {dimension.value}: '
                    f"{_listed(dimension)}")  # fmt: skip


def _listed(dimension: Dimension) -> str:
    return ", ".join(name for name in units_of(dimension) if name)


def _example(dimension: Dimension, default_unit: str) -> str:
    unit = default_unit if default_unit in _TABLE[dimension] else units_of(dimension)[0]
    return f'"12.5 {unit}"'.replace(' "', '"')


def _shown(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value!r}"


def format_length(mm: float, unit: str = "mm", *, places: int | None = None, signed: bool = False) -> str:
    """A length as a person reads it: mm to 3 places or inch to 4, never "-0", always with its unit.

    >>> format_length(-0.0001)
    '0.000 mm'
    >>> format_length(12.7, "inch", signed=True)
    '+0.5000 in'
    """
    inch = unit in ("in", "inch")
    shown = mm / 25.4 if inch else mm
    digits = places if places is not None else (4 if inch else 3)
    text = f"{shown:+.{digits}f}" if signed else f"{shown:.{digits}f}"
    if float(text) == 0.0:
        text = text.replace("-", "+" if signed else "")
    return f"{text} {'in' if inch else 'mm'}"


def format_half(mm: float, unit: str = "mm", *, places: int | None = None) -> str:
    """Half a width, as in ± 0.008 mm: as `format_length`, rounded up in its last place, so that it never looks better than it is.

    >>> format_half(0.008), format_half(0.00801), format_half(0.0001, "inch")
    ('0.008 mm', '0.009 mm', '0.0001 in')
    """
    inch = unit in ("in", "inch")
    digits = places if places is not None else (4 if inch else 3)
    steps = math.ceil(round((mm / 25.4 if inch else mm) * 10**digits, 3))
    return f"{steps / 10**digits:.{digits}f} {'in' if inch else 'mm'}"


def format_size(mm: float, unit: str = "mm") -> str:
    """A stated length in as few digits as it was stated with, to 4 places of an inch or of a millimetre.

    >>> format_size(12.0), format_size(3.175, "in")
    ('12 mm', '0.125 in')
    """
    inch = unit in ("in", "inch")
    return f"{round(mm / 25.4 if inch else mm, 4):g} {'in' if inch else 'mm'}"


def format_apart(values: Sequence[float], unit: str = "mm", *, places: int | None = None) -> tuple[str, ...]:
    """Lengths that are compared in one sentence, in as many more digits as it takes that those that differ read different; stated
    ones, without `places`, in as few as they were stated with.

    >>> format_apart([4.98, 5.0], places=1), format_apart([12.7, 12.7], "in"), format_apart([80.0, 80.00001])
    (('4.98 mm', '5.00 mm'), ('0.5 in', '0.5 in'), ('80.00000 mm', '80.00001 mm'))
    """
    apart, begin = len(set(values)), places
    if begin is None:
        shown = tuple(format_size(value, unit) for value in values)
        if len(set(shown)) == apart:
            return shown
        begin = 3
    for digits in range(begin, begin + _MORE_DIGITS):
        shown = tuple(format_length(value, unit, places=digits) for value in values)
        if len(set(shown)) == apart:
            return shown
    return shown


def format_volume(mm3: float, unit: str = "mm", *, places: int = 1) -> str:
    """A volume in cm³ or in cubic inches, which are some 16 cm³ and take one digit more.

    >>> format_volume(32774.128, "in"), format_volume(1250.0, places=2)
    ('2.00 in³', '1.25 cm³')
    """
    inch = unit in ("in", "inch")
    return f"{mm3 / 25.4**3:.{places + 1}f} in³" if inch else f"{mm3 / 1000.0:.{places}f} cm³"


def format_area(mm2: float, unit: str = "mm") -> str:
    """An area, to a whole mm² or a thousandth of a square inch.

    >>> format_area(645.16, "in"), format_area(12.6)
    ('1.000 in²', '13 mm²')
    """
    return f"{mm2 / 25.4**2:.3f} in²" if unit in ("in", "inch") else f"{mm2:.0f} mm²"


def format_feed(mm_min: float, unit: str = "mm") -> str:
    """A feed, to a whole mm/min or a tenth of an inch.

    >>> format_feed(254.0, "in"), format_feed(254.0)
    ('10.0 in/min', '254 mm/min')
    """
    return f"{mm_min / 25.4:.1f} in/min" if unit in ("in", "inch") else f"{mm_min:.0f} mm/min"


def format_share(share: float) -> str:
    """A share in whole per cent, never more than it is: what is not all is not 100 %, and what is below a limit does not read as
    the limit. A little reads as less than 1 %.

    >>> format_share(1.0), format_share(0.979), format_share(0.9999), format_share(0.004), format_share(0.0)
    ('100 %', '97 %', '99 %', 'less than 1 %', '0 %')
    """
    whole = math.floor(100.0 * share + COORDINATE_ROUND_OFF_MM)
    return "less than 1 %" if whole == 0 and share > 0.0 else f"{whole} %"


def rounded_towards(value: float, base: float, step: float) -> float:
    """The number of few digits next to `value` on the side of `base`; it is known to about `step`, and no more digits are kept.

    >>> rounded_towards(35.9062, 30.0, 0.3), rounded_towards(-27.13, -20.0, 0.3), rounded_towards(0.0134, 0.01, 0.0005)
    (35.9, -27.1, 0.0134)
    """
    places = max(0, math.ceil(-math.log10(step))) if step > 0.0 else 9
    scale = 10.0**places
    scaled = value * scale
    whole = math.floor(scaled + COORDINATE_ROUND_OFF_MM) if value >= base else math.ceil(scaled - COORDINATE_ROUND_OFF_MM)
    return whole / scale


def written(value: float, step: float, units: str = "mm") -> str:
    """A length with the digits a register of this increment shows; inch registers show one digit more than 25.4 would spare.

    >>> written(-312.44739, 0.001), written(-0.0002, 0.001), written(25.4, 0.001, "inch")
    ('-312.447', '0.000', '1.0000')
    """
    places = max(0, -math.floor(math.log10(step) + 0.5))
    if units in ("in", "inch"):
        value, places = value / float(_INCH), places + 1
    text = f"{value:.{places}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def format_duration(seconds: float, within: float | None = None) -> str:
    """A stretch of time as people read it, with its ± (rounded up, in the unit of the last figure) where that is known.

    >>> format_duration(125.2), format_duration(3725.0), format_duration(125.2, 3.1), format_duration(7300.0, 130.0)
    ('2 min 05 s', '1 h 02 min', '2 min 05 s ± 4 s', '2 h 01 min ± 3 min')
    """
    whole = round(seconds)
    hours, minutes = whole // 3600, whole % 3600 // 60
    if hours:
        text, step, unit = f"{hours} h {minutes:02d} min", 60.0, "min"
    else:
        text, step, unit = f"{minutes} min {whole % 60:02d} s" if minutes else f"{whole} s", 1.0, "s"
    return text if within is None else f"{text} ± {math.ceil(within / step)} {unit}"
