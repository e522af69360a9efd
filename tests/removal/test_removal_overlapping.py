"""Many short motions that overlap, as finishing and slotting make them: what each ray keeps is what the slow oracle's sweeps, put
together one after the other, leave of it, and each end belongs to a motion that ends there."""

import itertools

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape
from setwright.removal.cut import cut
from setwright.removal.field import ACROSS, BLANK, field_of
from tests.oracle import sweep as oracle
from tests.removal.against_oracle import oracle_span
from tests.removal.common import ball, cylinder, moves, plain, tool, zone

LOW, HIGH = np.array([0.0, 0.0, -9.0]), np.array([20.0, 16.0, 0.0])
NEAR = 1e-6  # the oracle finds an end to 1e-7 mm
PIECES = {
    "end mill": (cylinder(2.5, 0.0, 20.0), -3.0),
    "slotting cutter": (cylinder(3.0, 0.0, 1.5), -6.0),
    "ball": (ball(3.0), -3.0),
    "bull nose": (zone(2.0, 1.0, 1.0, 0.0, 1.0), -0.8),
}


def zigzag(rng, height):
    """Rows that overlap, of short motions that run level, sink and rise; some rows on a slant."""
    points = []
    for row in range(4):
        xs = np.linspace(1.0, 19.0, 9) if row % 2 == 0 else np.linspace(19.0, 1.0, 9)
        ys = 3.0 + 3.1 * row + (0.08 * xs if row > 1 else 0.0 * xs)
        zs = height + (rng.uniform(-0.4, 0.4, xs.size) if row != 1 else 0.0 * xs)
        points.append(np.column_stack([xs, ys, zs]))
    place = np.vstack(points)
    return [("line", a, b) for a, b in itertools.pairwise(place)]


def left_over(low, high, spans):
    """What is left of (low, high) without the spans, and for each end the motions that end there."""
    kept = [(low, high)]
    for a, b in spans:
        kept = [part for c, d in kept for part in ((c, min(d, a)), (max(c, b), d)) if part[1] > part[0]]
    return [(c, d) for c, d in kept if d - c > NEAR]


@pytest.mark.parametrize("kind", PIECES)
def test_overlapping_motions(kind):
    piece, height = PIECES[kind]
    rng = np.random.default_rng(len(kind))
    rows = zigzag(rng, height)
    done = cut(field_of(BoxShape(tuple(LOW), tuple(HIGH)), pitch_mm=0.25), moves(*rows), tool(piece))
    paths = [oracle.line(a, b) for _, a, b in rows]
    changed = 0
    for axis in range(3):
        u, v = ACROSS[axis]
        grid, bundle, rays = done.field.grid, done.field.bundles[axis], done.field.bundles[axis].rays()
        disturbed = np.unique(rays.ray[(rays.ident != BLANK).any(axis=1)])
        for ray in rng.permutation(disturbed)[:14].tolist():
            x, y = grid.first[u] + grid.pitch[u] * (ray % bundle.nu), grid.first[v] + grid.pitch[v] * (ray // bundle.nu)
            spans = [oracle_span(plain(piece), path, axis, float(x), float(y)) for path in paths]
            want = left_over(LOW[axis], HIGH[axis], [span for span in spans if span is not None])
            here = rays.ray == ray
            assert rays.ends[here] == pytest.approx(np.array(want), abs=NEAR), (axis, ray)
            for end, ident, side in zip(rays.ends[here].ravel(), rays.ident[here].ravel(), np.tile([1, 0], len(want)), strict=True):
                if ident == BLANK:
                    assert end in (LOW[axis], HIGH[axis])
                else:
                    assert spans[ident][side] == pytest.approx(end, abs=NEAR)
                    changed += 1
    assert changed > 40
    assert done.by_bundle.sum(axis=1) == pytest.approx([np.prod(HIGH - LOW) - volume for volume in done.field.volume().by_bundle])
    assert (done.by_bundle >= 0).all()
