"""What must not change the answer: turning and mirroring the job, splitting motions, threads, checkpoints."""

import dataclasses
import itertools

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape
from setwright.removal.cut import cut
from setwright.removal.field import ACROSS, BLANK, field_of
from setwright.removal.kept import cut_kept
from setwright.removal.measure import fit_plane
from setwright.removal.normals import pack_all, unpack
from setwright.removal.regions import BoxRegion
from setwright.removal.surface import surface_of
from setwright.removal.turn import turned
from tests.removal.common import ball, cylinder, moves, tool, zone

BLOCK = BoxShape((-20.0, -20.0, -12.0), (20.0, 20.0, 0.0))
BALL = tool(ball(4.0), cylinder(4.0, 4.0, 30.0))
BULL = tool(zone(3.0, 1.0, 1.0, 0.0, 1.0), cylinder(4.0, 1.0, 30.0))
FLAT = tool(cylinder(4.0, 0.0, 30.0))
QUARTER = np.array([[0, -1, 0], [1, 0, 0], [0, 0, 1.0]])


def program(rng, n=40):
    places = rng.uniform(-18, 18, (n + 1, 3))
    places[:, 2] = rng.uniform(-8, -1, n + 1)
    return moves(*[("line", a, b) for a, b in itertools.pairwise(places)])


def state(field):
    return b"".join(
        part.tobytes()
        for bundle in field.bundles
        for rays in [bundle.rays()]
        for part in (rays.ray, rays.ends, rays.ident, rays.normal)
    )


def nearest(a, b):
    """For two lists of ray ends that should be alike: the greatest difference; they must be equally many."""
    assert a.ray.tolist() == b.ray.tolist()
    return float(np.abs(a.ends - b.ends).max())


@pytest.mark.parametrize("pieces", [BALL, BULL, FLAT], ids=["ball", "bull", "flat"])
def test_turning_job_and_turning_result_agree(pieces):
    rng = np.random.default_rng(5)
    run = program(rng)
    turned_run = dataclasses.replace(run, start=run.start @ QUARTER.T, end=run.end @ QUARTER.T)
    first = field_of(BLOCK, pitch_mm=0.8)
    plain = turned(cut(first, run, pieces).field, QUARTER)
    other = cut(turned(first, QUARTER), turned_run, pieces).field
    for axis in range(3):
        assert nearest(plain.bundles[axis].rays(), other.bundles[axis].rays()) < 1e-9
        same = plain.bundles[axis].rays().ident == other.bundles[axis].rays().ident
        assert same.mean() > 0.999  # ends that two motions make alike may go to either


def test_four_quarter_turns_are_none():
    field = cut(field_of(BLOCK, pitch_mm=1.0), program(np.random.default_rng(1), 10), BALL).field
    for turn in (QUARTER, QUARTER[[1, 2, 0]][:, [1, 2, 0]], QUARTER[[2, 0, 1]][:, [2, 0, 1]]):
        back = field
        for _ in range(4):
            back = turned(back, turn)
        for axis in range(3):
            a, b = field.bundles[axis].rays(), back.bundles[axis].rays()
            assert np.array_equal(a.ends, b.ends)
            assert np.array_equal(a.ident, b.ident)
            assert np.abs(unpack(a.normal) - unpack(b.normal)).max() < 5e-4


def test_second_setup_from_below():
    """A slot in the top; the part turned over about X; a slot in what was the bottom; the web between them is measured."""
    over = np.array([[1, 0, 0], [0, -1, 0], [0, 0, -1.0]])
    first = cut(field_of(BLOCK, pitch_mm=0.5), moves(("line", (-30, 0, -3), (30, 0, -3))), FLAT).field
    second = turned(first, over, shift=(0, 0, -12))
    assert second.volume().by_bundle == pytest.approx(first.volume().by_bundle, rel=1e-12)
    done = cut(second, dataclasses.replace(moves(("line", (0, -30, -2), (0, 30, -2))), ident=np.array([7], np.int32)), FLAT).field
    floor = fit_plane(done, BoxRegion((-3, 10, -4), (3, 15, -1)), facing=(0, 0, 1))
    old = fit_plane(done, BoxRegion((10, -3, -11), (15, 3, -6)), facing=(0, 0, -1))
    assert (floor.motions, old.motions) == ((7,), (0,))
    assert floor.offset == pytest.approx(-2, abs=1e-12)
    assert old.offset == pytest.approx(9, abs=1e-9)  # along its own normal, downward


@pytest.mark.parametrize("pieces", [BALL, BULL, FLAT], ids=["ball", "bull", "flat"])
@pytest.mark.parametrize("axis", [0, 1])
def test_mirrored_job(pieces, axis):
    """The block is its own mirror image; so are the rays, once those of the other run are put where the mirror shows them."""
    run = program(np.random.default_rng(6))
    flip = np.ones(3)
    flip[axis] = -1.0
    first = field_of(BLOCK, pitch_mm=0.8)
    seen = first.grid.first.copy()
    seen[axis] = -(first.grid.first[axis] + first.grid.pitch[axis] * (first.grid.count[axis] - 1))
    image = dataclasses.replace(first, grid=dataclasses.replace(first.grid, first=seen))
    plain = cut(first, run, pieces)
    other = cut(image, dataclasses.replace(run, start=run.start * flip, end=run.end * flip), pieces)
    for one, two in zip(plain.field.bundles, other.field.bundles, strict=True):
        a, b = one.rays(), two.rays()
        if one.axis == axis:
            order = np.lexsort((-b.ends[:, 1], b.ray))
            ray, ends = b.ray[order], -b.ends[order][:, ::-1]
        else:
            u, v = b.ray % two.nu, b.ray // two.nu
            along_u = ACROSS[one.axis][0] == axis
            ray = v * two.nu + (two.nu - 1 - u) if along_u else (two.nv - 1 - v) * two.nu + u
            order = np.lexsort((b.ends[:, 0], ray))
            ray, ends = ray[order], b.ends[order]
        assert a.ray.tolist() == ray.tolist()
        assert np.abs(a.ends - ends).max() < 1e-9
    assert plain.removed_volume.by_bundle == pytest.approx(other.removed_volume.by_bundle, rel=1e-12)


@pytest.mark.parametrize("pieces", [BALL, BULL, FLAT], ids=["ball", "bull", "flat"])
def test_shuffled_tiles(pieces, monkeypatch):
    """Tiles taken in any order: a tile knows nothing of its neighbours."""
    rng = np.random.default_rng(11)
    run, first = program(rng), field_of(BLOCK, pitch_mm=0.4)
    plain = cut(first, run, pieces)
    taken = []

    def shuffled(work, parts):
        order = rng.permutation(len(parts))
        done = {int(k): work(parts[int(k)]) for k in order}
        taken.append(order.tolist())
        return [done[k] for k in range(len(parts))]

    monkeypatch.setattr("setwright.removal.runs.map_parts", shuffled)
    other = cut(first, run, pieces)
    assert any(order != sorted(order) for order in taken)
    assert state(plain.field) == state(other.field)
    assert plain.axial.tolist() == other.axial.tolist()
    assert plain.by_bundle.tolist() == other.by_bundle.tolist()


@pytest.mark.parametrize("pieces", [BALL, BULL, FLAT], ids=["ball", "bull", "flat"])
def test_motions_in_two_halves(pieces):
    run = program(np.random.default_rng(7))
    middle = 0.5 * (run.start + run.end)
    rows = [row for a, m, b in zip(run.start, middle, run.end, strict=True) for row in (("line", a, m), ("line", m, b))]
    whole = cut(field_of(BLOCK, pitch_mm=0.8), run, pieces).field
    halves = cut(field_of(BLOCK, pitch_mm=0.8), moves(*rows), pieces).field
    for axis in range(3):
        assert nearest(whole.bundles[axis].rays(), halves.bundles[axis].rays()) < 1e-8


def test_same_bytes_for_any_number_of_threads(monkeypatch):
    run = program(np.random.default_rng(8), 120)
    results = []
    for threads in ("1", "2", "5"):
        monkeypatch.setenv("SETWRIGHT_THREADS", threads)
        done = cut(field_of(BLOCK, pitch_mm=0.3), run, BULL)
        results.append((state(done.field), done.removed.tobytes(), done.axial.tobytes()))
    assert results[0] == results[1] == results[2]


def test_any_moment_is_the_state_the_run_went_through():
    run = program(np.random.default_rng(9), 30)
    whole = cut(field_of(BLOCK, pitch_mm=0.8), run, BALL)
    same, kept = cut_kept(field_of(BLOCK, pitch_mm=0.8), run, BALL, checkpoints=4)
    assert state(same.field) == state(whole.field)
    assert same.by_bundle.tobytes() == whole.by_bundle.tobytes()
    for count in (0, 1, 13, 29, 30, 99):
        assert state(kept.after(count)) == state(cut(field_of(BLOCK, pitch_mm=0.8), run[:count], BALL).field)


def test_progress_reaches_the_end():
    told = []
    run = program(np.random.default_rng(2), 9)
    cut(field_of(BLOCK, pitch_mm=1.0), run, BALL, progress=lambda done, of: told.append((done, of)))
    assert told[-1] == (9, 9)


def test_packed_directions():
    rng = np.random.default_rng(3)
    directions = rng.normal(size=(20000, 3))
    directions = np.vstack([directions / np.linalg.norm(directions, axis=1, keepdims=True), np.eye(3), -np.eye(3)])
    assert np.linalg.norm(unpack(pack_all(directions)) - directions, axis=1).max() < 1e-4
    assert np.array_equal(unpack(pack_all(directions[-6:])), directions[-6:])


def test_surface_is_closed_sharp_and_knows_its_motions():
    run = moves(("line", (-30, 0, -3), (30, 0, -3)), ("line", (10, -30, -5), (10, 30, -5)))
    done = cut(field_of(BLOCK, pitch_mm=0.7), run, FLAT)
    surface = surface_of(done.field)
    edges = np.sort(surface.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, uses = np.unique(edges, axis=0, return_counts=True)
    assert (uses % 2 == 0).all()
    a, b, c = (surface.corners[surface.triangles[:, k]] for k in range(3))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6
    exact = 40 * 40 * 12 - (8 * 40 * 3 + 8 * 40 * 5 - 8 * 8 * 3)
    assert volume == pytest.approx(exact, rel=1e-3)  # flat faces and sharp edges: no cell is rounded off
    assert surface.motion_at((-10, 0, -3)) == 0
    assert surface.motion_at((10, 10, -5)) == 1
    assert surface.motion_at((-10, 10, 0)) == BLANK


def test_against_solid_booleans():
    manifold3d = pytest.importorskip("manifold3d")
    run = program(np.random.default_rng(11), 25)
    block = manifold3d.Manifold.cube([40, 40, 12]).translate([-20, -20, -12])
    segments = 96
    for a, b in zip(run.start, run.end, strict=True):
        ends = [manifold3d.Manifold.cylinder(30, 4, 4, segments).translate(list(p)) for p in (a, b)]
        block -= manifold3d.Manifold.batch_hull(ends)
    done = cut(field_of(BLOCK, pitch_mm=0.2), run, FLAT)
    volume = done.field.volume()
    inscribed = 4 * (1 - np.cos(np.pi / segments))  # how far the booleans' faceted tool stays inside ours, mm
    exact = block.volume()
    assert abs(volume.value - exact) <= volume.bound + inscribed * block.surface_area()
    assert abs(volume.value - exact) < 0.005 * exact
