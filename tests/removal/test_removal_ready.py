"""Measuring again on a part that has changed: taken over where nothing has, made anew where something has."""

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.geometry.bodies import BoxShape
from setwright.removal.contact import first_touch, touch
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from setwright.removal.measure import fit_plane, fit_round
from setwright.removal.ready import Ready, ends_in
from setwright.removal.regions import BandRegion, BoxRegion, DiscRegion
from tests.removal.common import cylinder, moves, tool

BLOCK = field_of(BoxShape((0.0, 0.0, -20.0), (120.0, 60.0, 0.0)), pitch_mm=0.5)
MILL = tool(cylinder(5.0))
PLUNGE = ("line", (30.0, 30.0, 5.0), (30.0, 30.0, -8.0))
SLOT = ("line", (70.0, 10.0, -4.0), (70.0, 50.0, -4.0))
BORE, FLOOR = BandRegion((30.0, 30.0), 4.8, 5.2, -7.5, -0.5), BoxRegion((67.0, 15.0, -4.5), (73.0, 45.0, -3.5))


def part(*rows):
    return cut(BLOCK, moves(*rows), MILL).field


@pytest.mark.parametrize("region", [
    BoxRegion((10.0, 12.25, -9.0), (40.0, 37.5, 0.0)), BandRegion((30.0, 30.0), 4.9, 5.1, -8.0, 0.0),
    BandRegion((30.0, -4.0), 3.0, 9.0, 20.0, 75.0, axis=0), BandRegion((70.0, -4.0), 3.0, 6.5, 5.0, 55.0, axis=1),
    DiscRegion((70.0, 30.0, -4.0), (0.0, 0.6, 0.8), 4.0, 1.5),
])  # fmt: skip
def test_the_ends_in_a_region_are_those_whose_coordinates_say_so(region):
    """Against the points of the whole field and the region's plain formula."""
    whole = part(PLUNGE, SLOT)
    points = np.concatenate([whole.points(axis)[0].reshape(-1, 3) for axis in range(3)])
    if isinstance(region, BoxRegion):
        held = ((points >= region.low) & (points <= region.high)).all(axis=1)
    elif isinstance(region, BandRegion):
        u, v = [axis for axis in range(3) if axis != region.axis]
        away = np.hypot(points[:, u] - region.centre[0], points[:, v] - region.centre[1])
        along = points[:, region.axis]
        held = (away >= region.inner) & (away <= region.outer) & (along >= region.bottom) & (along <= region.top)
    else:
        above = (points - region.at) @ np.array(region.normal)
        across = np.linalg.norm(points - region.at - above[:, None] * region.normal, axis=1)
        held = (np.abs(above) <= region.reach) & (across <= region.radius)
    assert held.sum() > 20
    assert sorted(ends_in(whole, region).points.tolist()) == sorted(points[held].tolist())


def test_what_has_not_changed_is_taken_over_and_what_has_is_measured():
    """The slot goes 0.1 mm deeper: the bore is the same object, the floor another plane."""
    good = Ready(part(PLUNGE, SLOT))
    bore, floor = fit_round(good, BORE, hole=True), fit_plane(good, FLOOR, facing=(0, 0, 1))
    deeper = ("line", (70.0, 10.0, -4.1), (70.0, 50.0, -4.1))
    again = Ready(part(PLUNGE, deeper), before=good)
    assert fit_round(again, BORE, hole=True) is bore
    assert floor.offset == pytest.approx(-4.0, abs=1e-9)
    assert fit_plane(again, FLOOR, facing=(0, 0, 1)).offset == pytest.approx(-4.1, abs=1e-9)


def test_the_same_surface_by_another_motion_is_measured_anew():
    good = Ready(part(PLUNGE, SLOT))
    assert fit_plane(good, FLOOR, facing=(0, 0, 1)).motions == (1,)
    again = Ready(part(PLUNGE, ("line", (70.0, 10.0, -2.0), (70.0, 50.0, -2.0)), SLOT), before=good)
    assert fit_plane(again, FLOOR, facing=(0, 0, 1)).motions == (2,)


def test_a_refusal_is_remembered_and_taken_over_too():
    good = Ready(part(PLUNGE))
    for ready in (good, good, Ready(part(PLUNGE), before=good)):
        with pytest.raises(InputRefused, match="ray ends lie on the plane"):
            fit_plane(ready, FLOOR, facing=(0, 0, 1))


def test_a_part_on_other_rays_takes_nothing_over():
    good = Ready(part(PLUNGE, SLOT))
    bore = fit_round(good, BORE, hole=True)
    other = field_of(BoxShape((0.0, 0.0, -20.0), (120.0, 60.0, 0.0)), pitch_mm=0.7)
    again = fit_round(Ready(cut(other, moves(PLUNGE, SLOT), MILL).field, before=good), BORE, hole=True)
    assert again is not bore
    assert again.diameter == pytest.approx(bore.diameter, abs=1e-9)


def test_the_first_touch_is_the_first_of_all_touches():
    """2,000 motions in air, then one into metal and 3,000 more."""
    air = [("line", (x, 30.0, 3.0), (x + 0.05, 30.0, 3.0)) for x in np.arange(0.0, 100.0, 0.05)]
    rows = moves(*air, *[("line", (50.0, 30.0, -1.0), (60.0, 30.0, -1.0))] * 3_000)
    assert first_touch(BLOCK, rows, MILL) == touch(BLOCK, rows, MILL)[0].motion == 2_000
    assert first_touch(BLOCK, rows[:2_000], MILL) == -1
