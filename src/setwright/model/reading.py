"""What the machine's display showed at each contact, and what the control's registers hold."""

from __future__ import annotations

import datetime
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from setwright.model.quantity import Angle, Length, Name, Part, Speed, Temperature, not_negative

__all__ = [
    "Contact", "DiameterReading", "Display", "LengthReading", "OffsetRegister", "Readings", "Registers", "Surroundings",
    "ToolRegister", "Toward",
]  # fmt: skip

Step = Annotated[Length, AfterValidator(not_negative)]
Toward = Literal["+X", "-X", "+Y", "-Y", "+Z", "-Z", "sweep"]


class Display(Part):
    """Machine position shown; an axis that was not read is left out."""

    x: Length | None = None
    y: Length | None = None
    z: Length | None = None


class Contact(Part):
    """One contact of an instrument with a named face.

    `on`: a face of the setup ("left", "top", "bore A", "fixed jaw", "end stop" ...). `toward`: the axis direction in which the
    instrument moved into contact; "sweep" for an indicator that read the centre. `display`: machine position at the contact.
    `last_step`: size of the last step of the handwheel, if it was stepped. `tool`: station of the tool whose tip touched, for
    contacts made by a tool itself. `units`: what the display was switched to, for bare numbers of this contact. `purpose`: "check"
    for a contact made later to see whether the place still holds; it says how far that has drifted and does not move it.
    """

    setup: Name
    on: Name
    with_: Annotated[Name, Field(alias="with")]
    toward: Toward
    display: Display
    last_step: Step = 0.0
    speed: Speed | None = None
    tool: int | None = None
    units: Literal["mm", "in"] | None = None
    purpose: Literal["place", "check"] = "place"
    when: datetime.datetime | datetime.date | None = None
    by: str = ""
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _in_its_own_unit(cls, said: Any) -> Any:
        unit = said.get("units") if isinstance(said, dict) else None
        if unit not in ("mm", "in"):
            return said
        display = said.get("display")
        spelled = {axis: _with_unit(value, unit) for axis, value in display.items()} if isinstance(display, dict) else display
        return said | {"display": spelled} | ({"last_step": _with_unit(said["last_step"], unit)} if "last_step" in said else {})

    @model_validator(mode="after")
    def _axis_read(self) -> Self:
        axis = self.toward[-1].lower()
        if self.toward != "sweep" and getattr(self.display, axis) is None:
            raise ValueError(f"display has no {axis}, but the contact is toward {self.toward}; write display = {{ {axis} = ... }}")
        if self.toward == "sweep" and (self.display.x is None or self.display.y is None):
            raise ValueError("a sweep reads a centre: write display = { x = ..., y = ... }")
        return self


def _with_unit(value: Any, unit: str) -> Any:
    """A bare number gets the unit of its display; anything else is left to speak for itself."""
    return f"{value} {unit}" if isinstance(value, int | float) and not isinstance(value, bool) else value


class LengthReading(Part):
    """A tool's tip brought to something of known height: machine Z shown at the contact.

    `on`: "tool setter" (a setter on the table; its height is the instrument's), or a face whose height is known.
    """

    setup: Name
    tool: int
    with_: Annotated[Name, Field(alias="with")]
    on: Name = "tool setter"
    display: Display
    last_step: Step = 0.0
    when: datetime.datetime | datetime.date | None = None

    @model_validator(mode="after")
    def _z_read(self) -> Self:
        if self.display.z is None:
            raise ValueError("a tool length is read along Z: write display = { z = ... }")
        return self


class DiameterReading(Part):
    """A tool's diameter, measured: `shown` by a setter or micrometer, or from `sides`.

    `sides`: what the display showed at two contacts from opposite sides with something `across` wide between them.
    """

    setup: Name
    tool: int
    with_: Annotated[Name, Field(alias="with")]
    shown: Length | None = None
    sides: tuple[Length, Length] | None = None
    across: Step = 0.0
    last_step: Step = 0.0
    when: datetime.datetime | datetime.date | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.shown is None) == (self.sides is None):
            raise ValueError("write either shown = ... (the diameter), or sides = [..., ...] with across = ... (the width between)")
        return self


class Surroundings(Part):
    """What the shop knows better about its surroundings than the figures Touch assumes; each a half width (±).

    `face_form`: waviness of a touched face. `face_square`: a face not square to the one that gives the angle. `growth`: of the
    spindle along Z since the touch-off; `growth_across`: of the column along X and Y. `warmth`: how far the part may be from 20 °C.
    """

    face_form: Length | None = None
    face_square: Angle | None = None
    growth: Length | None = None
    growth_across: Length | None = None
    warmth: Temperature | None = None


class Readings(Part):
    """The readings of a job, in the order they were made."""

    contact: tuple[Contact, ...] = ()
    tool_length: tuple[LengthReading, ...] = ()
    tool_diameter: tuple[DiameterReading, ...] = ()
    surroundings: Surroundings = Surroundings()


class OffsetRegister(Part):
    """A work offset as the control shows it."""

    x: Length = 0.0
    y: Length = 0.0
    z: Length = 0.0
    rotation: Angle = 0.0


class ToolRegister(Part):
    """One row of the control's tool registers, in the machine's own convention."""

    length: Length | None = None
    length_wear: Length = 0.0
    radius: Length | None = None
    radius_wear: Length = 0.0


class Registers(Part):
    """What the control holds now, as read off it, for one setup (or all); anything left out is taken from the job."""

    setup: Name | None = None
    offset: dict[str, OffsetRegister] = Field(default_factory=dict)
    tool: dict[str, ToolRegister] = Field(default_factory=dict)
    external: OffsetRegister = OffsetRegister()
