"""Speed of removal: motions over a wavy surface, three bundles with motion numbers and normals; prints ratios.

    python benchmarks/removal/bench_removal.py [finishing|solid|contact|slope|all] [MOTIONS]

`finishing`: a ball of 10 mm over a block of 100 x 100 x 40 mm, rays 0.2 mm apart, against the plainest height map (one number a
cell, vertical rays only) run here on the same motions. `solid`: flat-tool motions against solid booleans (hull and difference a
motion, all of them), and whether both remove the same: ours within the bound of its rays, theirs within that of its prism of 64
sides, which stays inside the round cutter by up to 0.006 mm; ends with status 1 if not. `contact`: the same motions tried against
metal that stands still, against removing. `slope`: how time grows from n to 100 n motions, and from rays 1 mm apart to 0.1 mm; ends
with status 1 where that is steeper than allowed. Times are processor seconds of this process, so that a busy machine does not show.
"""

from __future__ import annotations

import json
import math
import resource
import sys
import time

import numba
import numpy as np

from setwright.geometry.bodies import BoxShape
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import Meridian, Piece, PieceTable
from setwright.removal.contact import touch
from setwright.removal.cut import cut
from setwright.removal.field import field_of

SIZE, PITCH, RADIUS = 100.0, 0.2, 5.0
SIDES = 64  # of the prism that stands for the cutter among solids
MOST_BY_MOTIONS, MOST_BY_RAYS = 1.1, 2.1  # exponents of the time
BLOCK = BoxShape((0.0, 0.0, -40.0), (SIZE, SIZE, 0.0))
SHANK = Piece(Meridian.LINE, RADIUS, 40, RADIUS, RADIUS)
BALL = PieceTable.of([[Piece(Meridian.ARC, 0, RADIUS, 0, RADIUS, 0, RADIUS, RADIUS), SHANK]])
FLAT = PieceTable.of([[Piece(Meridian.LINE, 0, 40, RADIUS, RADIUS)]])


def wavy(n):
    """About n short finishing motions in zigzag rows over a wavy surface, 3 to 7 mm deep."""
    rows = round(math.sqrt(n / 2))
    xs = np.linspace(0, SIZE, n // rows + 1)
    points = []
    for row in range(rows):
        y = SIZE * row / rows
        x = xs if row % 2 == 0 else xs[::-1]
        points.append(np.column_stack([x, np.full_like(x, y), -5 + 2 * np.sin(x / 13) * np.cos(y / 17)]))
    place = np.vstack(points)
    return lines(place[:-1], place[1:])


def lines(start, end):
    n = len(start)
    none = np.zeros(n)
    start, end = np.ascontiguousarray(start), np.ascontiguousarray(end)
    return Moves(np.ones(n, np.uint8), start, end, np.zeros((n, 3)), none.astype(np.uint8), none, none.astype(np.int32),
                 np.ones(n, bool), np.arange(n, dtype=np.int32))  # fmt: skip


@numba.njit(fastmath=True, cache=False)
def height_map(height, start, end, radius, ball):
    """Lower one number a cell by every motion; the whole computation of the plainest simulation."""
    n, pitch = height.shape[0], PITCH
    for m in range(start.shape[0]):
        x0, y0, z0 = start[m]
        dx, dy, dz = end[m] - start[m]
        square = dx * dx + dy * dy
        inverse = 1.0 / square if square > 0 else 0.0
        for j in range(max(0, int((min(y0, y0 + dy) - radius) / pitch)), min(n, int((max(y0, y0 + dy) + radius) / pitch) + 1)):
            b = (j + 0.5) * pitch - y0
            near = max(0.0, max(min(0.0, dy) - b, b - max(0.0, dy)))
            half = math.sqrt(max(0.0, radius * radius - near * near))
            for i in range(max(0, int((min(x0, x0 + dx) - half) / pitch)), min(n, int((max(x0, x0 + dx) + half) / pitch) + 1)):
                a = (i + 0.5) * pitch - x0
                t = min(1.0, max(0.0, (a * dx + b * dy) * inverse))
                away = (a - t * dx) ** 2 + (b - t * dy) ** 2
                if away < radius * radius:
                    z = z0 + t * dz + (radius - math.sqrt(radius * radius - away) if ball else 0.0)
                    height[j, i] = min(height[j, i], z)


def spent(work):
    """Processor seconds of `work()`, and what it returned."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def report(**numbers):
    print(json.dumps({key: round(value, 4) if isinstance(value, float) else value for key, value in numbers.items()}), flush=True)


def finishing(n):
    field, motions = field_of(BLOCK, pitch_mm=PITCH), wavy(n)
    cut(field, motions[:10], BALL)
    ours, done = spent(lambda: cut(field, motions, BALL))
    cells = round(SIZE / PITCH)
    height_map(np.zeros((cells, cells), np.float32), motions.start[:10], motions.end[:10], RADIUS, True)
    height = np.zeros((cells, cells), np.float32)
    plain, _ = spent(lambda: height_map(height, motions.start, motions.end, RADIUS, True))
    report(what="finishing", motions=len(motions), seconds=ours, height_map_seconds=plain, ratio=ours / plain,
           removed_mm3=done.removed_volume.value, height_map_mm3=float(-height.sum() * PITCH**2),
           peak_gb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6)  # fmt: skip


def solid(n):
    import manifold3d

    field, motions = field_of(BLOCK, pitch_mm=PITCH), wavy(n)

    def sweeps(some):
        return cut(field, some, FLAT).removed_volume

    sweeps(motions[:10])
    ours, removed = spent(lambda: sweeps(motions))
    block = manifold3d.Manifold.cube([SIZE, SIZE, 40.0]).translate([0, 0, -40])
    mill = manifold3d.Manifold.cylinder(50.0, RADIUS, RADIUS, SIDES)

    def booleans():
        metal = block
        for a, b in zip(motions.start, motions.end, strict=True):
            metal = metal - manifold3d.Manifold.batch_hull([mill.translate(list(a)), mill.translate(list(b))])
        return metal, block.volume() - metal.volume()

    theirs, (metal, volume) = spent(booleans)
    bound = RADIUS * (1 - math.cos(math.pi / SIDES)) * seen_aside(block - metal)
    apart = abs(removed.value - volume)
    each = 1e6 / len(motions)
    report(what="solid", motions=len(motions), ours_us_a_motion=ours * each, booleans_us_a_motion=theirs * each,
           times_faster=theirs / ours, removed_mm3=removed.value, bound_mm3=removed.bound, booleans_mm3=volume,
           booleans_bound_mm3=bound, apart_mm3=apart)  # fmt: skip
    if apart > removed.bound + bound:
        raise SystemExit("the volumes differ by more than both bounds allow")


def seen_aside(body):
    """Area of a solid's surface as seen across Z, mm²: what its outline at every height adds up to."""
    mesh = body.to_mesh()
    a, b, c = (mesh.vert_properties[:, :3].astype(float)[mesh.tri_verts[:, k]] for k in range(3))
    return float(np.hypot(*np.cross(b - a, c - a)[:, :2].T).sum() / 2)


def contact(n):
    field, motions = field_of(BLOCK, pitch_mm=PITCH), wavy(n)
    jaw = field_of(BoxShape((-20.0, -20.0, -40.0), (120.0, -3.0, -1.0)), pitch_mm=PITCH)
    cut(field, motions[:10], BALL)
    touch(jaw, motions[:10], BALL)
    removing, _ = spent(lambda: cut(field, motions, BALL))
    trying, found = spent(lambda: touch(jaw, motions, BALL))
    report(what="contact", motions=len(motions), removing=removing, trying=trying, times_faster=removing / trying,
           contacts=len(found))  # fmt: skip


def slope(n):
    field = field_of(BLOCK, pitch_mm=PITCH)
    cut(field, wavy(100), BALL)
    counts, times = [], []
    for k in (n, 10 * n, 100 * n):
        motions = wavy(k)
        seconds, _ = spent(lambda motions=motions: cut(field, motions, BALL))
        counts.append(len(motions))
        times.append(seconds)
        report(what="slope", motions=len(motions), us_a_motion=seconds / len(motions) * 1e6)
    by_motions = math.log(times[-1] / times[0]) / math.log(counts[-1] / counts[0])
    motions, times = wavy(10 * n), []
    for pitch in (1.0, 0.3, 0.1):
        fine = field_of(BLOCK, pitch_mm=pitch)
        seconds, _ = spent(lambda fine=fine: cut(fine, motions, BALL))
        times.append(seconds)
        report(what="slope", pitch_mm=pitch, seconds=seconds)
    by_rays = math.log10(times[-1] / times[0])
    report(what="slope", exponent_of_motions=by_motions, exponent_of_rays_a_mm=by_rays)
    if by_motions > MOST_BY_MOTIONS or by_rays > MOST_BY_RAYS:
        raise SystemExit(f"time grows too steeply: at most {MOST_BY_MOTIONS} and {MOST_BY_RAYS} are allowed")


if __name__ == "__main__":
    wanted = sys.argv[1] if len(sys.argv) > 1 else "all"
    usual = {finishing: 100_000, solid: 4_000, contact: 50_000, slope: 2_000}
    for one, motions in usual.items():
        if wanted in (one.__name__, "all"):
            one(int(sys.argv[2]) if len(sys.argv) > 2 else motions)
