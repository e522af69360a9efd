"""How far the tool may pass a body elsewhere than computed, because the setup is only known so well: axis by axis, so that nothing
counts in a direction in which it does not act."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.bodies import BodyRole
from setwright.kit.registers import Truth
from setwright.kit.station import Kit

__all__ = ["COVERAGE_FACTOR", "Spread", "length_between_tools", "spread_of"]

COVERAGE_FACTOR: Final = 2.0
"""About 95 % of what may be, for a normal distribution (JCGM 100, 6.3)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Half-widths along X, Y, Z of W, mm: tool and body may stand that much nearer each other, each axis by itself.

    `stated`: limits somebody wrote down (what blank and holding vary); taken in full. `measured`: COVERAGE_FACTOR times the
    combined standard uncertainty of what was measured.
    """

    stated: tuple[float, float, float]
    measured: tuple[float, float, float]

    @property
    def half(self) -> NDArray[np.float64]:
        """Both together, float64 (3,), mm: a limit and an expanded uncertainty add up."""
        return np.add(self.stated, self.measured, dtype=np.float64)

    def along(self, direction: Sequence[float]) -> float:
        """Half-width in a direction (any length but 0): what of each axis lies in it. The worst axis for the direction (0, 0, 0),
        which is that of bodies that touch."""
        way = np.abs(np.asarray(direction, np.float64))
        length = float(np.sqrt(np.square(way).sum()))
        return float(way @ self.half) / length if length > 0.0 else float(self.half.max())


def spread_of(
    kit: Kit, truth: Truth, corners: tuple[NDArray[np.float64], NDArray[np.float64]], *, role: BodyRole = BodyRole.BLANK
) -> Spread:
    """The spread between the tool and a body within `corners` (least and greatest, float64 (3,) each, W, mm).

    Stated: what the blank varies (the zero lies on it, so that holding and skin vary against the zero), and for a body in the
    `role` of the holding what that varies, limit upon limit. Measured: the place of the
    work offset and the angle times the farthest distance from the datum (until they are measured they are set, not known), along
    Z the tool's length, sideways its radius where that was measured. Source: JCGM 100:2008, 5.1.2 and 6.2.
    """
    place, angle = (truth.u_place, truth.u_angle) if truth.source == "touch" else ((0.0, 0.0, 0.0), 0.0)
    far = np.abs(np.array(corners)).max(axis=0)
    radius = max((tool.preset.varies for tool in kit.setup.tool if tool.preset.radius is not None), default=0.0)
    squares = np.square([[*place], [angle * far[1], angle * far[0], 0.0], [radius, radius, truth.u_length]])
    x, y, z = (COVERAGE_FACTOR * np.sqrt(squares.sum(axis=0))).tolist()
    holding = kit.setup.holding.varies if role is BodyRole.HOLDING else (0.0, 0.0, 0.0)
    a, b, c = np.add(kit.setup.blank.varies, holding).tolist()
    return Spread((a, b, c), (x, y, z))


def length_between_tools(truth: Truth) -> float:
    """Expanded uncertainty of the height of one tool's tip over a face that another one cut, mm: two lengths; the place of the
    zero does not count."""
    return COVERAGE_FACTOR * float(np.sqrt(2.0)) * truth.u_length
