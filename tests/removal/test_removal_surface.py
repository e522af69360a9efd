"""The metal's surface: against a slow one cell by cell, against solids known in closed form, and the same for any threads."""

import itertools

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape, CylinderShape
from setwright.removal.cut import cut
from setwright.removal.field import ACROSS, field_of
from setwright.removal.normals import unpack
from setwright.removal.surface import surface_of
from tests.oracle.contour import contour
from tests.removal.common import ball, cone, cylinder, moves, tool, zone

TOOLS = [tool(cylinder(3)), tool(ball(3), cylinder(3, 3)), tool(cone(0.0, 5)), tool(zone(2, 1.5, 1.5, 0, 1.5), cylinder(3.5, 1.5))]


def rough(seed):
    """A small blank after a few random motions, rays far apart."""
    rng = np.random.default_rng(seed)
    low = rng.uniform(-8, -4, 3)
    high = low + rng.uniform(5, 14, 3)
    blank = BoxShape(tuple(low), tuple(high)) if seed % 3 else CylinderShape((0.3, -0.2), float(rng.uniform(4, 6)), -5.0, 5.0)
    places = rng.uniform(low - 2, high + 2, (7, 3)).tolist()
    run = moves(*(("line", tuple(a), tuple(b)) for a, b in itertools.pairwise(places)))
    return cut(field_of(blank, pitch_mm=float(rng.choice([0.8, 1.3, 3.0]))), run, TOOLS[seed % 4]).field


def plain_rays(field):
    """The rays as the slow version takes them."""
    told = []
    for axis in range(3):
        _, rays = field.points(axis)
        nu, normals = field.bundles[axis].nu, unpack(rays.normal)
        one = {}
        for row, ray in enumerate(rays.ray.tolist()):
            ends = [(float(rays.ends[row, side]), normals[row, side], int(rays.ident[row, side]), side == 0) for side in (0, 1)]
            one.setdefault((ray % nu, ray // nu), []).extend(ends)
        told.append(one)
        assert ACROSS[axis] == tuple(other for other in range(3) if other != axis)
    return told


def quads(surface):
    """Four corners and the motion of each pair of triangles."""
    pairs = surface.triangles.reshape(-1, 2, 3)
    assert np.array_equal(pairs[:, 0, 0], pairs[:, 1, 0])
    assert np.array_equal(pairs[:, 0, 2], pairs[:, 1, 1])
    assert np.array_equal(surface.motion[0::2], surface.motion[1::2])
    order = np.column_stack([pairs[:, 0], pairs[:, 1, 2]])
    return [(surface.corners[row], int(motion)) for row, motion in zip(order, surface.motion[0::2], strict=True)]


def key(quad):
    """To pair off the quadrilaterals of two surfaces; their corners agree but for round-off."""
    corners, motion = quad
    return (np.round(np.mean(corners, axis=0), 6).tolist(), motion)


@pytest.mark.parametrize("seed", range(24))
def test_every_quadrilateral_is_that_of_the_slow_version(seed):
    field = rough(seed)
    grid = field.grid
    places = (grid.first.tolist(), grid.pitch.tolist(), grid.count.tolist())
    slow = sorted(contour(plain_rays(field), *places, (grid.low, grid.high)), key=key)
    ours = sorted(quads(surface_of(field)), key=key)
    assert len(slow) == len(ours) > 0
    for (a, by), (b, whose) in zip(ours, slow, strict=True):
        assert by == whose
        assert np.abs(np.asarray(a) - np.asarray(b)).max() < 1e-9


def test_no_metal_has_no_surface():
    block, run = field_of(BoxShape((0, 0, 0), (5, 5, 5)), pitch_mm=1.0), moves(("line", (-40, 2, -1), (40, 2, -1)))
    surface = surface_of(cut(block, run, tool(cylinder(20))).field)
    assert surface.corners.shape == (0, 3)
    assert surface.triangles.shape == (0, 3)
    assert surface.motion.shape == (0,)


def test_a_round_groove_is_followed_within_the_sag_of_a_chord():
    pitch, radius = 0.5, 6.0
    block, run = field_of(BoxShape((-10, -10, -9), (10, 10, 0)), pitch_mm=pitch), moves(("line", (-30, 0, -4), (30, 0, -4)))
    surface = surface_of(cut(block, run, tool(ball(radius), cylinder(radius, radius))).field)
    middles = surface.corners[surface.triangles[surface.motion == 0]].mean(axis=1)
    inner = middles[(np.abs(middles[:, 0]) < 9) & (middles[:, 2] < -0.5)]
    away = np.hypot(inner[:, 1], inner[:, 2] - (radius - 4)) - radius
    bound = (2 * pitch**2) / (8 * radius)  # the diagonal of a cell's side as chord
    assert len(inner) > 500
    assert np.abs(away).max() < bound + 1e-3


def test_the_same_bytes_for_any_number_of_threads(monkeypatch):
    field, seen = rough(5), []
    for threads in ("1", "2", "5"):
        monkeypatch.setenv("SETWRIGHT_THREADS", threads)
        surface = surface_of(field)
        seen.append((surface.corners.tobytes(), surface.triangles.tobytes(), surface.motion.tobytes()))
    assert seen[0] == seen[1] == seen[2]
