"""Instruments that find a place: what they are, how they are read, how well they repeat."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from setwright.model.quantity import Length, Name, Part, Speed, not_negative, positive

__all__ = ["INSTRUMENT_KINDS", "Instrument", "InstrumentKind"]

InstrumentKind = Literal[
    "mechanical edge finder", "electronic finder", "3D indicator", "touch-trigger probe", "coaxial indicator", "test indicator",
    "height setter", "gauge block", "roller", "feeler", "paper", "tool setter", "gauge pin", "tool tip",
]  # fmt: skip
_TIP_NEEDED = ("mechanical edge finder", "electronic finder", "touch-trigger probe", "gauge pin")
_HEIGHT_NEEDED = ("height setter", "gauge block", "roller", "feeler", "paper", "tool setter")
INSTRUMENT_KINDS: tuple[str, ...] = InstrumentKind.__args__  # type: ignore[attr-defined]


Size = Annotated[Length, AfterValidator(not_negative)]


class Instrument(Part):
    """An instrument as the shop knows it.

    `tip_diameter` of what touches (finders, probes and pins must state it; zero for indicators that read a centre); `height` of
    what stands between tip and face (setters, blocks, rollers, feelers and paper must state it); `length` from gauge line to tip
    when it sits in the spindle. `repeatability` is one standard deviation of repeated contacts; `tip_uncertainty` and
    `height_uncertainty` one standard deviation of the calibrated size; `runout` the full run-out of the tip when it does not turn.
    `read`: what tells the contact. `repeats`: how many contacts the repeatability rests on (0: taken from its class).
    """

    name: Name
    kind: InstrumentKind
    tip_diameter: Size = 0.0
    height: Size = 0.0
    length: Annotated[Length, AfterValidator(positive)] | None = None
    repeatability: Annotated[Length, AfterValidator(positive)]
    tip_uncertainty: Size = 0.0
    height_uncertainty: Size = 0.0
    runout: Size = 0.0
    rated_speed: Speed | None = None
    stands_still: bool = False
    read: Literal["last step", "light", "click", "dial zero", "feel", "trigger"] = "last step"
    repeats: Annotated[int, Field(strict=True, ge=0)] = 0
    caution: str = ""

    @property
    def a_kind(self) -> str:
        """The kind with its article."""
        return f"{'an' if self.kind[0] in 'aeiou' else 'a'} {self.kind}"

    @model_validator(mode="after")
    def _says_what_counts(self) -> Self:
        """An instrument whose size nobody wrote would count as one without any, in silence."""
        if self.kind in _TIP_NEEDED and self.tip_diameter == 0.0:
            raise ValueError(f"{self.a_kind} touches with a tip: measure it and write tip_diameter = ...")
        if self.kind in _HEIGHT_NEEDED and self.height == 0.0:
            raise ValueError(f"{self.a_kind} stands between tip and face: measure it and write height = ...")
        return self
