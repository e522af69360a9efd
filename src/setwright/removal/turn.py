"""The same metal in another frame: quarter turns and shifts, for the next setup. Ray ends are carried over, not sampled again."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from setwright.base.errors import InputRefused
from setwright.removal.arrays import Floats, Longs
from setwright.removal.field import ACROSS, Bundle, Field, Rays, bundle_of
from setwright.removal.fill import Grid
from setwright.removal.normals import pack_all, unpack

__all__ = ["turned"]


def turned(field: Field, rotation: ArrayLike, *, shift: Sequence[float] = (0.0, 0.0, 0.0)) -> Field:
    """The field with every point p at rotation @ p + shift (mm).

    `rotation` (3, 3) is made of quarter turns: one +1 or -1 in every row and column, determinant +1; InputRefused otherwise.
    Ends keep
    their motion numbers and are exact to the rounding of the shift; each call may turn a packed normal by up to 1e-4 rad.
    """
    turn = np.rint(np.asarray(rotation, np.float64)).astype(np.int64)
    if turn.shape != (3, 3) or not np.array_equal(turn @ turn.T, np.eye(3)) or round(float(np.linalg.det(turn))) != 1:
        raise InputRefused.because("the part can only be turned by quarter turns about X, Y and Z",
                                   remedy="give the rotation between the setups as multiples of 90 degrees")  # fmt: skip
    if not np.allclose(turn, np.asarray(rotation, np.float64), rtol=0, atol=0):
        raise InputRefused.because("the rotation between the setups is not a multiple of 90 degrees",
                                   remedy="give it as multiples of 90 degrees about X, Y and Z")  # fmt: skip
    to = np.abs(turn).argmax(axis=0)  # old axis -> new axis
    sign = turn.sum(axis=0)  # of the old axis' direction on the new one
    move = np.asarray(shift, np.float64)
    grid = _turned_grid(field.grid, to, sign, move)
    bundles: list[Bundle | None] = [None, None, None]
    for axis in range(3):
        bundles[int(to[axis])] = _turned_bundle(field, axis, grid, turn, to, sign, move)
    x, y, z = (bundle for bundle in bundles if bundle is not None)
    return Field(grid, (x, y, z), field.slack)


def _turned_grid(grid: Grid, to: NDArray[np.int64], sign: NDArray[np.int64], shift: NDArray[np.float64]) -> Grid:
    low, high, first, pitch = (np.empty(3) for _ in range(4))
    count = np.empty(3, np.int64)
    for axis, (new, way) in enumerate(zip(to.tolist(), sign.tolist(), strict=True)):
        a, b = way * grid.low[axis] + shift[new], way * grid.high[axis] + shift[new]
        low[new], high[new] = min(a, b), max(a, b)
        start = grid.first[axis] if way > 0 else -(grid.first[axis] + grid.pitch[axis] * (grid.count[axis] - 1))
        first[new], pitch[new], count[new] = start + shift[new], grid.pitch[axis], grid.count[axis]
    return Grid(low, high, first, pitch, count)


def _turned_bundle(
    field: Field, axis: int, grid: Grid, turn: Longs, to: Longs, sign: Longs, shift: Floats
) -> Bundle:
    rays, old = field.bundles[axis].rays(), field.bundles[axis]
    new_axis = int(to[axis])
    place = {}
    for across, number in zip(ACROSS[axis], (rays.ray % old.nu, rays.ray // old.nu), strict=True):
        place[int(to[across])] = number if sign[across] > 0 else field.grid.count[across] - 1 - number
    u, v = ACROSS[new_axis]
    nu, nv = int(grid.count[u]), int(grid.count[v])
    ends, ident = sign[axis] * rays.ends + shift[new_axis], rays.ident
    normal = pack_all(unpack(rays.normal) @ turn.T.astype(np.float64))
    if sign[axis] < 0:
        ends, ident, normal = ends[:, ::-1], ident[:, ::-1], normal[:, ::-1]
    ray = place[v] * nu + place[u]
    order = np.lexsort((ends[:, 0], ray))
    return bundle_of(Rays(ray[order], ends[order], ident[order], normal[order]), axis=new_axis, nu=nu, nv=nv)
