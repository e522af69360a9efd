"""A corner word: `,C` or `,R` in a feed block cuts or rounds the corner between its line and the next one.

The first line is there already when the second becomes known: it is then shortened, the chamfer or the arc put behind it, and the
second line begins where that ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, SAME_ANGLE_RAD, SAME_PLACE_MM

__all__ = ["Corner", "Cut", "cut_corner"]

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner that waits for its second line: "C" or "R", its size (mm), and the line that asked for it."""

    letter: str
    size: float
    line: int


@dataclass(frozen=True, slots=True)
class Cut:
    """Where the first line ends and the second begins; of a rounding the centre and the signed turn (rad)."""

    first_end: Pair
    second_start: Pair
    centre: Pair | None = None
    sweep: float = 0.0


def cut_corner(start: Pair, corner: Pair, end: Pair, *, letter: str, size: float) -> Cut | float | None:
    """The corner between the lines start–corner and corner–end (mm) cut off by `size` along each ("C"), or rounded with radius
    `size` ("R"). Exact up to round-off.

    None where the lines go straight on: there is no corner. Where a line is too short, the length (mm) it needs; inf where the
    second goes straight back on the first.

    >>> cut_corner((0.0, 0.0), (10.0, 0.0), (10.0, 8.0), letter="C", size=2.0)
    Cut(first_end=(8.0, 0.0), second_start=(10.0, 2.0), centre=None, sweep=0.0)
    """
    one, two = math.dist(start, corner), math.dist(corner, end)
    if min(one, two) <= SAME_PLACE_MM:
        return None
    ax, ay = (corner[0] - start[0]) / one, (corner[1] - start[1]) / one
    bx, by = (end[0] - corner[0]) / two, (end[1] - corner[1]) / two
    turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if abs(turn) <= SAME_ANGLE_RAD:
        return None
    if math.pi - abs(turn) <= SAME_ANGLE_RAD:
        return math.inf
    back = size if letter == "C" else size * math.tan(abs(turn) / 2.0)
    if back > min(one, two) + COORDINATE_ROUND_OFF_MM:
        return back
    first = corner[0] - back * ax, corner[1] - back * ay
    second = corner[0] + back * bx, corner[1] + back * by
    if letter == "C":
        return Cut(first, second)
    side = math.copysign(size, turn)
    return Cut(first, second, (first[0] - side * ay, first[1] + side * ax), turn)
