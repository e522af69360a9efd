"""A coarser surface lies no farther off than it says."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from setwright.removal.coarse import coarsened
from setwright.removal.surface import Surface

RADIUS = 20.0


def ball(rings: int) -> Surface:
    """A sphere of RADIUS as a mesh of latitude and longitude."""
    around = 2 * rings
    turns = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
    low, turn = np.meshgrid(np.linspace(0.0, np.pi, rings + 1), turns, indexing="ij")
    corners = RADIUS * np.stack([np.sin(low) * np.cos(turn), np.sin(low) * np.sin(turn), -np.cos(low)], axis=-1).reshape(-1, 3)
    i, j = (index.ravel() for index in np.meshgrid(np.arange(rings), np.arange(around), indexing="ij"))
    a, b = i * around + j, i * around + (j + 1) % around
    triangles = np.concatenate([np.stack([a, b, b + around], axis=1), np.stack([a, b + around, a + around], axis=1)])
    return Surface(corners, triangles.astype(np.int32), np.repeat(np.arange(2), triangles.shape[0] // 2).astype(np.int32))


@pytest.mark.parametrize("wanted", [8000, 2000, 300])
def test_the_stated_bound_holds_both_ways(wanted: int) -> None:
    whole = ball(120)
    coarse = coarsened(whole, triangles=wanted)
    corner = coarse.surface.corners[coarse.surface.triangles]
    assert 0.3 * wanted < len(corner) < 1.5 * wanted
    inside = np.random.default_rng(1).dirichlet(np.ones(3), len(corner))
    points = np.einsum("nk,nkx->nx", inside, corner)
    assert (RADIUS - np.linalg.norm(points, axis=1)).max() <= coarse.bound_mm
    used = coarse.surface.corners[np.unique(coarse.surface.triangles)]
    assert np.asarray(cKDTree(used).query(whole.corners)[0]).max() <= 2.0 * coarse.bound_mm
    assert set(map(tuple, used.tolist())) <= set(map(tuple, whole.corners.tolist()))
    assert set(coarse.surface.motion.tolist()) == {0, 1}


def test_what_is_small_stays_as_it_is() -> None:
    whole = ball(8)
    coarse = coarsened(whole, triangles=1000)
    assert coarse.surface is whole
    assert coarse.bound_mm == 0.0


def test_cells_share_the_corner_where_the_surface_bends_most() -> None:
    steps = np.arange(0, 21, dtype=np.float64)
    across, along = np.meshgrid(steps, steps, indexing="ij")
    corners = np.stack([across, along, np.where(across > 7.0, across - 7.0, 0.0)], axis=-1).reshape(-1, 3)  # a kink at x = 7
    i, j = (index.ravel() for index in np.meshgrid(np.arange(20), np.arange(20), indexing="ij"))
    a = i * 21 + j
    triangles = np.concatenate([np.stack([a, a + 21, a + 22], axis=1), np.stack([a, a + 22, a + 1], axis=1)]).astype(np.int32)
    coarse = coarsened(Surface(corners, triangles, np.zeros(len(triangles), np.int32)), triangles=120).surface
    inner = coarse.corners[(coarse.corners[:, 1] > 2) & (coarse.corners[:, 1] < 18)]
    kink = inner[(inner[:, 0] > 4) & (inner[:, 0] < 10)]
    assert (np.abs(kink[:, 0] - 7.0) < 1e-12).any()
    middles = coarse.corners[coarse.triangles].mean(axis=1)
    assert len(middles) > 0
    assert np.abs(middles[:, 2] - np.maximum(middles[:, 0] - 7.0, 0.0)).max() < 1e-9  # no triangle cuts the kink off
