"""Directions of the metal's surface at ray ends: packed into 32 bits, and found for the ends that sweeps made.

A direction is projected onto the octahedron |x| + |y| + |z| = 1, unfolded into a square, and its two coordinates are kept as 16-bit
integers: the decoded direction differs by less than 1e-4 rad.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import borrowed, kernel
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.removal.across import span_across
from setwright.removal.along import span_along
from setwright.removal.arrays import Floats, Ints
from setwright.removal.reach import apart_from_arc

__all__ = ["pack", "pack_all", "settle", "unpack", "unpacked"]


@kernel
def pack(x: float, y: float, z: float) -> np.int32:
    """A direction (any length but 0) as int32: two 16-bit octahedral coordinates."""
    size = abs(x) + abs(y) + abs(z)
    p, q = x / size, y / size
    if z < 0.0:
        fold_p = (1.0 - abs(q)) * (1.0 if p >= 0.0 else -1.0)
        q = (1.0 - abs(p)) * (1.0 if q >= 0.0 else -1.0)
        p = fold_p
    high = np.int64(math.floor(p * 32767.0 + 0.5)) + 32768
    low = np.int64(math.floor(q * 32767.0 + 0.5)) + 32768
    return np.int32(high * 65536 + low - 2147483648)


@kernel
def _pack_rows(directions: Floats, packed: Ints) -> None:
    for row in range(directions.shape[0]):
        packed[row] = pack(directions[row, 0], directions[row, 1], directions[row, 2])


def pack_all(directions: NDArray[np.float64]) -> NDArray[np.int32]:
    """Directions float64 (..., 3), none of length 0, packed as int32 (...,)."""
    rows = np.ascontiguousarray(directions, np.float64).reshape(-1, 3)
    packed = np.empty(rows.shape[0], np.int32)
    _pack_rows(rows, packed)
    return packed.reshape(directions.shape[:-1])


@kernel
def unpacked(packed: int) -> tuple[float, float, float]:
    """The unit direction of a packed one; error below 1e-4 rad."""
    whole = np.int64(packed) + 2147483648
    p = (whole // 65536 - 32768) / 32767.0
    q = (whole % 65536 - 32768) / 32767.0
    x, y, z = p, q, 1.0 - abs(p) - abs(q)
    if z < 0.0:
        x = (1.0 - abs(q)) * (1.0 if p >= 0.0 else -1.0)
        y = (1.0 - abs(p)) * (1.0 if q >= 0.0 else -1.0)
    size = math.sqrt(x * x + y * y + z * z)
    return x / size, y / size, z / size


@kernel
def _unpack_rows(packed: Ints, directions: Floats) -> None:
    for row in range(packed.size):
        directions[row, 0], directions[row, 1], directions[row, 2] = unpacked(packed[row])


def unpack(packed: NDArray[np.int32]) -> NDArray[np.float64]:
    """Unit directions float64 (..., 3) of packed ones."""
    directions = np.empty((packed.size, 3))
    _unpack_rows(np.ascontiguousarray(packed, np.int32).ravel(), directions)
    return directions.reshape(*packed.shape, 3)


@kernel
def _outward(shape: Floats, meridian: int, radius: float, height: float, way_out: float, way_up: float) -> tuple[float, float]:
    """Outward normal (radial part, part along Z) of a sweep where its piece has the point (radius, height).

    On an edge of the piece the sweep's surface is tangent to the way (`way_out` radial, `way_up` along Z) there.
    """
    z0, z1, r0, r1, e, f, rho = shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12]
    if meridian == 1:
        wall_out, wall_up = radius - e, height - f
        off_wall = abs(math.sqrt(wall_out * wall_out + wall_up * wall_up) - rho)
    else:
        wall_out, wall_up = z1 - z0, r0 - r1
        if wall_out == 0.0 and wall_up == 0.0:
            wall_out = 1.0
        off_wall = abs((radius - r0) * wall_out + (height - z0) * wall_up) / math.sqrt(wall_out * wall_out + wall_up * wall_up)
    size = math.sqrt(wall_out * wall_out + wall_up * wall_up)
    if size > 0.0:
        wall_out, wall_up = wall_out / size, wall_up / size
    else:
        wall_up = 1.0 if 2.0 * height > z0 + z1 else -1.0
    off_low = abs(height - z0) + max(0.0, radius - r0)
    off_high = abs(height - z1) + max(0.0, radius - r1)
    off_face, face = (off_low, -1.0) if off_low <= off_high else (off_high, 1.0)
    if off_wall > SAME_PLACE_MM and off_wall >= off_face:
        return 0.0, face
    if off_face > SAME_PLACE_MM:
        return wall_out, wall_up
    if off_wall > SAME_PLACE_MM:
        return 0.0, face
    out, up = way_up, -way_out
    along = out * wall_out + up * (wall_up + face)
    if along == 0.0:
        out, up = wall_out, wall_up + face
    elif along < 0.0:
        out, up = -out, -up
    size = math.sqrt(out * out + up * up)
    if size == 0.0 or out < 0.0:
        return wall_out, wall_up
    return out / size, up / size


@kernel
def settle(
    first: Floats, pitch: Floats, nu: int, axis: int, shape: Floats, code: Ints, motion_ident: Ints, ends: Floats, tags: Ints,
    count: Ints, old_ident: Ints, old_normal: Ints, ident: Ints, normal: Ints
) -> None:
    """Give every end of a tile its motion and its normal, from tags: >= 0 the end's old place in the flat old arrays, else
    -1 - (row of the sweep that made it).

    first, pitch float64 (2,): place of the tile's rays, mm; axis 0, 1: rays across (1: x and y exchanged in shape), 2: along.
    Void places of `ends` become 0, as those of `ident` and `normal` must be, so that equal tiles have equal bytes.
    """
    shape, code, ends, tags, count = borrowed(shape), borrowed(code), borrowed(ends), borrowed(tags), borrowed(count)
    ident, normal, old_ident, old_normal = borrowed(ident), borrowed(normal), borrowed(old_ident), borrowed(old_normal)
    for row in range(count.size // nu):
        v = first[1] + pitch[1] * row
        for column in range(nu):
            ray, u = row * nu + column, first[0] + pitch[0] * column
            held = count[ray]
            for i in range(held, ends.shape[1]):
                ends[ray, i, 0], ends[ray, i, 1] = 0.0, 0.0
            for i in range(held):
                for side in range(2):
                    tag = tags[ray, i, side]
                    if tag >= 0:
                        ident[ray, i, side] = old_ident[np.uint64(tag)]
                        normal[ray, i, side] = old_normal[np.uint64(tag)]
                        continue
                    s = np.uint64(-1 - tag)
                    ident[ray, i, side] = motion_ident[code[s, 3]]
                    nx, ny, nz = _metal_normal(shape[s], code[s, 0], code[s, 1], axis, u, v, ends[ray, i, side], side)
                    normal[ray, i, side] = pack(ny, nx, nz) if axis == 1 else pack(nx, ny, nz)


@kernel
def _metal_normal(
    shape: Floats, path: int, meridian: int, axis: int, u: float, v: float, end: float, side: int
) -> tuple[float, float, float]:
    """Outward normal of the metal at a ray end made by a sweep: against the sweep's own. `side` 1: the metal's upper end."""
    if axis == 2:
        x, y, z = u, v, end
    else:
        x, y, z = end, u, v
    if meridian == 0 and shape[8] == shape[9]:  # a cylinder, where it is plain which of its surfaces the ray meets
        if axis == 2 and shape[5] == 0.0:
            return 0.0, 0.0, (1.0 if side == 1 else -1.0)
        if axis != 2 and path == 0 and shape[3] == 0.0 and shape[4] == 0.0:
            return shape[0] - x, shape[1] - y, 0.0
    if path != 0:
        _, tip_x, tip_y = apart_from_arc(path, shape[0], shape[1], shape[3], shape[4], shape[13], shape[14], shape[15], x, y)
        tip_z, way_x, way_y, way_z = shape[2], 0.0, 0.0, 0.0
    else:
        if axis == 2:
            enough = -math.inf if side == 1 else math.inf  # only the share of the end that is asked for must be right
            _, _, at_low, at_high = span_along(shape, path, meridian, x, y, enough)
        else:
            _, _, at_low, at_high = span_across(shape, meridian, y, z)
        t = at_low if side == 1 else at_high
        way_x, way_y, way_z = shape[3], shape[4], shape[5]
        tip_x, tip_y, tip_z = shape[0] + t * way_x, shape[1] + t * way_y, shape[2] + t * way_z
    px, py = x - tip_x, y - tip_y
    radius = math.sqrt(px * px + py * py)
    ex, ey = (px / radius, py / radius) if radius > 0.0 else (1.0, 0.0)
    out, up = _outward(shape, meridian, radius, z - tip_z, ex * way_x + ey * way_y, way_z)
    return -out * ex, -out * ey, -up
