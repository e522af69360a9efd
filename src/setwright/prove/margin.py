"""How far the tool may pass a body elsewhere than computed, because the setup is only known so well: axis by axis, so that nothing
counts in a direction in which it does not act."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.bodies import Body, BodyRole
from setwright.kit.registers import Truth
from setwright.kit.station import Kit

__all__ = ["COVERAGE_FACTOR", "Spread", "between_tools", "spread_of"]

COVERAGE_FACTOR: Final = 2.0
"""About 95 % of what may be, for a normal distribution (JCGM 100, 6.3)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Half-widths along X, Y, Z of W, mm: a tool and a body may stand that much nearer each other, each axis by itself.

    `low`, `high`: limits somebody wrote down (what blank and holding vary) of the body's sides that look to less and to more; taken
    in full. `measured`: COVERAGE_FACTOR times the combined standard uncertainty of what was measured.
    """

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    measured: tuple[float, float, float]

    @property
    def ends(self) -> NDArray[np.float64]:
        """How far the body's two sides may lie further out along each axis, float64 (2, 3), mm: a limit and an expanded uncertainty
        add up."""
        return np.add([self.low, self.high], self.measured, dtype=np.float64)

    @property
    def half(self) -> NDArray[np.float64]:
        """The greater of both sides, float64 (3,), mm."""
        return np.asarray(self.ends.max(axis=0))

    def along(self, direction: Sequence[float]) -> float:
        """Half-width in a direction from the body to the tool (any length but 0): what of each axis lies in it, of the side that
        looks there. The worst axis for the direction (0, 0, 0), which is that of bodies that touch."""
        way = np.asarray(direction, np.float64)
        length = float(np.sqrt(np.square(way).sum()))
        looks = np.where(way < 0.0, *self.ends)
        return float(np.abs(way) @ looks) / length if length > 0.0 else float(self.half.max())


def spread_of(
    kit: Kit, truth: Truth, corners: tuple[NDArray[np.float64], NDArray[np.float64]], *, body: Body | None = None,
    station: int | None = None
) -> Spread:  # fmt: skip
    """The spread between the tool of a station (None: whichever is known worst) and what lies within `corners` (least and greatest,
    float64 (3,) each, W, mm): the blank, or a `body` of the holding.

    Stated: what the blank's sides vary as zero finds them, of the holding what it varies and what the side does that it sits
    against, limit upon limit. Measured: the place of the work offset and the angle times the farthest distance from the datum
    (until they are measured they are set, not known), along Z the length of the tool that makes the move, sideways its radius where
    that was measured. Source: JCGM 100:2008, 5.1.2 and 6.2.
    """
    place, angle = (truth.u_place, truth.u_angle) if truth.source == "touch" else ((0.0, 0.0, 0.0), 0.0)
    far = np.abs(np.array(corners)).max(axis=0)
    own = [tool.preset for tool in kit.setup.tool if station is None or tool.station == station]
    radius = max((preset.varies for preset in own if preset.radius is not None), default=0.0)
    length = truth.u_length if station is None else truth.u_length_of(station) if own else 0.0
    squares = np.square([[*place], [angle * far[1], angle * far[0], 0.0], [radius, radius, length]])
    x, y, z = (COVERAGE_FACTOR * np.sqrt(squares.sum(axis=0))).tolist()
    if body is None:
        low, high = kit.sides_vary.T
    else:
        low = high = kit.holding_varies(body) if body.role is BodyRole.HOLDING else kit.sides_vary.max(axis=1)
    (a, b, c), (d, e, f) = low.tolist(), high.tolist()
    return Spread((a, b, c), (d, e, f), (x, y, z))


def between_tools(truth: Truth, one: int, other: int) -> float:
    """Expanded uncertainty of the height of one tool's tip over a face that another one cut, mm: two lengths; the place of the
    zero does not count. Nothing over a face of its own."""
    two = float(np.hypot(truth.u_length_of(one), truth.u_length_of(other)))
    return 0.0 if one == other else COVERAGE_FACTOR * two
