"""Closed forms: volumes, ray ends and measured features of cuts whose answer is known."""

import math

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape, CylinderShape, MeshShape
from setwright.removal.cut import cut
from setwright.removal.field import BLANK, field_of
from setwright.removal.measure import fit_plane, fit_round, spacing
from setwright.removal.regions import BandRegion, BoxRegion
from setwright.removal.volumes import Account, Volume
from tests.removal.common import ball, cone, cylinder, moves, tool, zone

BLOCK = BoxShape((0.0, 0.0, -20.0), (60.0, 40.0, 0.0))
WHOLE = 2 * math.pi


def ring(centre, radius, z):
    start = (centre[0] + radius, centre[1], z)
    return ("arc", start, start, (centre[0], centre[1], z), 2, WHOLE)


def run(tools, *rows, pitch=0.5, block=BLOCK):
    before = field_of(block, pitch_mm=pitch)
    done = cut(before, moves(*rows), tools)
    for k, bundle in enumerate(done.by_bundle.sum(axis=1)):  # what the motions removed is what the metal lost, in every bundle
        lost = before.volume().by_bundle[k] - done.field.volume().by_bundle[k]
        assert bundle == pytest.approx(lost, abs=1e-6)
    return done


def check_volume(done, exact):
    volume = done.removed_volume
    assert abs(volume.value - exact) <= volume.bound
    assert volume.bound < 0.2 * exact
    assert abs(volume.value - exact) < 0.02 * exact


def test_flat_slot():
    radius, length, depth = 5.0, 30.0, 3.0
    done = run(tool(cylinder(radius)), ("line", (15, 20, -depth), (45, 20, -depth)))
    check_volume(done, depth * (2 * radius * length + math.pi * radius**2))


def test_ball_swept_inside():
    radius, length = 5.0, 30.0
    whole = zone(0.0, radius, 0.0, -radius, radius)
    done = run(tool(whole), ("line", (15, 20, -10), (45, 20, -10)))
    check_volume(done, 4 / 3 * math.pi * radius**3 + math.pi * radius**2 * length)


@pytest.mark.parametrize("path_radius", [6.0, 9.0, 3.0])
def test_ring(path_radius):
    radius, depth = 4.0, 5.0
    done = run(tool(cylinder(radius, 0, 30)), ring((30, 20), path_radius, -depth))
    inner = max(0.0, path_radius - radius)
    check_volume(done, depth * math.pi * ((path_radius + radius) ** 2 - inner**2))


def test_drilled_point():
    radius, point, depth = 4.0, 2.4, 10.0
    done = run(tool(cone(0.0, radius, 0.0, point), cylinder(radius, point, 30.0)), ("line", (30, 20, 2), (30, 20, -depth)))
    check_volume(done, math.pi * radius**2 * (depth - point) + math.pi * radius**2 * point / 3)
    assert done.axial[0] == pytest.approx(depth, abs=0.5 * point / radius)


def test_torus_standing():
    """A torus' lower quarter: filled inside radius e."""
    e, rho = 3.0, 2.0
    done = run(tool(zone(e, rho, rho, 0.0, rho)), ("line", (30, 20, -8), (30, 20, -8)), pitch=0.25)
    exact = math.pi * (e**2 * rho + 2 * e * math.pi * rho**2 / 4 + 2 * rho**3 / 3)
    check_volume(done, exact)


@pytest.mark.parametrize("height", [-3.0, 3.0])
def test_ramp_of_a_flat_tool(height):
    """An upright cylinder swept on a slope: sections across the way, added up."""
    radius, length, tall = 3.0, 20.0, 4.0
    start, end = (20, 20, -10 - min(0, height) - 4), (20 + length, 20, -10 - min(0, height) - 4 + height)
    done = run(tool(cylinder(radius, 0.0, tall)), ("line", start, end))
    # the union over the way: own volume, and the silhouette area along the way times the way's length
    slope = math.hypot(length, height)
    silhouette = 2 * radius * tall * length / slope + math.pi * radius**2 * abs(height) / slope
    check_volume(done, math.pi * radius**2 * tall + silhouette * slope)


def test_scallop_height():
    radius, step = 5.0, 0.5
    rows = [("line", (-10, y, -radius), (70, y, -radius)) for y in np.arange(10.0, 30.0, step)]
    done = run(tool(ball(radius), cylinder(radius, radius, 20)), *rows, pitch=0.1)
    points, _ = done.field.points(2)
    tops = points[:, 1][(points[:, 1, 1] > 12) & (points[:, 1, 1] < 28) & (points[:, 1, 0] > 5) & (points[:, 1, 0] < 55)]
    across = (tops[:, 1] - 10.0) % step
    away = np.minimum(across, step - across)
    assert np.abs(tops[:, 2] - (-np.sqrt(radius**2 - away**2))).max() < 1e-9
    assert radius - math.sqrt(radius**2 - step**2 / 4) == pytest.approx(0.006254, abs=1e-6)


def test_thin_wall_stays():
    """Two slots that leave a wall of 0.1 mm between rays 0.5 mm apart."""
    rows = [("line", (-10, y, -8), (70, y, -8)) for y in (14.95, 25.05)]
    done = run(tool(cylinder(5.0)), *rows)
    wall = spacing(
        fit_plane(done.field, BoxRegion((10, 19.9, -7), (50, 20, -1)), facing=(0, -1, 0)),
        fit_plane(done.field, BoxRegion((10, 20, -7), (50, 20.1, -1)), facing=(0, 1, 0)),
    )
    assert wall.distance == pytest.approx(0.1, abs=1e-9)


def test_slot_width_and_depth_at_half_a_millimetre():
    done = run(tool(cylinder(5.0)), ("line", (-10, 20, -3), (70, 20, -3)))
    low = fit_plane(done.field, BoxRegion((5, 14, -2.9), (55, 16, -0.1)), facing=(0, 1, 0))
    high = fit_plane(done.field, BoxRegion((5, 24, -2.9), (55, 26, -0.1)), facing=(0, -1, 0))
    floor = fit_plane(done.field, BoxRegion((5, 16, -4), (55, 24, -2)), facing=(0, 0, 1), tilt=True)
    top = fit_plane(done.field, BoxRegion((5, 30, -1), (55, 39, 1)), facing=(0, 0, 1))
    width, depth = spacing(low, high), spacing(floor, top)
    assert abs(width.distance - 10.0) <= width.bound < 1e-6
    assert abs(depth.distance - 3.0) <= depth.bound < 1e-6
    assert floor.form < 1e-9
    assert floor.motions == (0,)
    assert top.motions == (BLANK,)


def test_bore_and_boss():
    bore = run(tool(cylinder(4.0)), ring((30.0, 20.0), 6.0, -8.0)).field
    hole = fit_round(bore, BandRegion((30, 20), 9, 11, -7.9, -0.1), hole=True)
    boss = fit_round(bore, BandRegion((30, 20), 1, 3, -7.9, -0.1), hole=False)
    for fit, diameter in ((hole, 20.0), (boss, 4.0)):
        assert abs(fit.diameter - diameter) <= fit.bound < 1e-6
        assert np.abs(np.array(fit.centre) - (30, 20)).max() <= fit.bound_centre
        assert fit.form < 1e-9
        assert fit.arc_deg > 330


def test_bore_by_helix_is_within_the_chords():
    start, end = (36.0, 20.0, 1.0), (36.0, 20.0, -8.0)
    helix = ("arc", start, end, (30.0, 20.0, 1.0), 2, 6 * WHOLE)
    done = run(tool(cylinder(4.0)), helix)
    fit = fit_round(done.field, BandRegion((30, 20), 9, 11, -6, -0.1), hole=True)
    assert 0 < done.field.slack <= 0.0005
    assert fit.bound < 0.01
    assert 20.0 - fit.bound <= fit.diameter <= 20.0 + 1e-9  # chords run inside the arc


def test_oblique_plane():
    """A level cut at 30 degrees leaves a wall whose tilt and place are exact."""
    turn = math.radians(30)
    way = np.array([math.cos(turn), math.sin(turn), 0.0])
    start = np.array([30.0, 20.0, -5.0]) - 60 * way
    done = run(tool(cylinder(5.0)), ("line", start, start + 120 * way))
    normal = np.array([-math.sin(turn), math.cos(turn), 0.0])
    middle = np.array([30.0, 20.0, -2.5]) - 5 * normal
    wall = fit_plane(done.field, BoxRegion(middle - 4, middle + 4), facing=normal, tilt=True)
    assert wall.offset == pytest.approx(float(normal @ middle), abs=1e-9)
    assert np.abs(np.array(wall.normal) - normal).max() < 1e-9


SOLIDS = {
    "box": (BLOCK, 60 * 40 * 20.0),
    "cylinder": (CylinderShape((10.0, 5.0), 15.0, -10.0, 12.0), math.pi * 225 * 22),
}


@pytest.mark.parametrize("kind", SOLIDS)
@pytest.mark.parametrize("pitch", [1.0, 0.5, 0.25])
def test_blank_volume(kind, pitch):
    solid, exact = SOLIDS[kind]
    volume = field_of(solid, pitch_mm=pitch).volume()
    assert abs(volume.value - exact) <= max(volume.bound, 1e-6)
    if kind == "box":
        assert volume.by_bundle == pytest.approx((exact,) * 3, rel=1e-12)


def placed(dx, dy, dz):
    """Jobs whose removed volume is known, moved by (dx, dy, -dz), each 0 to 1 mm: tool, motions, mm³."""
    x, y, z, half = 30 + dx, 20 + dy, -dz, math.pi / 2
    ball_, torus, cut_ = zone(0.0, 5.0, 0.0, -5.0, 5.0), zone(3.0, 2.0, 2.0, 0.0, 2.0), 4 + dz
    torus_volume = math.pi * (9 * 2 + 6 * half * 2 + 16 / 3)
    turned = {f"slot at {a} degrees": (math.cos(math.radians(a)), math.sin(math.radians(a))) for a in (0, 7, 30, 45)}
    return {
        **{name: (cylinder(4.0), [("line", (x - 12 * c, y - 12 * s, z - 3), (x + 12 * c, y + 12 * s, z - 3))],
                  (3 + dz) * (8 * 24 + math.pi * 16)) for name, (c, s) in turned.items()},
        "shallow": (cylinder(5.0), [("line", (-9, dy, -0.15 - dz / 8), (69, dy, -0.15 - dz / 8))], 60 * (5 + dy) * (0.15 + dz / 8)),
        "rebate": (cylinder(5.0), [("line", (-9, dy, z - 3), (69, dy, z - 3))], 60 * (5 + dy) * (3 + dz)),
        "thin disc": (cylinder(5.0, 0.0, 0.6), [("line", (x - 15, y, z - 9), (x + 15, y, z - 9))], 0.6 * (300 + math.pi * 25)),
        "tee": (cylinder(5.0, 0.0, 3.3), [("line", (-9, y, z - 12), (69, y, z - 12))], 60 * 10 * 3.3),
        "ball": (ball_, [("line", (x - 9, y - 12, z - 10), (x + 9, y + 12, z - 10))], 4 / 3 * math.pi * 125 + math.pi * 25 * 30),
        "sphere": (ball_, [("line", (x, y, z - 10), (x, y, z - 10))], 4 / 3 * math.pi * 125),
        "torus": (torus, [("line", (x - 10, y, z - 8), (x + 10, y, z - 8))], torus_volume + 20 * (12 + 4 * half)),
        "ring": (cylinder(4.0), [ring((x, y), 9.0, z - 5)], (5 + dz) * math.pi * (13**2 - 5**2)),
        "hole": (cylinder(1.5), [("line", (x, y, 2), (x, y, z - 9))], (9 + dz) * math.pi * 2.25),
        "vee": (cone(0.0, 6.0, 0.0, 6.0), [("line", (x - 10, y, -cut_), (x + 10, y, -cut_))], cut_**2 * 20 + math.pi * cut_**3 / 3),
        "vee across": (cone(0.0, 3.0, 0.0, 6.0), [("line", (x, -9, -cut_), (x, 49, -cut_))], cut_**2 / 2 * 40),
        "ramp": (cylinder(3.0, 0.0, 4.0), [("line", (x - 10, y, z - 14), (x + 10, y, z - 11))],
                 math.pi * 9 * 4 + 6 * 4 * 20 + math.pi * 9 * 3),
    }  # fmt: skip


@pytest.mark.parametrize("pitch", [2.0, 1.0, 0.5, 0.25, 0.1])
def test_bound_is_never_below_the_error_and_near_the_worst_one(pitch):
    """Where a part lies in the lattice decides how large its error is, from nothing to the worst."""
    rng, found = np.random.default_rng(6), {}
    places = [np.zeros(3), *rng.uniform(0, 1, (3 if pitch == 0.1 else 9, 3))]
    for number, place in enumerate(places):
        near = pitch * (1 - 0.02 * number)
        block = field_of(BLOCK, pitch_mm=near)
        for name, (piece, rows, exact) in placed(*np.round(place, 1 + number % 3)).items():
            volume = cut(block, moves(*rows), tool(piece)).removed_volume
            found.setdefault(name, []).append((abs(volume.value - exact), volume.bound))
            assert found[name][-1][0] <= volume.bound, (name, near, place, volume, exact)
    for name, pairs in found.items():
        worst, bound = max(error for error, _ in pairs), max(bound for _, bound in pairs)
        assert bound <= 10 * worst, (name, worst, bound)


@pytest.mark.parametrize("aside", [0.0, 1e-7, -1e-7])
def test_bound_holds_where_walls_and_floor_run_along_rays(aside):
    block = field_of(BLOCK, pitch_mm=1.0)
    x, y, z = (float(block.grid.places(axis)[k]) + aside for axis, k in enumerate((31, 23, 13)))
    done = cut(block, moves(("line", (x - 80, y - 5, z), (x - 5, y - 5, z)), ("line", (x - 5, y - 5, z), (x - 5, y - 90, z))),
               tool(cylinder(5.0)))  # fmt: skip
    volume = done.removed_volume
    exact = -z * (10 * y - (1 - math.pi / 4) * 25 + 10 * (x - 10))
    assert abs(volume.value - exact) <= volume.bound


def test_bound_shrinks_with_the_pitch():
    bounds = [field_of(SOLIDS["cylinder"][0], pitch_mm=pitch).volume().bound for pitch in (1.0, 0.5, 0.25)]
    assert bounds[1] < 0.6 * bounds[0]
    assert bounds[2] < 0.6 * bounds[1]


def test_union_counts_overlap_once():
    a, b = BoxShape((0, 0, 0), (10, 10, 10)), BoxShape((5, 0, 0), (20, 10, 10))
    assert field_of([a, b], pitch_mm=0.7).volume().value == pytest.approx(2000.0, rel=1e-12)


def test_mesh_blank_is_the_box_it_draws():
    trimesh = pytest.importorskip("trimesh")
    box = trimesh.creation.box(extents=(10, 8, 6)).triangles
    field = field_of(MeshShape(np.asarray(box, float)), pitch_mm=0.5)
    assert field.volume().by_bundle == pytest.approx((480.0,) * 3, rel=1e-12)
    sphere = trimesh.creation.icosphere(subdivisions=3, radius=5)
    volume = field_of(MeshShape(np.asarray(sphere.triangles, float)), pitch_mm=0.1).volume()
    assert abs(volume.value - sphere.volume) <= volume.bound
    assert volume.value == pytest.approx(sphere.volume, rel=1e-4)


def test_the_bound_is_the_distance_of_both_accounts_and_all_that_may_be_wrong_in_the_better_one():
    """Three bundles by hand: 9, 12 and 15 mm³ along rays, all points alike but for a cell of 1 mm³, 0.5 mm³ of doubt."""
    accounts = [Account(metal=metal, points=points, beyond=beyond, folds=folds, area=10.0, faces=0.0)
                for metal, points, beyond, folds in [(9.0, 10.0, 0.25, 0.5), (12.0, 10.0, 0.25, 0.0),
                                                     (15.0, 11.0, 0.5, 0.0)]]  # fmt: skip
    found = Volume.from_accounts(accounts, slack=0.01)
    better = (10.0 + 10.0 + 11.0) / 3 + 1.0
    assert found.value == pytest.approx(12.0)
    assert found.bound == pytest.approx(abs(12.0 - better) + 1.0 + 0.5 + 0.01 * 30.0)
