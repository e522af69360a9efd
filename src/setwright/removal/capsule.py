"""A sphere swept along a straight way, met by a ray: the common case of finishing with a ball, made quick.

Finishing motions are short, so nearly every ray meets the sphere at one end of the way. Which end follows from the sign of a slope
and costs one root; the few rays between are left to the full formulas, which agree to round-off.
"""

from __future__ import annotations

import math

from setwright.base.jit import kernel

__all__ = ["capsule_high", "capsule_low"]


@kernel
def capsule_high(middle: float, way: float, p: float, q: float, way_p: float, way_q: float, square: float) -> float:
    """The upper end on the ray of a sphere swept from start to start + way; nan where neither end of the way decides.

    `middle`, `way`: of the sphere's centre along the ray; p, q, way_p, way_q: place of the ray beside the centre at the start, and
    the way, across the ray; `square`: the sphere's radius squared; mm.
    """
    p1, q1 = p - way_p, q - way_q
    depth = square - p1 * p1 - q1 * q1
    if depth > 0.0:
        half = math.sqrt(depth)
        if way * half + p1 * way_p + q1 * way_q >= 0.0:
            return middle + way + half
    depth = square - p * p - q * q
    if depth > 0.0:
        half = math.sqrt(depth)
        if way * half + p * way_p + q * way_q <= 0.0:
            return middle + half
    return math.nan


@kernel
def capsule_low(middle: float, way: float, p: float, q: float, way_p: float, way_q: float, square: float) -> float:
    """The lower end; arguments as for `capsule_high`."""
    return -capsule_high(-middle, -way, p, q, way_p, way_q, square)
