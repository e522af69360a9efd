"""What the machine's display showed at each contact, and what the control's registers hold."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from setwright.model.quantity import Angle, Length, Name, Part, Speed

__all__ = ["Contact", "Display", "LengthReading", "OffsetRegister", "Readings", "Registers", "ToolRegister", "Toward"]

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
    contacts made by a tool itself.
    """

    setup: Name
    on: Name
    with_: Annotated[Name, Field(alias="with")]
    toward: Toward
    display: Display
    last_step: Length = 0.0
    speed: Speed | None = None
    tool: int | None = None
    units: Literal["mm", "in"] | None = None
    when: datetime.datetime | datetime.date | None = None
    by: str = ""
    note: str = ""

    @model_validator(mode="after")
    def _axis_read(self) -> Self:
        axis = self.toward[-1].lower()
        if self.toward != "sweep" and getattr(self.display, axis) is None:
            raise ValueError(f"display has no {axis}, but the contact is toward {self.toward}; write display = {{ {axis} = ... }}")
        if self.toward == "sweep" and (self.display.x is None or self.display.y is None):
            raise ValueError("a sweep reads a centre: write display = { x = ..., y = ... }")
        return self


class LengthReading(Part):
    """A tool's tip brought to something of known height: machine Z shown at the contact.

    `on`: "tool setter" (a setter on the table; its height is the instrument's), or a face whose height is known.
    """

    setup: Name
    tool: int
    with_: Annotated[Name, Field(alias="with")]
    on: Name = "tool setter"
    display: Display
    last_step: Length = 0.0
    when: datetime.datetime | datetime.date | None = None

    @model_validator(mode="after")
    def _z_read(self) -> Self:
        if self.display.z is None:
            raise ValueError("a tool length is read along Z: write display = { z = ... }")
        return self


class Readings(Part):
    """The readings of a job, in the order they were made."""

    contact: tuple[Contact, ...] = ()
    tool_length: tuple[LengthReading, ...] = ()


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
