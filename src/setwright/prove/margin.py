"""How far the tool may pass a body elsewhere than computed, because the setup is only known so well."""

from __future__ import annotations

import math
from typing import Final

from setwright.kit.registers import Truth
from setwright.kit.station import Kit

__all__ = ["COVERAGE_FACTOR", "expanded_uncertainty"]

COVERAGE_FACTOR: Final = 2.0
"""About 95 % of what may be, for a normal distribution (JCGM 100, 6.3)."""


def expanded_uncertainty(kit: Kit, truth: Truth) -> float:
    """Expanded uncertainty of a distance between tool and holding, mm: COVERAGE_FACTOR times the worst axis.

    On each axis are combined: the place of the work offset if it was measured (until then it is set, not known), what the blank
    varies as an evenly spread ± (JCGM 100, 4.3.7), and on Z the tool's length. No direction has more than the worst axis.
    """
    place = truth.u_place if truth.source == "touch" else (0.0, 0.0, 0.0)
    length = (0.0, 0.0, truth.u_length)
    each = [math.hypot(*parts) for parts in zip(place, (v / math.sqrt(3.0) for v in kit.setup.blank.varies), length, strict=True)]
    return COVERAGE_FACTOR * max(each)
