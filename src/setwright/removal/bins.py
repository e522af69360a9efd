"""Which sweeps may reach which tile of rays: a counting sort that keeps the order in which the sweeps happen."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import borrowed, kernel
from setwright.removal.arrays import Flags, Floats, Ints, Longs
from setwright.removal.field import ACROSS, TILE, Field
from setwright.removal.reach import widest_of
from setwright.removal.sweeps import Sweeps

__all__ = ["Bins", "bins_of", "pairs_of"]


@dataclass(frozen=True, slots=True)
class Bins:
    """Tile t is reached by rows `rows[first[t] : first[t + 1]]` of the sweeps; int64 (tiles + 1,), int32."""

    first: NDArray[np.int64]
    rows: NDArray[np.int32]


def bins_of(sweeps: Sweeps, field: Field, axis: int, wanted: NDArray[np.bool_] | None = None) -> Bins:
    """The sweeps that reach each tile of the bundle along `axis` (for 1, sweeps with x and y exchanged); `wanted` bool (tiles,):
    the tiles asked for, the others get none."""
    u, v = ACROSS[axis]
    low_high = np.array([field.grid.low[axis], field.grid.high[axis]])
    first, pitch, count = field.grid.first[[u, v]], field.grid.pitch[[u, v]], field.grid.count[[u, v]]
    tiles = -(-count // TILE)
    counts = np.zeros(int(tiles[0] * tiles[1]) + 1, np.int64)
    none = np.empty(0, np.int32)
    asked = np.ones(counts.size - 1, np.bool_) if wanted is None else wanted
    args = (sweeps.shape, sweeps.code, sweeps.box, 2 if axis == 2 else 0, low_high, first, pitch, count, tiles, asked)
    _deal(*args, counts, none)
    starts = np.concatenate([[0], np.cumsum(counts[:-1])]).astype(np.int64)
    rows = np.empty(int(starts[-1]), np.int32)
    _deal(*args, starts[:-1].copy(), rows)
    return Bins(starts, rows)


def pairs_of(sweeps: Sweeps, field: Field) -> NDArray[np.int64]:
    """An upper bound, for each sweep, on the tiles of all three bundles it reaches; int64 (n,)."""
    size = field.grid.pitch * TILE
    most = -(-field.grid.count // TILE)
    low = np.clip(np.floor((sweeps.box[:, :3] - field.grid.low) / size), -1, most)
    high = np.clip(np.floor((sweeps.box[:, 3:] - field.grid.low) / size), -1, most)
    n = high - low + 1
    return np.asarray(n[:, 0] * n[:, 1] + n[:, 1] * n[:, 2] + n[:, 2] * n[:, 0], np.int64)


@kernel
def _deal(
    shape: Floats, code: Ints, box: Floats, along: int, low_high: Floats, first: Floats, pitch: Floats, count: Longs, tiles: Longs,
    wanted: Flags, place: Longs, rows: Ints
) -> None:
    """Count (rows empty) or write the sweeps of each wanted tile; `place` int64: counts, or where each tile's next row goes.

    `along`: the column of `box` that runs along the rays (2, or 0 for rays across). Rays of a tile reach from its first to its last
    ray; a sweep that ends between two rays reaches none.
    """
    shape, code, box, place, rows = borrowed(shape), borrowed(code), borrowed(box), borrowed(place), borrowed(rows)
    cu, cv = (0, 1) if along == 2 else (1, 2)
    wide_u, wide_v = 0.5 * pitch[0] * TILE, 0.5 * pitch[1] * TILE
    for s in range(shape.shape[0]):
        if box[s, along] >= low_high[1] or box[s, along + 3] <= low_high[0]:
            continue
        u0 = max(0.0, math.ceil((box[s, cu] - first[0]) / pitch[0]))
        u1 = min(count[0] - 1.0, math.floor((box[s, cu + 3] - first[0]) / pitch[0]))
        v0 = max(0.0, math.ceil((box[s, cv] - first[1]) / pitch[1]))
        v1 = min(count[1] - 1.0, math.floor((box[s, cv + 3] - first[1]) / pitch[1]))
        if u0 > u1 or v0 > v1:
            continue
        for tv in range(int(v0) // TILE, int(v1) // TILE + 1):
            for tu in range(int(u0) // TILE, int(u1) // TILE + 1):
                tile = tv * tiles[0] + tu
                if not wanted[tile]:
                    continue
                if along == 2:
                    x = first[0] + pitch[0] * (tu * TILE + 0.5 * (TILE - 1))
                    y = first[1] + pitch[1] * (tv * TILE + 0.5 * (TILE - 1))
                    if _misses(shape[s], code[s, 0], x, y, wide_u, wide_v, widest_of(shape[s], code[s, 1])):
                        continue
                if rows.size > 0:
                    rows[place[tile]] = s
                place[tile] += 1


@kernel
def _misses(shape: Floats, path: int, x: float, y: float, wide_u: float, wide_v: float, width: float) -> bool:
    """Whether a rectangle about (x, y) is surely farther than `width` from the path, seen from above."""
    if path != 0:
        out = math.sqrt((x - shape[13]) * (x - shape[13]) + (y - shape[14]) * (y - shape[14]))
        return bool(abs(out - shape[15]) > width + math.sqrt(wide_u * wide_u + wide_v * wide_v))
    dx, dy = shape[3], shape[4]
    cross = abs(dx * (y - shape[1]) - dy * (x - shape[0]))
    return bool(cross > width * math.sqrt(dx * dx + dy * dy) + abs(dx) * wide_v + abs(dy) * wide_u)
