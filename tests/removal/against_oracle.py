"""Random motions of every piece beside the slow oracle, as many as wanted.

    python -m tests.removal.against_oracle --moves 3000

prints one line a piece: how many rays were compared, and the most that was left of what a tried place of the tip takes away
(`short`) and taken beyond all tried places (`long`), in mm. Ends with status 1 if either is more than it may be.
"""

import argparse
import sys
import time
from dataclasses import dataclass

import numpy as np

from setwright.base.tolerance import CHORD_SAGITTA_MM, COORDINATE_ROUND_OFF_MM
from setwright.geometry.bodies import BoxShape
from setwright.removal.cut import cut
from setwright.removal.field import ACROSS, field_of
from setwright.removal.ready import ends_in
from setwright.removal.regions import BoxRegion
from tests.oracle import sweep as oracle
from tests.removal.common import ball, cone, cylinder, moves, plain, tool, zone

BLANK = BoxShape((-12.0, -12.0, -12.0), (12.0, 12.0, 12.0))
WHOLE_RAY = (-12.0, 12.0)
ORACLE_ERROR = 1e-7
"""Six rounds of 161 places each: the last are 1e-10 of the motion apart."""
UNSEEN = 3e-3
"""A stretch up to this, mm, can hide between two places the oracle tries: it is as long as the root of what a round leaves."""

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


@dataclass
class Seen:
    """Rays compared, and the worst of all of them, mm."""

    rays: int = 0
    short: float = 0.0
    long: float = 0.0

    def add(self, short, long, *, rays=1):
        self.rays += rays
        self.short, self.long = max(self.short, short), max(self.long, long)

    @property
    def holds(self):
        return self.short <= COORDINATE_ROUND_OFF_MM and self.long <= ORACLE_ERROR


def oracle_span(piece, path, axis, u, v):
    """The stretch of one ray that the oracle finds swept; None if none is."""
    if axis == 2:
        return oracle.span_z(piece, path, u, v)
    if axis == 0:
        return oracle.span_x(piece, path, u, v)
    return oracle.span_x(piece, lambda t: path(t)[:, [1, 0, 2]], u, v)


def gaps_of(field, axis):
    """What is missing of each ray of a bundle: float64 (rays, 2), nan where nothing is. A straight sweep of a convex piece leaves
    one gap a ray."""
    bundle, rays = field.bundles[axis], field.bundles[axis].rays()
    count = bundle.nu * bundle.nv
    held = np.bincount(rays.ray, minlength=count)
    gaps = np.full((count, 2), np.nan)
    gaps[held == 0] = WHOLE_RAY
    first = np.searchsorted(rays.ray, np.arange(count))
    one = np.flatnonzero(held == 1)
    low, high = rays.ends[first[one]].T
    assert ((low == WHOLE_RAY[0]) | (high == WHOLE_RAY[1])).all(), "one gap a ray"
    cut_low, cut_high = low > WHOLE_RAY[0], high < WHOLE_RAY[1]
    gaps[one[cut_low]] = np.column_stack([np.full(cut_low.sum(), WHOLE_RAY[0]), low[cut_low]])
    gaps[one[cut_high]] = np.column_stack([high[cut_high], np.full(cut_high.sum(), WHOLE_RAY[1])])
    two = np.flatnonzero(held == 2)
    ends = rays.ends
    assert (ends[first[two], 0] == WHOLE_RAY[0]).all(), "one gap a ray"
    assert (ends[first[two] + 1, 1] == WHOLE_RAY[1]).all(), "one gap a ray"
    gaps[two] = np.column_stack([ends[first[two], 1], ends[first[two] + 1, 0]])
    assert (held <= 2).all(), "one gap a ray"
    return gaps


def straight(piece, start, end, before, *, rays, rng, seen):
    """Cut one line and compare up to `rays` rays of each bundle near the sweep; the others must be whole. Returns the rays that met
    the sweep."""
    after = cut(before, moves(("line", start, end)), tool(piece)).field
    path = oracle.line(start, end)
    tips = np.array([start, end])
    wide = np.array([piece.widest, piece.widest, 0.0])
    low, high = tips.min(axis=0) - wide + np.array([0, 0, piece.z0]), tips.max(axis=0) + wide + np.array([0, 0, piece.z1])
    touched = 0
    for axis in range(3):
        u, v = ACROSS[axis]
        bundle, grid = after.bundles[axis], after.grid
        gaps = gaps_of(after, axis)
        number = np.arange(len(gaps))
        place_u = grid.first[u] + grid.pitch[u] * (number % bundle.nu)
        place_v = grid.first[v] + grid.pitch[v] * (number // bundle.nu)
        near = (low[u] < place_u) & (place_u < high[u]) & (low[v] < place_v) & (place_v < high[v])
        assert np.isnan(gaps[~near]).all(), "metal is taken beside the sweep"
        for k in rng.permutation(np.flatnonzero(near))[:rays].tolist():
            want = oracle_span(plain(piece), path, axis, float(place_u[k]), float(place_v[k]))
            touched += compare(gaps[k], want, seen)
    return touched


def compare(got, want, seen):
    """Take one ray into account: the gap found and the oracle's. Returns whether the oracle finds it swept."""
    missing = bool(np.isnan(got[0]))
    if want is not None:
        want = max(want[0], WHOLE_RAY[0]), min(want[1], WHOLE_RAY[1])
    if want is None or want[1] - want[0] <= ORACLE_ERROR:
        length = 0.0 if missing else float(got[1] - got[0])
        seen.add(0.0, 0.0 if length <= UNSEEN else length)
        return False
    if missing:
        seen.add(want[1] - want[0], 0.0)
    else:
        seen.add(max(got[0] - want[0], want[1] - got[1]), max(want[0] - got[0], got[1] - want[1]))
    return True


def turning(piece, axis, sweep, rise, before, *, points, rng):
    """Cut one arc or helix: a little into the metal, along each end's own normal, nothing was swept; a little out of it everything
    was. Returns the ray ends tried and how many of them fail."""
    radius, turn = rng.uniform(1, 6), rng.uniform(0, 6)
    centre = rng.uniform(-2, 2, 3)
    start = centre.copy()
    u, v = (axis + 1) % 3, (axis + 2) % 3
    start[u] += radius * np.cos(turn)
    start[v] += radius * np.sin(turn)
    path = oracle.arc(start, centre, axis, sweep, rise)
    end = start if abs(sweep) >= 2 * np.pi and not rise else path(np.array([1.0]))[0]
    after = cut(before, moves(("arc", start, end, centre, axis, sweep)), tool(piece)).field
    exact = axis == 2 and rise == 0
    assert after.slack == 0.0 if exact else 0.0 < after.slack <= CHORD_SAGITTA_MM * 1.0001
    step = 1e-6 if exact else 2 * CHORD_SAGITTA_MM
    ends = ends_in(after, BoxRegion((-11.9, -11.9, -11.9), (11.9, 11.9, 11.9)))
    tried = rng.permutation(ends.axis.size)[:points].tolist()
    wrong = 0
    for k in tried:
        point, normal = ends.points[k], ends.normals[k]
        wrong += oracle.outside(plain(piece), path, point - step * normal) <= 0
        wrong += oracle.outside(plain(piece), path, point + step * normal) > 0
    return len(tried), wrong


def blank():
    """The block that is cut, rays a little over a millimetre apart."""
    return field_of(BLANK, pitch_mm=1.1)


def many(kind, count, *, rays, seed):
    """`count` straight motions of one piece, of all kinds of way in turn."""
    rng = np.random.default_rng([sorted(PIECES).index(kind), seed])
    seen, before, ways = Seen(), blank(), list(WAYS)
    for number in range(count):
        piece = PIECES[kind](rng)
        start = rng.uniform(-5, 3, 3)
        straight(piece, start, start + WAYS[ways[number % len(ways)]](rng), before, rays=rays, rng=rng, seen=seen)
    return seen


def many_arcs(kind, count, *, points, seed):
    """`count` arcs and helices of one piece in the three planes."""
    rng = np.random.default_rng([sorted(PIECES).index(kind), 7, seed])
    before, tried, wrong = blank(), 0, 0
    for number in range(count):
        sweep = float(rng.choice([-1.0, 1.0]) * rng.uniform(0.3, 2 * np.pi))
        rise = 0.0 if number % 2 else float(rng.uniform(-3, 3))
        found, bad = turning(PIECES[kind](rng), number % 3, sweep, rise, before, points=points, rng=rng)
        tried, wrong = tried + found, wrong + bad
    return tried, wrong


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--moves", type=int, default=3000, help="straight motions of each piece")
    parser.add_argument("--arcs", type=int, default=300, help="arcs and helices of each piece that has a height")
    parser.add_argument("--rays", type=int, default=3, help="rays compared of each bundle and motion")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--piece", choices=[*PIECES], action="append", help="only these pieces")
    asked = parser.parse_args()
    failed = 0
    print("piece         motions     rays   short mm    long mm   arcs   ends  wrong      s")
    for kind in asked.piece or PIECES:
        began = time.perf_counter()
        seen = many(kind, asked.moves, rays=asked.rays, seed=asked.seed)
        arcs = 0 if kind == "disc" else asked.arcs
        tried, wrong = many_arcs(kind, arcs, points=2, seed=asked.seed)
        failed += wrong + (not seen.holds)
        print(f"{kind:<12} {asked.moves:>8} {seen.rays:>8} {seen.short:>10.1e} {seen.long:>10.1e} {arcs:>6} {tried:>6} {wrong:>6} "
              f"{time.perf_counter() - began:>6.0f}", flush=True)  # fmt: skip
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
