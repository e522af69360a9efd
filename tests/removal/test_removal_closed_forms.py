"""Every tool shape in slots, ramps, plunges, helices, arcs in three planes, overlaps and thin walls, against its formula.

A convex body K moved by a straight way w sweeps V(K) + |w| times its shadow along w; moved on a level arc, V(K) + arc length times
its side view, as long as the arc is not tighter than the body is wide. So most bodies here are whole and under the block's surface.
"""

import math

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from setwright.removal.measure import angle_between, fit_plane, fit_round, spacing
from setwright.removal.regions import BandRegion, BoxRegion, DiscRegion
from tests.removal.common import ball, cone, cylinder, moves, tool, zone

BLOCK = BoxShape((0.0, 0.0, -16.0), (40.0, 30.0, 0.0))
PITCHES = (2.0, 1.0, 0.5, 0.25, 0.1)
PI, WHOLE = math.pi, 2 * math.pi
MICROMETRE = 1e-3


def line(start, end):
    return ("line", start, end)


def arc(start, centre, axis, sweep, rise=0.0):
    u, v = (axis + 1) % 3, (axis + 2) % 3
    end = list(start)
    du, dv = start[u] - centre[u], start[v] - centre[v]
    end[u] = centre[u] + du * math.cos(sweep) - dv * math.sin(sweep)
    end[v] = centre[v] + du * math.sin(sweep) + dv * math.cos(sweep)
    end[axis] += rise
    return ("arc", start, tuple(start) if abs(sweep) == WHOLE and not rise else tuple(end), centre, axis, sweep)


class Shape:
    """A whole body: its pieces, volume, area from the side and from above, and of its shadow along a way that rises by an angle
    (None: no formula)."""

    def __init__(self, pieces, volume, side, top, slanted=None):
        self.pieces, self.volume, self.side, self.top, self.slanted = pieces, volume, side, top, slanted


def flat_shape(r=3.0, h=4.0):
    return Shape(tool(cylinder(r, 0.0, h)), PI * r**2 * h, 2 * r * h, PI * r**2,
                 lambda a: 2 * r * h * math.cos(a) + PI * r**2 * math.sin(a))  # fmt: skip


def ball_shape(r=3.0, h=2.0):
    return Shape(tool(ball(r), cylinder(r, r, r + h)), 2 / 3 * PI * r**3 + PI * r**2 * h, PI * r**2 / 2 + 2 * r * h, PI * r**2,
                 lambda a: PI * r**2 / 2 + 2 * r * h * math.cos(a) + PI * r**2 / 2 * math.sin(a))  # fmt: skip


def sphere_shape(r=3.0):
    return Shape(tool(zone(0.0, r, 0.0, -r, r)), 4 / 3 * PI * r**3, PI * r**2, PI * r**2, lambda _: PI * r**2)


def bull_shape(e=2.0, r=1.0, h=3.0):
    quarter = PI * (e**2 * r + 2 * e * PI * r**2 / 4 + 2 * r**3 / 3)
    wide = e + r
    return Shape(tool(zone(e, r, r, 0.0, r), cylinder(wide, r, r + h)), quarter + PI * wide**2 * h,
                 2 * (e * r + PI * r**2 / 4) + 2 * wide * h, PI * wide**2)  # fmt: skip


def cone_shape(r=3.0, h=4.0):
    def slanted(a):
        away = h * math.cos(a) / math.sin(a)
        if away <= r:
            return PI * r**2 * math.sin(a)
        return (r**2 * (PI - math.acos(r / away)) + r * math.sqrt(away**2 - r**2)) * math.sin(a)

    return Shape(tool(cone(0.0, r, 0.0, h)), PI * r**2 * h / 3, r * h, PI * r**2, slanted)


def frustum_shape(r0=1.5, r1=3.5, h=4.0):
    return Shape(tool(cone(r0, r1, 0.0, h)), PI * h * (r0**2 + r0 * r1 + r1**2) / 3, (r0 + r1) * h, PI * max(r0, r1) ** 2)


def dovetail_shape():
    return frustum_shape(3.5, 1.5)


def tee_shape(r=4.0, t=2.0, neck=1.5, h=3.0):
    """Not convex: two pieces, whose union is swept."""
    pieces = tool(cylinder(r, 0.0, t), cylinder(neck, t, t + h))
    return Shape(pieces, PI * (r**2 * t + neck**2 * h), 2 * (r * t + neck * h), PI * r**2)


SHAPES = {"flat": flat_shape, "ball": ball_shape, "sphere": sphere_shape, "bull": bull_shape, "cone": cone_shape,
          "frustum": frustum_shape, "dovetail": dovetail_shape, "tee": tee_shape}  # fmt: skip
LOW = (14.0, 15.0, -10.0)
CASES = {}
for _name, _make in SHAPES.items():
    _shape = _make()
    CASES[f"{_name}: slot"] = (_shape.pieces, [line(LOW, (26.0, 15.0, -10.0))], _shape.volume + 12 * _shape.side)
    CASES[f"{_name}: slanting slot"] = (_shape.pieces, [line(LOW, (24.0, 19.0, -10.0))],
                                        _shape.volume + math.hypot(10, 4) * _shape.side)  # fmt: skip
    CASES[f"{_name}: arc"] = (_shape.pieces, [arc((27.0, 15.0, -10.0), (20.0, 15.0, -10.0), 2, 1.9)],
                              _shape.volume + 7 * 1.9 * _shape.side)  # fmt: skip
    CASES[f"{_name}: ring"] = (_shape.pieces, [arc((27.0, 15.0, -10.0), (20.0, 15.0, -10.0), 2, -WHOLE)], 7 * WHOLE * _shape.side)
    if _name != "tee":  # its neck follows in its own hole
        CASES[f"{_name}: plunge"] = (_shape.pieces, [line((20.0, 15.0, -7.0), (20.0, 15.0, -12.0))], _shape.volume + 5 * _shape.top)
    if _shape.slanted:
        _rise, _length = math.atan2(3, 12), math.hypot(3, 12)
        CASES[f"{_name}: ramp"] = (_shape.pieces, [line((14.0, 15.0, -9.0), (26.0, 15.0, -12.0))],
                                   _shape.volume + _length * _shape.slanted(_rise))  # fmt: skip
        CASES[f"{_name}: ramp up, across"] = (_shape.pieces, [line((16.0, 10.0, -12.0), (22.0, 18.0, -8.0))],
                                             _shape.volume + math.hypot(10, 4) * _shape.slanted(math.atan2(4, 10)))  # fmt: skip
_ball, _flat = sphere_shape(2.0), flat_shape(2.0, 3.0)
for _axis, _centre in ((0, (20.0, 15.0, -8.0)), (1, (20.0, 15.0, -8.0)), (2, (20.0, 15.0, -8.0))):
    _start = list(_centre)
    _start[(_axis + 1) % 3] += 5.0
    for _sweep in (1.3, -2.2):
        CASES[f"sphere: arc about {'XYZ'[_axis]} {_sweep:+}"] = (
            _ball.pieces, [arc(tuple(_start), _centre, _axis, _sweep)], _ball.volume + 5 * abs(_sweep) * _ball.side)  # fmt: skip
    _ring = [arc(tuple(_start), _centre, _axis, WHOLE)]
    CASES[f"sphere: ring about {'XYZ'[_axis]}"] = (_ball.pieces, _ring, 5 * WHOLE * _ball.side)
for _axis in (0, 1):
    _start = [20.0, 15.0, -12.0]
    _centre = (20.0, 15.0, -7.0)
    CASES[f"flat: quarter arc about {'XY'[_axis]}"] = (  # level it moves 5 and upright 5, always the same ways
        _flat.pieces, [arc(tuple(_start), _centre, _axis, PI / 2)], _flat.volume + 5 * _flat.side + 5 * _flat.top)  # fmt: skip

CASES |= {
    "flat: slot from the top": (tool(cylinder(3.0)), [line((10.0, 15.0, -4.0), (30.0, 15.0, -4.0))], 4 * (2 * 3 * 20 + PI * 9)),
    "flat: bore by a circle": (tool(cylinder(3.0)), [arc((22.0, 15.0, -5.0), (20.0, 15.0, -5.0), 2, WHOLE)], 5 * PI * 25),
    "flat: ring leaves a boss": (tool(cylinder(2.0)), [arc((25.0, 15.0, -5.0), (20.0, 15.0, -5.0), 2, WHOLE)], 5 * PI * (49 - 9)),
    "flat: bore by a helix": (
        tool(cylinder(3.0)), [arc((22.0, 15.0, 1.0), (20.0, 15.0, 1.0), 2, 3 * WHOLE, -7.0),
                              arc((22.0, 15.0, -6.0), (20.0, 15.0, -6.0), 2, WHOLE)], 6 * PI * 25),
    "drill: hole": (tool(cone(0.0, 3.0, 0.0, 1.8), cylinder(3.0, 1.8)), [line((20.0, 15.0, 2.0), (20.0, 15.0, -9.0))],
                    PI * 9 * (9 - 1.8) + PI * 9 * 1.8 / 3),
    "flat: crossing slots": (tool(cylinder(3.0)), [line((-9, 15, -4), (49, 15, -4)), line((20, -9, -4), (20, 39, -4))],
                             4 * (6 * 40 + 6 * 30 - 36)),
    "ball: crossing grooves": (tool(ball(3.0), cylinder(3.0, 3.0)),
                               [line((-9, 15, -3), (49, 15, -3)), line((20, -9, -3), (20, 39, -3))],
                               PI * 9 / 2 * 70 - 8 / 3 * 27),
    "cone: crossing grooves": (tool(cone(0.0, 4.0, 0.0, 4.0), cylinder(4.0, 4.0)),
                               [line((-9, 15, -3), (49, 15, -3)), line((20, -9, -3), (20, 39, -3))], 9 * 70 - 4 * 27 / 3),
    "bull: crossing slots": (tool(zone(2.0, 1.0, 1.0, 0.0, 1.0), cylinder(3.0, 1.0)),
                             [line((-9, 15, -4), (49, 15, -4)), line((20, -9, -4), (20, 39, -4))],
                             (24 - 2 * (1 - PI / 4)) * 70 - (4 * (4 + 4 * PI / 4 + 2 / 3) + 36 * 3)),
    "flat: overlapping slots": (tool(cylinder(3.0)),
                                [line((-9, 12, -4), (49, 12, -4)), line((49, 16, -4), (-9, 16, -4))], 4 * 10 * 40),
    "ball: overlapping grooves": (
        tool(ball(3.0), cylinder(3.0, 3.0)), [line((-9, 12, -3), (49, 12, -3)), line((49, 16, -3), (-9, 16, -3))],
        40 * (PI * 9 - (2 * 9 * math.acos(4 / 6) - 2 * math.sqrt(36 - 16)) / 2)),
    "cone: overlapping grooves": (tool(cone(0.0, 4.0, 0.0, 4.0), cylinder(4.0, 4.0)),
                                  [line((-9, 12, -3), (49, 12, -3)), line((49, 16, -3), (-9, 16, -3))], 40 * (18 - 1)),
    "flat: thin wall": (tool(cylinder(3.0)),
                        [line((-9, 10, -6), (49, 10, -6)), line((-9, 16.05, -6), (49, 16.05, -6))], 2 * 6 * 6 * 40),
    "dovetail: slot from the side": (tool(cone(4.0, 2.0, 0.0, 5.0)), [line((-9, 15, -5), (49, 15, -5))], 6 * 5 * 40),
    "tee: slot from the side": (tool(cylinder(4.0, 0.0, 2.0), cylinder(1.5, 2.0)), [line((-9, 15, -6), (49, 15, -6))],
                                (8 * 2 + 3 * 4) * 40),
    "bull: slot from the side": (tool(zone(2.0, 1.0, 1.0, 0.0, 1.0), cylinder(3.0, 1.0)), [line((-9, 15, -4), (49, 15, -4))],
                                 (24 - 2 * (1 - PI / 4)) * 40),
    "chamfer along an edge": (tool(cone(0.0, 4.0, 0.0, 4.0)), [line((-9, 0, -2), (49, 0, -2))], 2 * 40),
}  # fmt: skip


def run(name, pitch):
    pieces, rows, exact = CASES[name]
    return cut(field_of(BLOCK, pitch_mm=pitch), moves(*rows), pieces), exact


def test_there_are_more_than_thirty_beyond_the_published_ones():
    assert len(CASES) >= 34


@pytest.mark.parametrize("name", CASES)
def test_volume_lies_within_its_bound_and_the_bound_shrinks_with_the_pitch(name):
    bounds, errors = [], []
    for pitch in PITCHES[:4]:
        done, exact = run(name, pitch)
        volume = done.removed_volume
        errors.append(abs(volume.value - exact))
        bounds.append(volume.bound)
        assert errors[-1] <= volume.bound, (pitch, volume, exact)
    if bounds[0] > 1e-9:
        order = math.log2(bounds[0] / bounds[-1]) / (len(bounds) - 1)
        assert order >= 0.8, bounds  # with the pitch for walls along the rays, with its square for all else
    assert errors[-1] <= 0.05 * CASES[name][2]  # a slope at 45 degrees runs along the rays' own lattice


def flat_faces(field, low, high, depth):
    """Width and depth of a slot along X between Y `low` and `high`, and how far each is off."""
    walls = [fit_plane(field, BoxRegion((8, y - 0.4, -depth + 0.1), (32, y + 0.4, -0.1)), facing=(0, way, 0))
             for y, way in ((low, 1), (high, -1))]  # fmt: skip
    floor = fit_plane(field, BoxRegion((8, low + 1.2, -depth - 0.4), (32, high - 1.2, -depth + 0.4)), facing=(0, 0, 1))
    width = spacing(*walls)
    return [(width.distance, high - low, width.bound), (-floor.offset, depth, floor.bound)]


def diameter(field, region, size, centre, *, hole, axis=2):
    fit = fit_round(field, region, hole=hole, axis=axis)
    places = zip(fit.centre, centre, strict=True)
    return [(fit.diameter, size, fit.bound), *((found, true, fit.bound_centre) for found, true in places)]


def vee(field):
    sides = [fit_plane(field, BoxRegion((8, low, -4.9), (32, low + 4.7, -0.1)), facing=(0.0, way, 1.0), tilt=True)
             for low, way in ((10.15, 1), (15.15, -1))]  # fmt: skip
    angle, bound = angle_between(*sides)
    return [(math.degrees(angle), 90.0, math.degrees(bound))]


def dovetail(field):
    flank = (0.0, 5 / math.sqrt(29), -2 / math.sqrt(29))
    side = fit_plane(field, DiscRegion((20.0, 12.0, -2.5), flank, 2.2, 0.3), facing=flank, tilt=True)
    apart = abs(float(np.dot(side.normal, (20.0, 12.0, -2.5))) - side.offset)
    return [(apart, 0.0, side.bound), (math.degrees(math.acos(min(1.0, float(np.dot(side.normal, flank))))), 0.0, 1e-5)]


def thin_wall(field):
    sides = [fit_plane(field, BoxRegion((8, y - 0.02, -5.9), (32, y + 0.02, -0.1)), facing=(0, way, 0))
             for y, way in ((13.0, -1), (13.05, 1))]  # fmt: skip
    wall = spacing(*sides)
    return [(wall.distance, 0.05, wall.bound)]


FEATURES = {
    "flat: slot from the side": (tool(cylinder(3.0)), [line((-9, 15, -4), (49, 15, -4))], lambda f: flat_faces(f, 12.0, 18.0, 4.0)),
    "bull: slot from the side": (*CASES["bull: slot from the side"][:2],
                                 lambda f: flat_faces(f, 12.0, 18.0, 4.0)[1:]),
    "flat: overlapping slots": (*CASES["flat: overlapping slots"][:2], lambda f: flat_faces(f, 9.0, 19.0, 4.0)),
    "tee: slot from the side": (*CASES["tee: slot from the side"][:2], lambda f: [
        (p.offset, -6.0, p.bound) for p in [fit_plane(f, BoxRegion((8, 11.5, -6.4), (32, 18.5, -5.6)), facing=(0, 0, 1))]] + [
        (-p.offset, -4.0, p.bound) for p in [fit_plane(f, BoxRegion((8, 11.2, -4.4), (32, 13.4, -3.6)), facing=(0, 0, -1))]]),
    "flat: bore by a circle": (*CASES["flat: bore by a circle"][:2], lambda f: diameter(
        f, BandRegion((20, 15), 4, 6, -4.9, -0.1), 10.0, (20, 15), hole=True)),
    "flat: ring leaves a boss": (*CASES["flat: ring leaves a boss"][:2], lambda f: diameter(
        f, BandRegion((20, 15), 2, 4, -4.9, -0.1), 6.0, (20, 15), hole=False)),
    "flat: bore by a helix": (*CASES["flat: bore by a helix"][:2], lambda f: diameter(
        f, BandRegion((20, 15), 4, 6, -4.0, -0.1), 10.0, (20, 15), hole=True)),
    "drill: hole": (*CASES["drill: hole"][:2], lambda f: diameter(
        f, BandRegion((20, 15), 2, 4, -7.0, -0.1), 6.0, (20, 15), hole=True)),
    "ball: groove": (tool(ball(3.0), cylinder(3.0, 3.0)), [line((-9, 15, -3), (49, 15, -3))], lambda f: diameter(
        f, BoxRegion((8, 11.5, -3.2), (32, 18.5, -0.3)), 6.0, (15, 0), hole=True, axis=0)),
    "cone: groove": (tool(cone(0.0, 6.0, 0.0, 6.0), cylinder(6.0, 6.0)), [line((-9, 15, -5), (49, 15, -5))], vee),
    "dovetail: slot from the side": (*CASES["dovetail: slot from the side"][:2], dovetail),
    "flat: thin wall": (*CASES["flat: thin wall"][:2], thin_wall),
}  # fmt: skip


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("name", FEATURES)
def test_features_are_right_to_a_micrometre_at_every_pitch(name, pitch):
    pieces, rows, measure = FEATURES[name]
    field = cut(field_of(BLOCK, pitch_mm=pitch), moves(*rows), pieces).field
    for found, true, bound in measure(field):
        assert abs(found - true) <= MICROMETRE, (found, true)
        assert abs(found - true) <= bound + 1e-9, (found, true, bound)


def test_scallop_of_the_published_example():
    """R 5, passes 0.5 apart: 6.254 micrometres."""
    radius, step = 5.0, 0.5
    rows = [line((-9, y, -radius), (49, y, -radius)) for y in np.arange(10.0, 20.0, step)]
    done = cut(field_of(BLOCK, pitch_mm=0.25), moves(*rows), tool(ball(radius), cylinder(radius, radius)))
    points, _ = done.field.points(2)
    tops = points[:, 1][(points[:, 1, 1] > 12) & (points[:, 1, 1] < 18)]
    away = np.abs((tops[:, 1] - 10.0 + step / 2) % step - step / 2)
    assert np.abs(tops[:, 2] + np.sqrt(radius**2 - away**2)).max() < 1e-9
    assert radius - math.sqrt(radius**2 - step**2 / 4) == pytest.approx(0.006254, abs=5e-7)

