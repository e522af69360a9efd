"""Motions run through one state after another: the same bytes as runs of their own, and tiles that come again taken over."""

import itertools

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape
from setwright.removal import runs
from setwright.removal.contact import first_touch, first_touch_along, passages_in_turn, touch, touch_along
from setwright.removal.cut import cut, cut_along
from setwright.removal.field import field_of
from setwright.removal.passage import Passage
from tests.removal.common import cylinder, moves, tool, zone
from tests.removal.test_removal_invariance import state

BLOCK = BoxShape((-40.0, -20.0, -12.0), (40.0, 20.0, 0.0))
BULL = tool(zone(3.0, 1.0, 1.0, 0.0, 1.0), cylinder(4.0, 1.0, 30.0))
FIRST = field_of(BLOCK, pitch_mm=0.4)


def program(seed, n=30, wide=38.0):
    rng = np.random.default_rng(seed)
    places = rng.uniform(-wide, wide, (n + 1, 3))
    places[:, 1] /= 2
    places[:, 2] = rng.uniform(-8, 1, n + 1)
    return moves(*[("line", a, b) for a, b in itertools.pairwise(places)])


def told(done):
    return (state(done.field), done.field.slack, done.removed.tobytes(), done.by_bundle.tobytes(), done.axial.tobytes(),
            [(c.motion, c.role, c.piece, c.depth, c.at) for c in done.contacts])  # fmt: skip


def passed(run):
    passage = Passage(FIRST, run, BULL)
    done = cut_along(passage, FIRST)
    passage.close()
    return passage, done


def test_first_run_is_a_cut():
    run = program(1)
    assert told(passed(run)[1]) == told(cut(FIRST, run, BULL))


@pytest.mark.parametrize("seed", range(4))
def test_later_run_on_other_metal_is_a_cut(seed):
    run = program(2)
    passage, _ = passed(run)
    metal = cut(FIRST, program(10 + seed, n=2), BULL).field
    assert told(cut_along(passage, metal)) == told(cut(metal, run, BULL))


def test_on_other_rays_it_is_a_cut_too():
    run = program(3)
    passage, _ = passed(run)
    metal = field_of(BLOCK, pitch_mm=0.7)
    assert told(cut_along(passage, metal)) == told(cut(metal, run, BULL))


def test_tiles_that_come_again_are_not_run_again(monkeypatch):
    run = program(4)
    passage, _ = passed(run)
    corner = moves(("line", (-38.0, -18.0, -3.0), (-36.0, -18.0, -3.0)))
    metal = cut(FIRST, corner, BULL).field
    ran = []
    whole = runs._run_tile
    monkeypatch.setattr(runs, "_run_tile", lambda bench, number: ran.append(number) or whole(bench, number))
    along = cut_along(passage, metal)
    again = len(ran)
    ran.clear()
    assert told(along) == told(cut(metal, run, BULL))
    assert again < len(ran) / 4


def test_tile_with_the_same_ends_made_by_another_motion_is_run_again():
    """The numbers of the motions that made an end are part of the answer."""
    run = program(5, n=6)
    passage, _ = passed(run)
    one = moves(("line", (-30.0, 0.0, -3.0), (30.0, 0.0, -3.0)))
    metal = cut(FIRST, one, BULL).field
    renamed = cut(FIRST, type(one)(*[getattr(one, n) for n in one.__slots__[:-1]], one.ident + 7), BULL).field
    assert told(cut_along(passage, metal)) == told(cut(metal, run, BULL))
    assert told(cut_along(passage, renamed)) == told(cut(renamed, run, BULL))


def contacts(found):
    return [(c.motion, c.row, c.role, c.piece, c.depth, c.at) for c in found]


@pytest.mark.parametrize("seed", range(4))
def test_touching_along_is_touching(seed):
    run = program(6)
    passage = Passage(FIRST, run, BULL, touch_only=True)
    assert contacts(touch_along(passage, FIRST)) == contacts(touch(FIRST, run, BULL))
    passage.close()
    metal = cut(FIRST, program(20 + seed, n=3), BULL).field
    assert contacts(touch_along(passage, metal)) == contacts(touch(metal, run, BULL))


def test_first_touch_along_finds_the_same_motion():
    above = moves(*[("line", (x, 0.0, 5.0), (x + 1.0, 0.0, 5.0)) for x in np.linspace(-38, 36, 700)],
                  ("line", (0.0, 0.0, -2.0), (5.0, 0.0, -2.0)))  # fmt: skip
    passages = passages_in_turn(FIRST, above, BULL)
    assert len(passages) == 2
    assert first_touch_along(passages, FIRST) == first_touch(FIRST, above, BULL) == 700
    pocket = cut(FIRST, moves(("line", (-6.0, 0.0, -4.0), (12.0, 0.0, -4.0))), BULL).field
    assert first_touch_along(passages, pocket) == first_touch(pocket, above, BULL) == -1
