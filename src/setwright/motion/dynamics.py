"""What a machine's axes and its control can do, as far as time depends on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final

from setwright.base.errors import InputRefused, Problem

__all__ = ["Dynamics", "RapidPath"]

_AXES: Final = "XYZ"


class RapidPath(Enum):
    """How the axes share a rapid motion."""

    STRAIGHT = "straight"
    """all axes arrive together; the slowest for its share sets the pace"""
    DOG_LEG = "dog-leg"
    """every axis at its own rate, done when it is done; the motion takes as long as the slowest, from rest to rest"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dynamics:
    """Limits of the axes X, Y, Z and habits of the control.

    rapid_mm_min, accel_mm_s2, jerk_mm_s3: one number an axis; jerk None: speed changes at constant acceleration (trapezoid).
    junction_tolerance_mm: how far the path may be rounded at a corner; it sets the speed there. 0: full stop at every corner.
    look_ahead_blocks: motions the control sees beyond the present one; it never runs faster than it could stop within them.
    block_time_s: time the control needs to prepare one motion; shorter motions are slowed to it.
    rapid: how axes share a rapid. stop_at_rapids: whether the control waits until the axes stand before and after each rapid.
    Raises `InputRefused`, with everything found wrong, for numbers that are not finite or out of range.
    """

    rapid_mm_min: tuple[float, float, float]
    accel_mm_s2: tuple[float, float, float]
    jerk_mm_s3: tuple[float, float, float] | None = None
    junction_tolerance_mm: float = 0.01
    look_ahead_blocks: int = 1000
    block_time_s: float = 0.0
    rapid: RapidPath = RapidPath.STRAIGHT
    stop_at_rapids: bool = True

    def __post_init__(self) -> None:
        problems = []
        jerk = self.jerk_mm_s3 or (1.0, 1.0, 1.0)
        per_axis = {"rapid_mm_min": self.rapid_mm_min, "accel_mm_s2": self.accel_mm_s2, "jerk_mm_s3": jerk}
        for key, values in per_axis.items():
            problems += [Problem(f"{value} for {axis}", why="a machine's axis has a limit above 0", key=key,
                                 remedy="take the number from the machine's manual")
                         for axis, value in zip(_AXES, values, strict=True)
                         if not (math.isfinite(value) and value > 0.0)]  # fmt: skip
        for key, value in (("junction_tolerance_mm", self.junction_tolerance_mm), ("block_time_s", self.block_time_s)):
            if not (math.isfinite(value) and value >= 0.0):
                problems.append(Problem(f"{value}", why="it must be 0 or above", key=key))
        if self.look_ahead_blocks < 1:
            problems.append(Problem(f"{self.look_ahead_blocks} blocks", why="a control sees the next one at least",
                                    key="look_ahead_blocks"))  # fmt: skip
        if problems:
            raise InputRefused(problems)
