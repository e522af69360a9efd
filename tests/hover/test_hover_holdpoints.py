"""Hold points of the bundled jobs, worked out by hand from their programs."""

from __future__ import annotations

import pytest

from setwright.hover.holdpoints import HoldPoint
from tests.hover.bench_setups import bench

FIRST_SIDE = {
    # station: block, Z shown before, Z to go, height of the tip over what surface
    # the blank's top lies at Z+1, the face mill takes it to Z0, the end mill the seat to Z-12.515
    1: ("Z5.", 50.0, -45.0, 49.0, "the blank's top", None),
    2: ("Z3.", 50.0, -47.0, 50.0, "the face T1 cut", 1),
    3: ("G98 G85 Z-32. R-11.5 F150.", 50.0, -61.5, 62.515, "the face T2 cut", 2),
    4: ("G99 G81 Z-4. R2. F400.", 50.0, -48.0, 50.0, "the face T1 cut", 1),
    5: ("G99 G83 Z-32.5 R2. Q7. F700.", 50.0, -48.0, 50.0, "the face T1 cut", 1),
}


def held(job: str, station: int) -> HoldPoint:
    return next(hold for hold in bench(job).holds if hold.station == station)


@pytest.mark.parametrize("station", FIRST_SIDE)
def test_block_way_to_go_and_height_of_every_tool(station: int) -> None:
    block, shows, to_go, height, surface, maker = FIRST_SIDE[station]
    hold = held("bearing-cap", station)
    assert hold.text == block
    assert hold.shows[2] == pytest.approx(shows)
    assert hold.to_go == pytest.approx((0.0, 0.0, to_go))
    assert hold.height == pytest.approx(height, abs=0.001)
    assert (hold.surface, hold.made_by) == (surface, maker)
    assert hold.offset == "G54"


def test_a_tool_beside_the_blank_is_measured_to_the_nearest_metal() -> None:
    # the face mill, radius 25, waits at X-90: 3 mm before the blank's end at X-62, to the nearest ray
    assert held("bearing-cap", 1).beside == pytest.approx(3.0, abs=0.51)
    # the end mill, radius 8, waits over the middle of bore A, diameter 30
    assert held("bearing-cap", 2).beside == pytest.approx(7.0, abs=0.51)
    assert held("bearing-cap", 4).beside == 0.0


def test_hold_points_come_in_the_order_of_the_program() -> None:
    for job in ("bearing-cap", "pintle", "spacers"):
        holds = bench(job).holds
        assert [hold.row for hold in holds] == sorted(hold.row for hold in holds)
        assert len(holds) == len(bench(job).proof.kit.tools)


def test_a_hold_point_of_an_inch_job_speaks_inches_when_asked() -> None:
    said = held("pintle", 4).as_plain("inch")
    assert said["block"] == "Z0.1"
    assert said["to_go"] == pytest.approx({"x": 0.0, "y": 0.0, "z": -1.15})
    assert said["height"] == pytest.approx(1.25, abs=0.0001)
    assert held("pintle", 4).as_plain()["height"] == pytest.approx(31.75, abs=0.001)
