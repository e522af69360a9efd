"""Rows of rays in a tile: which of them a stretch covers."""

from __future__ import annotations

import math

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.removal.arrays import Floats

__all__ = ["rays_between", "worth_between"]


@kernel
def rays_between(low: float, high: float, first: float, pitch: float, n: int) -> tuple[int, int]:
    """Rays a up to b (excluded) of n that stand within [low, high]; a ray within round-off of an end may count."""
    each = 1.0 / pitch
    a = max(0.0, math.ceil((low - first) * each - COORDINATE_ROUND_OFF_MM))
    b = min(float(n), math.floor((high - first) * each + COORDINATE_ROUND_OFF_MM) + 1.0)
    if a >= b:
        return 0, 0
    return int(a), int(b)


@kernel
def worth_between(worth: Floats, ua: int, ub: int) -> tuple[int, int]:
    """From the first of rays ua up to ub that is worth it to one past the last, of which there is one at least."""
    while not worth[ua] > 0.0:
        ua += 1
    while not worth[ub - 1] > 0.0:
        ub -= 1
    return ua, ub
