"""The machine: travel, rapids, table, spindle, and how its control holds registers.

Machine coordinates M: axes of ISO 841, zero where the machine's own zero is; a point "in M" is where the gauge point (centre
of the spindle's gauge line) stands when the display of machine position shows it.
"""

from __future__ import annotations

from typing import Annotated, Final, Literal, Self

import numpy as np
from pydantic import AfterValidator, Field, model_validator

from setwright.model.quantity import (
    Acceleration,
    Duration,
    Feed,
    Length,
    Name,
    Part,
    Point3,
    Power,
    Ratio,
    Speed,
    Spread,
    Torque,
    not_negative,
    positive,
)

__all__ = ["TIME_FIGURES", "Accelerations", "Accuracy", "AxisFigures", "Control", "Machine", "Nose", "SetupMode", "Spindle",
           "Table", "Timed", "Travel"]  # fmt: skip

Range = tuple[Length, Length]
BodySize = Annotated[Length, AfterValidator(positive)]


class Travel(Part):
    """The least and greatest machine position of each axis."""

    x: Range
    y: Range
    z: Range

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        for axis in "xyz":
            low, high = getattr(self, axis)
            if not low < high:
                raise ValueError(f"{axis}: write the lesser end of the travel first, for example {axis} = [-500, 0]")
        return self


class AxisFigures(Part):
    """One figure an axis."""

    x: Feed
    y: Feed
    z: Feed


class Accelerations(Part):
    """Acceleration of each axis."""

    x: Acceleration
    y: Acceleration
    z: Acceleration


class Table(Part):
    """The table's top: `z` is the machine position at which the gauge line would stand on it; x and y its edges in M."""

    x: Range
    y: Range
    z: Length
    thickness: BodySize = 60.0


class Nose(Part):
    """The spindle nose above the gauge line, as a cylinder."""

    diameter: BodySize = 100.0
    length: BodySize = 120.0


class Spindle(Part):
    """The spindle. `power` and `torque`: what it gives continuously, the torque from standstill up to the speed at which it makes
    the power; `short_power`: for a short load (S6 of IEC 60034-1). `curve`: [speed, power] pairs where the power changes with the
    speed in another way; it goes before `torque`."""

    max_speed: Speed
    power: Power | None = None
    torque: Torque | None = None
    short_power: Power | None = None
    curve: tuple[tuple[Speed, Power], ...] = ()
    nose: Nose = Nose()

    @model_validator(mode="after")
    def _rises(self) -> Self:
        speeds = [speed for speed, _ in self.curve]
        if any(not (speed > 0.0 and power > 0.0) for speed, power in self.curve) or sorted(set(speeds)) != speeds:
            raise ValueError('write the curve by rising speeds, for example curve = [["1500 rpm", "11 kW"], ["10000 rpm", "8 kW"]]')
        return self


class Control(Part):
    """How this control reads a program and holds its registers.

    `lengths`: "from gauge line" (tool length from gauge line to tip, offset Z to the datum), "tip on datum" (offset Z is zero and
    the length register holds the machine Z at which the tip stands on the datum) or "reference tool" (registers hold the
    difference to a reference tool, whose tip set the offset).
    `unsure`: names of behaviours of which nobody has yet seen what this control does; a proof then runs their other readings too.
    """

    profile: Name = "plain"
    behaviours: dict[str, str | int | float | bool] = Field(default_factory=dict)
    unsure: tuple[str, ...] = ()
    lengths: Literal["from gauge line", "tip on datum", "reference tool"] = "from gauge line"
    reference_tool: int | None = None
    radius_register: Literal["radius", "diameter"] = "radius"
    increment: Length = 0.001


class SetupMode(Part):
    """What the machine allows with the guards open in setup mode; the machine maker's manual comes first."""

    max_speed: Speed | None = None
    max_feed: Feed = 2000.0


class Accuracy(Part):
    """Positioning figures of the machine (ISO 230-2 sense), as the shop knows them."""

    repeatability: Length = 0.003
    backlash: Length = 0.004
    scale: float = 0.0


TIME_FIGURES: Final = ("acceleration_xy", "acceleration_z", "corner_rounding", "block_time", "tool_change", "spindle_start")
"""The figures that a cycle time hangs on, in the order of `Timed`."""


class Timed(Part):
    """What programs timed with a stop-watch told of the time figures, so that a computed time can say its ±.

    `programs`: how many were timed. `share`: what the calculation is off for other reasons, one standard deviation as a share of a
    time. `spread`: one standard deviation of each of TIME_FIGURES, as a share of it; `together`: how they hang together, the
    correlation matrix in the same order.
    """

    programs: Annotated[int, Field(strict=True, ge=1)]
    share: Annotated[Ratio, AfterValidator(not_negative)]
    spread: Annotated[tuple[Annotated[float, Field(ge=0.0)], ...], Field(min_length=6, max_length=6)]
    together: Annotated[tuple[tuple[float, ...], ...], Field(min_length=6, max_length=6)]

    @model_validator(mode="after")
    def _is_a_correlation(self) -> Self:
        rows = [row for row in self.together if len(row) == len(TIME_FIGURES)]
        matrix = np.array(rows)
        if len(rows) < len(TIME_FIGURES) or not (np.allclose(matrix, matrix.T, atol=0.001) and np.allclose(np.diag(matrix), 1.0)) \
                or np.linalg.eigvalsh(matrix).min() < -0.01:  # fmt: skip
            raise ValueError("together is no correlation matrix; have it written by setwright kit MACHINE --calibrate TIMES --keep")
        return self


class Machine(Part):
    """A vertical machining centre.

    `beyond_travel`: what the control does with a block that leads beyond the travel of an axis: refuses it before anything moves,
    or runs it up to the limit. `corner_rounding`: how far it may round a corner between two feed motions, which sets the speed
    there; `block_time`: how long it needs to prepare one motion, so that shorter ones are slowed to it.
    """

    name: Name
    travel: Travel
    beyond_travel: Literal["not known", "block refused", "runs to the limit"] = "not known"
    table: Table
    spindle: Spindle
    control: Control = Control()
    rapid: AxisFigures = AxisFigures(x=24000.0, y=24000.0, z=20000.0)
    acceleration: Accelerations = Accelerations(x=3.0, y=3.0, z=3.0)
    max_feed: Feed = 10000.0
    home: Point3 = (0.0, 0.0, 0.0)
    second_home: Point3 = (0.0, 0.0, 0.0)
    corner_rounding: Spread = 0.01
    block_time: Annotated[Duration, AfterValidator(not_negative)] = 0.0
    tool_change: Duration = 5.0
    spindle_start: Duration = 2.0
    timed: Timed | None = None
    setup_mode: SetupMode = SetupMode()
    accuracy: Accuracy = Accuracy()
