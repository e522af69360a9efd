"""Pieces the metal falls into: intervals of neighbouring rays of one bundle that overlap belong together.

What is connected so is connected indeed but for gaps thinner than the pitch. Metal thinner than the pitch across a bundle may be
missed by it, but not by all three bundles: so the bundle that shows the fewest pieces is believed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.removal.arrays import Floats, Longs
from setwright.removal.field import ACROSS, Field, Rays

__all__ = ["LEAST_CELLS", "Parts", "fewest_parts", "parts_of"]

LEAST_CELLS: Final = 27
"""A piece smaller than this many cells of the rays (three each way) is taken for a sliver between cuts."""


@dataclass(frozen=True, slots=True)
class Parts:
    """One bundle's intervals with the number of the part each belongs to, int64 (n,), in the order of their first rays; the volume
    of each part, mm³; the numbers of those that are no slivers."""

    axis: int
    rays: Rays
    part: NDArray[np.int64]
    volume: NDArray[np.float64]
    large: NDArray[np.intp]


def fewest_parts(field: Field, enough: int) -> Parts:
    """The parts of the bundle that shows the fewest large ones; the first that shows no more than `enough`."""
    best = parts_of(field, 2)
    for axis in (0, 1):
        if best.large.size > max(1, enough):
            best = min(best, parts_of(field, axis), key=lambda parts: parts.large.size)
    return best


def parts_of(field: Field, axis: int) -> Parts:
    """The parts as the bundle along `axis` shows them."""
    bundle = field.bundles[axis]
    rays = bundle.rays()
    first = np.searchsorted(rays.ray, np.arange(bundle.nu * bundle.nv + 1)).astype(np.int64)
    _, part = np.unique(_joined(rays.ends, first, bundle.nu, bundle.nv), return_inverse=True)
    u, v = ACROSS[axis]
    area = float(field.grid.pitch[u] * field.grid.pitch[v])
    volume = np.asarray(np.bincount(part, rays.ends[:, 1] - rays.ends[:, 0]) * area, np.float64)
    return Parts(axis, rays, part, volume, np.flatnonzero(volume >= LEAST_CELLS * float(np.prod(field.grid.pitch))))


@kernel
def _joined(ends: Floats, first: Longs, nu: int, nv: int) -> Longs:
    """For each interval the first one of its piece; ray r has the intervals `first[r]` up to `first[r + 1]`, ascending."""
    root = np.arange(ends.shape[0])
    for v in range(nv):
        for u in range(nu):
            ray = v * nu + u
            for step in range(2):
                if (u + 1 == nu) if step == 0 else (v + 1 == nv):
                    continue
                other = ray + (1 if step == 0 else nu)
                i, j = first[ray], first[other]
                while i < first[ray + 1] and j < first[other + 1]:
                    if min(ends[i, 1], ends[j, 1]) - max(ends[i, 0], ends[j, 0]) > SAME_PLACE_MM:
                        a, b = _root(root, i), _root(root, j)
                        root[max(a, b)] = min(a, b)
                    if ends[i, 1] < ends[j, 1]:
                        i += 1
                    else:
                        j += 1
    for i in range(root.size):
        root[i] = _root(root, i)
    return root


@kernel
def _root(root: Longs, i: int) -> int:
    """The first of a piece, as far as it is known; the way there is shortened."""
    while root[i] != i:
        root[i] = root[root[i]]
        i = root[i]
    return int(i)
