"""Instruments that find a place: what they are, how they are read, how well they repeat."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from setwright.model.quantity import Length, Name, Part, Speed, positive

__all__ = ["INSTRUMENT_KINDS", "Instrument", "InstrumentKind"]

InstrumentKind = Literal[
    "mechanical edge finder", "electronic finder", "3D indicator", "touch-trigger probe", "coaxial indicator", "test indicator",
    "height setter", "gauge block", "roller", "feeler", "paper", "tool setter", "gauge pin", "tool tip",
]  # fmt: skip
INSTRUMENT_KINDS: tuple[str, ...] = InstrumentKind.__args__  # type: ignore[attr-defined]


class Instrument(Part):
    """An instrument as the shop knows it.

    `tip_diameter` of what touches (zero for indicators that read a centre); `height` of a setter, block, roller or feeler between
    tip and face; `length` from gauge line to tip when it sits in the spindle. `repeatability` is one standard deviation of
    repeated contacts; `tip_uncertainty` and `height_uncertainty` one standard deviation of the calibrated size; `runout` the
    full run-out of the tip when it does not turn. `read`: what tells the contact. `repeats`: how many contacts the
    repeatability rests on (0: taken from its class).
    """

    name: Name
    kind: InstrumentKind
    tip_diameter: Length = 0.0
    height: Length = 0.0
    length: Length | None = None
    repeatability: Annotated[Length, AfterValidator(positive)]
    tip_uncertainty: Length = 0.0
    height_uncertainty: Length = 0.0
    runout: Length = 0.0
    rated_speed: Speed | None = None
    stands_still: bool = False
    read: Literal["last step", "light", "click", "dial zero", "feel", "trigger"] = "last step"
    repeats: Annotated[int, Field(strict=True, ge=0)] = 0
    caution: str = ""
