"""Tools: the usual trade shapes, their shank and stepped holder."""

from __future__ import annotations

from typing import Annotated, Final, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from setwright.model.quantity import Angle, Length, Name, Part, Speed, positive

__all__ = ["BODY_SHARE", "TOOL_KINDS", "HolderStep", "Shank", "Tool", "ToolKind"]

Size = Annotated[Length, AfterValidator(positive)]
ToolKind = Literal[
    "end mill", "bull-nose mill", "ball mill", "chamfer mill", "spot drill", "centre drill", "drill", "reamer", "tap",
    "thread mill", "face mill", "boring bar", "slot mill", "dovetail mill", "free profile",
]  # fmt: skip
TOOL_KINDS: tuple[str, ...] = ToolKind.__args__  # type: ignore[attr-defined]

BODY_SHARE: Final = 0.9
"""The body of a boring bar that nobody has measured, as a share of its diameter: bars are slimmer, so this is the cautious side."""


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
    profile as (radius, height) pairs from the tip; `helix` the angle of the flutes to the axis.

    Of a boring bar one edge only reaches `diameter`, which shows while the spindle stands oriented (M19, G76, G87): `body_diameter`
    is the bar beside and above that edge, BODY_SHARE of the diameter where it is not stated; `edge_angle` is where the edge points
    then, counter-clockwise from +X of the machine seen from above. It goes before `edge_at_stop` of the machine's behaviours; with
    neither, both ways are tried.
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
    helix: Angle | None = None
    pitch: Length | None = None
    length: Size | None = None
    shank: Shank | None = None
    body_diameter: Size | None = None
    edge_angle: Angle | None = None
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
        if not self.single_edged and (self.body_diameter is not None or self.edge_angle is not None):
            raise ValueError("body_diameter and edge_angle are for a boring bar only: other kinds have edges all round")
        if self.body_diameter is not None and self.body_diameter > self.diameter:
            raise ValueError(f"body_diameter must not be larger than the diameter ({self.diameter:g} mm)")
        if self.kind == "free profile" and len(self.points) < 2:
            raise ValueError("a free profile needs points = [[radius, height], ...], at least two, from the tip upward")
        if self.kind == "tap" and self.pitch is None:
            raise ValueError("a tap needs its pitch, for example pitch = 1.25")
        return self

    @property
    def single_edged(self) -> bool:
        """Whether one edge alone reaches the cutting diameter."""
        return self.kind == "boring bar"

    @property
    def cuts_at_centre(self) -> bool:
        """Whether the tool may plunge into the full: stated, else by kind."""
        if self.centre_cutting is not None:
            return self.centre_cutting
        return self.kind not in ("reamer", "tap", "thread mill", "face mill", "boring bar", "slot mill", "dovetail mill")
