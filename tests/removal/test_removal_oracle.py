"""Every ray end against the slow oracle, for random pieces and motions of every kind; `against_oracle` runs any number of them."""

import numpy as np
import pytest

from tests.removal.against_oracle import ORACLE_ERROR, PIECES, WAYS, Seen, blank, compare, many, straight, turning

RAYS = 14  # of each bundle that pass near the sweep


@pytest.mark.parametrize("kind", PIECES)
@pytest.mark.parametrize("way", WAYS)
def test_straight_sweep(kind, way):
    rng = np.random.default_rng([sorted(PIECES).index(kind), sorted(WAYS).index(way)])
    piece = PIECES[kind](rng)
    start = rng.uniform(-5, 3, 3)
    seen = Seen()
    touched = straight(piece, start, start + WAYS[way](rng), blank(), rays=RAYS, rng=rng, seen=seen)
    # the oracle tries places of the tip, so it never claims more than is swept
    assert seen.holds, seen
    assert touched >= 1 or kind == "disc" or piece.widest < 2


@pytest.mark.parametrize("kind", PIECES)
def test_many_straight_sweeps(kind):
    seen = many(kind, 5 * len(WAYS), rays=2, seed=0)
    assert seen.holds, seen
    assert seen.rays > 100


def test_a_wrong_end_is_seen_either_way():
    seen = Seen()
    assert compare(np.array([-3.0, 2.0]), (-3.0 - 1e-8, 2.0), seen)
    assert not seen.holds
    seen = Seen()
    assert compare(np.array([-3.0, 2.0]), (-3.0, 2.0 - 2 * ORACLE_ERROR), seen)
    assert not seen.holds
    seen = Seen()
    assert not compare(np.array([-3.0, 2.0]), None, seen)
    assert not seen.holds


TURNS = (0.7, -1.9, 3.141592653589793, 4.4, -5.9, 6.283185307179586)
ARCS = [(axis, sweep, rise) for axis in range(3) for sweep in TURNS for rise in (0.0, 1.5)]


@pytest.mark.parametrize("kind", ["cylinder", "frustum", "ball", "torus"])
@pytest.mark.parametrize(("axis", "sweep", "rise"), ARCS)
def test_arc_sweep(kind, axis, sweep, rise):
    rng = np.random.default_rng([axis, int(100 + 10 * sweep), int(rise)])
    tried, wrong = turning(PIECES[kind](rng), axis, sweep, rise, blank(), points=8, rng=rng)
    assert tried == 8
    assert wrong == 0
