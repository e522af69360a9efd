"""Volumes of random jobs of many motions against general mesh booleans, which know nothing of rays.

Each motion is the convex hull of the tool's points at its two ends. Points lie on the tool, so the hull lies inside the sweep,
nowhere deeper than the sagitta of its facets.
"""

import itertools
import math

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from tests.removal.common import ball, cone, cylinder, moves, tool, zone

manifold3d = pytest.importorskip("manifold3d")

SIZE = np.array([40.0, 30.0, 16.0])
BLOCK = BoxShape((0.0, 0.0, -16.0), (40.0, 30.0, 0.0))
AROUND = 128
TURNS = np.linspace(0, 2 * math.pi, AROUND, endpoint=False)
STEP = math.pi / AROUND


def rings(profile):
    """Points on circles of the given (radius, height)s."""
    circles = [np.column_stack([r * np.cos(TURNS), r * np.sin(TURNS), np.full(AROUND, z)]) if r > 0 else [[0.0, 0.0, z]]
               for r, z in profile]  # fmt: skip
    return np.concatenate(circles)


def quarter(e, r, n=24):
    return [(e + r * math.sin(a), r - r * math.cos(a)) for a in np.linspace(0, math.pi / 2, n + 1)]


SAG = 1 - math.cos(STEP)
TOOLS = {  # pieces, points of the convex tool, sagitta of its facets
    "flat": (tool(cylinder(3.0, 0.0, 20.0)), rings([(3.0, 0.0), (3.0, 20.0)]), 3 * SAG),
    "cone": (tool(cone(0.0, 4.0, 0.0, 6.0), cylinder(4.0, 6.0, 20.0)), rings([(0.0, 0.0), (4.0, 6.0), (4.0, 20.0)]), 4 * SAG),
    "ball": (tool(ball(3.0), cylinder(3.0, 3.0, 20.0)), rings([*quarter(0.0, 3.0), (3.0, 20.0)]),
             3 * SAG + 3 * (1 - math.cos(math.pi / 96))),
    "bull": (tool(zone(2.0, 1.0, 1.0, 0.0, 1.0), cylinder(3.0, 1.0, 20.0)), rings([*quarter(2.0, 1.0), (3.0, 20.0)]),
             3 * SAG + (1 - math.cos(math.pi / 96))),
}  # fmt: skip


def way(rng, count):
    """Places of the tip one after the other: level, sloping, straight down and up."""
    places = rng.uniform([2, 2, -9], [38, 28, -1], (count + 1, 3))
    for number in range(1, count + 1):
        if number % 4 == 1:
            places[number, 2] = places[number - 1, 2]
        elif number % 4 == 3:
            places[number, :2] = places[number - 1, :2]
    return places


@pytest.mark.parametrize("kind", TOOLS)
@pytest.mark.parametrize("seed", range(3))
def test_random_jobs_remove_what_booleans_remove(kind, seed):
    pieces, points, sagitta = TOOLS[kind]
    rng = np.random.default_rng([seed, list(TOOLS).index(kind)])
    places = way(rng, 24)
    done = cut(field_of(BLOCK, pitch_mm=0.4), moves(*[("line", a, b) for a, b in itertools.pairwise(places)]), pieces)
    metal = manifold3d.Manifold.cube(SIZE).translate([0.0, 0.0, -16.0])
    swept = [manifold3d.Manifold.hull_points(np.concatenate([points + a, points + b])) for a, b in itertools.pairwise(places)]
    union = manifold3d.Manifold.batch_boolean(swept, manifold3d.OpType.Add)
    left = metal - union
    exact = float(np.prod(SIZE)) - left.volume()
    volume = done.removed_volume
    facets = sagitta * left.surface_area()  # what the hulls leave lies on the surface that is cut
    assert exact - volume.bound <= volume.value <= exact + facets * 1.05 + volume.bound
    assert abs(volume.value - exact) <= 0.01 * exact + facets
    for one in volume.by_bundle:
        assert abs(one - exact) <= volume.bound + facets * 1.05
