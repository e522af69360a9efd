"""What the sweeps do to one tile, from its old state to its new one."""

from __future__ import annotations

import numpy as np

from setwright.base.jit import kernel
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.normals import settle
from setwright.removal.sweeps import ACTION, CUT
from setwright.removal.tiles_across import work_across
from setwright.removal.tiles_along import work_along

__all__ = ["run_tile"]


@kernel
def run_tile(
    axis: int, grid_first: Floats, pitch: Floats, u0: int, v0: int, nu: int, nv: int, shape: Floats, code: Ints, box: Floats,
    motion_ident: Ints, rows: Ints, count: Ints, ends: Floats, ident: Ints, normal: Ints, amount: Floats, longest: Floats,
    touched: Longs, where: Floats, columns: Floats, scratch: Floats, held: Longs
) -> tuple[bool, Ints, Floats, Ints, Ints]:
    """Apply sweeps `rows` to a tile: whether it changed, and its count, ends, ident and normal (see field.Tile), new ones if so.

    grid_first, pitch float64 (2,): place of the bundle's first ray and distance of rays (mm); u0, v0, nu, nv: rays of the tile.
    motion_ident int32: number of each motion. Results for each of `rows` and scratch: see tiles_along.work_along; places are given
    as (x, y, z) for every axis. The old arrays are left as they are.
    """
    first = grid_first + pitch * np.array([u0, v0])
    cuts = False
    for k in range(rows.size):
        cuts |= code[rows[k], ACTION] == CUT
    if not cuts:
        _work(axis, first, pitch, nu, nv, shape, code, box, rows, ends, ident, count, amount, longest, touched, where, columns,
              scratch, held)  # fmt: skip
        return False, count, ends, ident, normal
    new_ends, new_count = ends.copy(), count.copy()
    tags = np.arange(ends.size).astype(np.int32).reshape(ends.shape)
    new_ends, tags = _work(axis, first, pitch, nu, nv, shape, code, box, rows, new_ends, tags, new_count, amount, longest, touched,
                           where, columns, scratch, held)  # fmt: skip
    if not touched.any():
        return False, count, ends, ident, normal
    room = max(1, new_count.max())
    if room < new_ends.shape[1]:
        new_ends, tags = new_ends[:, :room].copy(), tags[:, :room].copy()
    new_ident, new_normal = np.zeros(new_ends.shape, np.int32), np.zeros(new_ends.shape, np.int32)
    settle(first, pitch, nu, axis, shape, code, motion_ident, new_ends, tags, new_count, ident.reshape(-1), normal.reshape(-1),
           new_ident, new_normal)  # fmt: skip
    return True, new_count, new_ends, new_ident, new_normal


@kernel
def _work(
    axis: int, first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, code: Ints, box: Floats, rows: Ints, ends: Floats,
    tags: Ints, count: Ints, amount: Floats, longest: Floats, touched: Longs, where: Floats, columns: Floats, scratch: Floats,
    held: Longs
) -> tuple[Floats, Ints]:
    if axis == 2:
        ends, tags, _, _ = work_along(first, pitch, nu, nv, shape, code, box, rows, ends, tags, count, amount, longest, touched,
                                      where, columns, scratch, held, np.empty((0, 4), np.float64))  # fmt: skip
        return ends, tags
    ends, tags = work_across(first, pitch, nu, nv, shape, code, box, rows, ends, tags, count, amount, longest, touched, where,
                             columns, scratch, held)  # fmt: skip
    if axis == 1:  # its sweeps have x and y exchanged
        for k in range(where.shape[0]):
            where[k, 0], where[k, 1] = where[k, 1], where[k, 0]
    return ends, tags
