"""Tools: the usual trade shapes, their shank and stepped holder."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from setwright.model.quantity import Angle, Length, Name, Part, Speed, positive

__all__ = ["TOOL_KINDS", "HolderStep", "Shank", "Tool", "ToolKind"]

Size = Annotated[Length, AfterValidator(positive)]
ToolKind = Literal[
    "end mill", "bull-nose mill", "ball mill", "chamfer mill", "spot drill", "centre drill", "drill", "reamer", "tap",
    "thread mill", "face mill", "boring bar", "slot mill", "dovetail mill", "free profile",
]  # fmt: skip
TOOL_KINDS: tuple[str, ...] = ToolKind.__args__  # type: ignore[attr-defined]


class HolderStep(Part):
    """One step of the holder, from the tool's side upward: a cylinder, or a cone when `upper_diameter` differs."""

    diameter: Size
    length: Size
    upper_diameter: Size | None = None


class Shank(Part):
    """The tool's body above the flutes; `neck` is a relieved part directly above them."""

    diameter: Size
    neck_diameter: Size | None = None
    neck_length: Length = 0.0


class Tool(Part):
    """One tool as a revolved body. Lengths run from the tip upward.

    `diameter` is the cutting diameter; `point_angle` the included angle of the tip (drill, chamfer mill ...); `tip_diameter` the
    flat at the tip of a chamfer mill; `flute_length` how far the tool can cut up its side; `points` the outline of a free
    profile as (radius, height) pairs from the tip.
    """

    name: Name
    kind: ToolKind
    diameter: Size
    flute_length: Size
    corner_radius: Length = 0.0
    point_angle: Angle | None = None
    tip_diameter: Length = 0.0
    points: tuple[tuple[Length, Length], ...] = ()
    flutes: Annotated[int, Field(strict=True, ge=1, le=100)] = 2
    pitch: Length | None = None
    length: Size | None = None
    shank: Shank | None = None
    centre_cutting: bool | None = None
    hand: Literal["right", "left"] = "right"
    max_speed: Speed | None = None
    material: str = ""
    holder: tuple[HolderStep, ...] = ()

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.corner_radius < 0 or self.corner_radius > self.diameter / 2:
            raise ValueError(f"corner_radius must lie between 0 and half the diameter ({self.diameter / 2:g} mm)")
        if self.tip_diameter < 0 or self.tip_diameter > self.diameter:
            raise ValueError(f"tip_diameter must lie between 0 and the diameter ({self.diameter:g} mm)")
        if self.kind == "free profile" and len(self.points) < 2:
            raise ValueError("a free profile needs points = [[radius, height], ...], at least two, from the tip upward")
        if self.kind == "tap" and self.pitch is None:
            raise ValueError("a tap needs its pitch, for example pitch = 1.25")
        return self

    @property
    def cuts_at_centre(self) -> bool:
        """Whether the tool may plunge into the full: stated, else by kind."""
        if self.centre_cutting is not None:
            return self.centre_cutting
        return self.kind not in ("reamer", "tap", "thread mill", "face mill", "boring bar", "slot mill", "dovetail mill")
