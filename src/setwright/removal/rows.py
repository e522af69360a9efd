"""Rows of rays in a tile: which of them a stretch covers."""

from __future__ import annotations

import math

from setwright.base.jit import kernel
from setwright.removal.arrays import Floats, Ints

__all__ = ["deepest_square", "rays_between", "row_top"]


@kernel
def row_top(ends: Floats, count: Ints, first: int, last: int) -> float:
    """The highest metal of rays first up to last (excluded); -inf if they have none."""
    top = -math.inf
    for ray in range(first, last):
        if count[ray] > 0:
            top = max(top, ends[ray, count[ray] - 1, 1])
    return top


@kernel
def rays_between(low: float, high: float, first: float, pitch: float, n: int) -> tuple[int, int]:
    """Rays a up to b (excluded) of n that stand within [low, high]."""
    a = max(0.0, math.ceil((low - first) / pitch))
    b = min(float(n), math.floor((high - first) / pitch) + 1.0)
    if a >= b:
        return 0, 0
    return int(a), int(b)


@kernel
def deepest_square(p: float, q: float, way_p: float, way_q: float, square: float, spare: float) -> float:
    """At least the square of half the longest stretch of a ray inside a sphere anywhere on its way; `spare`: a quarter of the
    square of the way across the ray, by which a place between start and end may be nearer than both."""
    p1, q1 = p - way_p, q - way_q
    return square + spare - min(p * p + q * q, p1 * p1 + q1 * q1)
