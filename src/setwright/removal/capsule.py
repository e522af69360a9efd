"""A sphere or disc swept along a straight way, met by a ray: the common case of finishing, without branches.

The ray's end on the sphere, its middle at share t of the way, is middle(t) plus or minus sqrt(rest(t)), `rest` being quadratic in
t: concave, so its free extreme, moved into [0, 1], is the answer. The share is exact to round-off, and the end, being extreme
there, to the square of that.
"""

from __future__ import annotations

import math

from setwright.base.jit import kernel

__all__ = ["capsule_lead", "capsule_share"]

_HUGE = 2.0**500


@kernel
def capsule_lead(way: float, square: float) -> float:
    """How far beyond the nearest place, as a share of the way and for a half chord of 1 mm, a sphere that moves by `way` along the
    ray and by the root of `square` across it has its upper end; mm. Where it does not move across: as far as can be."""
    if square > 0.0:
        return way / math.sqrt(square * (way * way + square))
    if way == 0.0:
        return 0.0
    return math.copysign(_HUGE, way)


@kernel
def capsule_share(p: float, q: float, way_p: float, way_q: float, each: float, lead: float, square: float) -> float:
    """The share of the way at which the end lies. p, q: the ray beside the middle at the start; way_p, way_q: the way across the
    ray, `each`: 1 over its square, or 0; `lead`: of capsule_lead, its negative for the lower end; `square`: the radius squared."""
    along = (p * way_p + q * way_q) * each
    rest = square - p * p - q * q + along * (p * way_p + q * way_q)
    return min(max(along + lead * math.sqrt(max(0.0, rest)), 0.0), 1.0)
