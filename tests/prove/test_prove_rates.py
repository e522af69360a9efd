"""The greatest removal rate of a tool: never more than it can meet at its feed, and right where the way is long."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.geometry.pieces import PieceTable
from setwright.prove.rates import most_met
from tests.prove.conftest import Proving
from tests.removal.common import ball, cone, cylinder, moves, zone

FEED = 1000.0


def wandering(seed: int, step: float) -> str:
    """A tool led about in short ways at random, 8 deep in the plate."""
    generator = np.random.default_rng(seed)
    places = np.array([50.0, 25.0]) + np.cumsum(generator.uniform(-step, step, (60, 2)), axis=0)
    rows = "\n".join(f"X{x:.3f} Y{y:.3f}" for x, y in places)
    return f"G0 X50. Y25.\nZ1.\nG1 Z-8. F{FEED:.0f}\n{rows}"


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("step", [0.02, 0.1, 0.5])
def test_no_rate_is_above_what_outline_and_feed_allow(proving: Proving, seed: int, step: float) -> None:
    """10 wide and 8 deep, or going down its circle; the rays are 1 mm apart, far more than a way is long."""
    rate = proving(wandering(seed, step)).rates[1]
    assert 0.0 < rate <= max(10.0 * 8.0, math.pi * 25.0) * FEED * (1 + 1e-9)


def test_the_rate_of_a_long_slot_is_its_section_times_the_feed(proving: Proving) -> None:
    """10 wide, 4 deep, 300 mm/min, from edge to edge: 12 cm³/min less the way in and out."""
    assert 0.9 * 12_000 < proving("G0 X-5. Y25.\nZ-4.\nG1 X105. F300.").rates[1] <= 12_000 * (1 + 1e-9)


@pytest.mark.parametrize(
    ("piece", "deep", "outline", "circle"),
    [(cylinder(3.0), 4.0, 24.0, 3.0), (cone(0.0, 4.0, 0.0, 8.0), 8.0, 32.0, 4.0), (cone(0.0, 4.0, 0.0, 8.0), 4.0, 8.0, 4.0),
     (ball(5.0), 5.0, math.pi * 25 / 2, 5.0), (zone(3.0, 2.0, 2.0, 0.0, 2.0), 2.0, 12 + math.pi * 2, 5.0)],
)  # fmt: skip
def test_what_a_tool_meets_is_its_outline_and_its_circle(piece: object, deep: float, outline: float, circle: float) -> None:
    """Over 10 mm along the table and 2 mm down, the foot `deep` under the metal's top at the end."""
    table = PieceTable.of([[piece]])  # type: ignore[list-item]
    level = moves(("line", (0, 0, -deep), (10, 0, -deep)))
    assert most_met(level, table, np.array([10.0]), np.array([0.0]), top_mm=0.0)[0] == pytest.approx(10 * outline)
    down = moves(("line", (0, 0, 2 - deep), (0, 0, -deep)))
    assert most_met(down, table, np.array([0.0]), np.array([2.0]), top_mm=0.0)[0] == pytest.approx(2 * math.pi * circle**2)
