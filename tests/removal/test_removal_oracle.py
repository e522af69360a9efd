"""Every ray end against the slow oracle, for random pieces and motions of every kind."""

import numpy as np
import pytest

from setwright.base.tolerance import CHORD_SAGITTA_MM, COORDINATE_ROUND_OFF_MM
from setwright.geometry.bodies import BoxShape
from setwright.removal.cut import cut
from setwright.removal.field import ACROSS, field_of
from setwright.removal.measure import BoxRegion, ends_in
from tests.oracle import sweep as oracle
from tests.removal.common import ball, cone, cylinder, moves, plain, tool, zone

BLANK = BoxShape((-12.0, -12.0, -12.0), (12.0, 12.0, 12.0))
ORACLE_ERROR = 1e-7  # six rounds of 161 places each: the last are 1e-10 of the motion apart
RAYS = 14  # of each bundle that pass near the sweep

PIECES = {
    "cylinder": lambda rng: cylinder(rng.uniform(0.5, 4), rng.uniform(-1, 1), rng.uniform(2, 6)),
    "disc": lambda rng: cylinder(rng.uniform(0.5, 4), 0.5, 0.5),
    "cone": lambda rng: cone(0.0, rng.uniform(0.5, 4), 0.0, rng.uniform(0.5, 6)),
    "frustum": lambda rng: cone(rng.uniform(0.5, 2), rng.uniform(2, 4), 0.0, rng.uniform(0.5, 6)),
    "dovetail": lambda rng: cone(rng.uniform(2, 4), rng.uniform(0.5, 2), 0.0, rng.uniform(0.5, 6)),
    "ball": lambda rng: ball(rng.uniform(0.5, 4)),
    "sphere": lambda rng: zone(0.0, 3.0, 1.0, -2.0, 4.0),
    "sphere zone": lambda rng: zone(0.0, 3.0, 1.0, rng.uniform(-1.9, 0.5), rng.uniform(1.2, 3.9)),
    "upper zone": lambda rng: zone(0.0, 3.0, 1.0, 1.5, 3.0),
    "torus": lambda rng: zone(rng.uniform(0.5, 3), 1.0, 1.0, 0.0, 1.0),
    "torus zone": lambda rng: zone(rng.uniform(0.5, 3), 1.5, 1.0, rng.uniform(-0.4, 0.5), rng.uniform(1.0, 2.4)),
    "whole torus": lambda rng: zone(2.0, 1.0, 0.0, -1.0, 1.0),
}
WAYS = {
    "level": lambda rng: (*rng.uniform(-8, 8, 2), 0.0),
    "along x": lambda rng: (rng.uniform(-8, 8), 0.0, 0.0),
    "along y": lambda rng: (0.0, rng.uniform(-8, 8), 0.0),
    "plunge": lambda rng: (0.0, 0.0, rng.uniform(-6, -1)),
    "retract": lambda rng: (0.0, 0.0, rng.uniform(1, 6)),
    "ramp": lambda rng: (*rng.uniform(-8, 8, 2), rng.uniform(-3, 3)),
    "steep": lambda rng: (*rng.uniform(-1, 1, 2), rng.uniform(-6, 6)),
    "nearly plunge": lambda rng: (*rng.uniform(-1e-7, 1e-7, 2), rng.uniform(-6, -1)),
    "nearly along x": lambda rng: (rng.uniform(2, 8), rng.uniform(-1e-9, 1e-9), rng.uniform(-1e-9, 1e-9)),
    "short": lambda rng: tuple(rng.uniform(-0.05, 0.05, 3)),
    "standing": lambda rng: (0.0, 0.0, 0.0),
    "in the x-z plane": lambda rng: (rng.uniform(-8, 8), 0.0, rng.uniform(-4, 4)),
    "in the y-z plane": lambda rng: (0.0, rng.uniform(-8, 8), rng.uniform(-4, 4)),
}


def ends_of(field, axis):
    """For each ray: its place across and the list of its intervals."""
    rays = field.bundles[axis].rays()
    u, v = ACROSS[axis]
    bundle = field.bundles[axis]
    lists = {}
    for ray, ends in zip(rays.ray.tolist(), rays.ends.tolist(), strict=True):
        lists.setdefault(ray, []).append(ends)
    for ray in range(bundle.nu * bundle.nv):
        at_u = field.grid.first[u] + field.grid.pitch[u] * (ray % bundle.nu)
        at_v = field.grid.first[v] + field.grid.pitch[v] * (ray // bundle.nu)
        yield float(at_u), float(at_v), lists.get(ray, [])


def oracle_span(piece, path, axis, u, v):
    if axis == 2:
        return oracle.span_z(piece, path, u, v)
    if axis == 0:
        return oracle.span_x(piece, path, u, v)
    return oracle.span_x(piece, lambda t: path(t)[:, [1, 0, 2]], u, v)


def removed_of(found, low, high):
    """The one stretch missing from [low, high]; None if nothing is missing."""
    edges = [low, *(end for interval in found for end in interval), high]
    gaps = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 0]
    assert len(gaps) <= 1, "a straight sweep of a convex piece leaves one gap"
    return gaps[0] if gaps else None


@pytest.mark.parametrize("kind", PIECES)
@pytest.mark.parametrize("way", WAYS)
def test_straight_sweep(kind, way):
    rng = np.random.default_rng([sorted(PIECES).index(kind), sorted(WAYS).index(way)])
    piece = PIECES[kind](rng)
    start = rng.uniform(-5, 3, 3)
    end = start + WAYS[way](rng)
    before = field_of(BLANK, pitch_mm=1.1)
    after = cut(before, moves(("line", start, end)), tool(piece)).field
    path = oracle.line(start, end)
    touched = 0
    tips = path(np.array([0.0, 1.0]))
    wide = np.array([piece.widest, piece.widest, 0.0])
    low, high = tips.min(axis=0) - wide + np.array([0, 0, piece.z0]), tips.max(axis=0) + wide + np.array([0, 0, piece.z1])
    for axis in range(3):
        across = list(ACROSS[axis])
        near, far = [], []
        for u, v, found in ends_of(after, axis):
            inside = (low[across] < [u, v]).all() and ([u, v] < high[across]).all()
            (near if inside else far).append((u, v, found))
        assert all(found == [[-12.0, 12.0]] for _, _, found in far)
        for k in rng.permutation(len(near))[:RAYS].tolist():
            u, v, found = near[k]
            want = oracle_span(plain(piece), path, axis, u, v)
            got = removed_of(found, -12.0, 12.0)
            if want is None or min(want[1], 12.0) - max(want[0], -12.0) <= ORACLE_ERROR:
                assert got is None or got[1] - got[0] <= 3e-3, (axis, u, v, got, want)  # between two tried places of the tip
                continue
            assert got is not None, (axis, u, v, want)
            touched += 1
            want = max(want[0], -12.0), min(want[1], 12.0)
            # the oracle tries places of the tip, so it never claims more than is swept
            assert got[0] <= want[0] + COORDINATE_ROUND_OFF_MM, (axis, u, v, got, want)
            assert got[1] >= want[1] - COORDINATE_ROUND_OFF_MM, (axis, u, v, got, want)
            assert got[0] >= want[0] - ORACLE_ERROR, (axis, u, v, got, want)
            assert got[1] <= want[1] + ORACLE_ERROR, (axis, u, v, got, want)
    assert touched >= 1 or kind == "disc" or piece.widest < 2


TURNS = (0.7, -1.9, 3.141592653589793, 4.4, -5.9, 6.283185307179586)
ARCS = [(axis, sweep, rise) for axis in range(3) for sweep in TURNS for rise in (0.0, 1.5)]


@pytest.mark.parametrize("kind", ["cylinder", "frustum", "ball", "torus"])
@pytest.mark.parametrize(("axis", "sweep", "rise"), ARCS)
def test_arc_sweep(kind, axis, sweep, rise):
    """A little into the metal, along each end's own normal, nothing was swept; a little out of it everything was."""
    rng = np.random.default_rng([axis, int(100 + 10 * sweep), int(rise)])
    piece = PIECES[kind](rng)
    radius, turn = rng.uniform(1, 6), rng.uniform(0, 6)
    centre = rng.uniform(-2, 2, 3)
    start = centre.copy()
    u, v = (axis + 1) % 3, (axis + 2) % 3
    start[u] += radius * np.cos(turn)
    start[v] += radius * np.sin(turn)
    path = oracle.arc(start, centre, axis, sweep, rise)
    end = start if abs(sweep) > 6.2 and not rise else path(np.array([1.0]))[0]
    after = cut(field_of(BLANK, pitch_mm=1.1), moves(("arc", start, end, centre, axis, sweep)), tool(piece)).field
    exact = axis == 2 and rise == 0
    assert after.slack == 0.0 if exact else 0.0 < after.slack <= CHORD_SAGITTA_MM * 1.0001
    step = 1e-6 if exact else 2 * CHORD_SAGITTA_MM
    ends = ends_in(after, BoxRegion((-11.9, -11.9, -11.9), (11.9, 11.9, 11.9)))
    assert ends.axis.size > 8
    for k in rng.permutation(ends.axis.size)[:8].tolist():
        point, normal = ends.points[k], ends.normals[k]
        assert oracle.outside(plain(piece), path, point - step * normal) > 0, (point, normal)
        assert oracle.outside(plain(piece), path, point + step * normal) <= 0, (point, normal)
