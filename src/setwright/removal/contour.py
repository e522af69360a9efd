"""Kernels of the metal's surface: edges of the lattice that pass it, numbers for the cells about them, one corner for each cell.

The lattice's nodes are the crossings of rays. Cell (i, j, k) lies below node (i, j, k) on every axis and has the place
i + size[0] * (j + size[1] * k), where size is one more than the rays on each axis. Places are numbered without holes, in their
order, through one bit a cell: cells far from the surface take no memory.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import borrowed, kernel
from setwright.base.tolerance import UNIT_VECTOR_ROUND_OFF
from setwright.removal.arrays import Flags, Floats, Ints, Longs

__all__ = ["SUMS", "Numbering", "add_up", "count_edges", "find_edges", "meet", "numbered", "put_triangles"]

SUMS: Final = 16
"""Numbers gathered for each cell: how many edges; sums of points (from the cell's middle, mm), of normals n, of n n^T (upper half),
of n (n . point)."""

_FLAT: Final = 0.1  # singular values below this share of the largest say "no edge here"
_TURNS: Final = 12  # sweeps of plane rotations; five make the rest vanish in double precision
_NOTHING: Final = float(np.finfo(np.float64).eps) ** 2


class Numbering(NamedTuple):
    """block int32: for each 4096 places where their 64 words begin, -1 for none; word uint64: a bit for each place; before int32:
    how many bits are set before each word, the last for all; place int64 (n,): the place of each number."""

    block: NDArray[np.int32]
    word: NDArray[np.uint64]
    before: NDArray[np.int32]
    place: NDArray[np.int64]


@kernel
def _node(end: float, first: float, pitch: float, nodes: int) -> int:
    """The last node at or before an end; -1 before the first."""
    return min(max(math.floor((end - first) / pitch), -1), nodes - 1)


@kernel
def count_edges(ends: Floats, count: Ints, first: float, pitch: float, nodes: int) -> int:
    """How many lattice edges on the rays of a tile hold an odd number of ray ends. first, pitch (mm), nodes: along the rays."""
    ends, count = borrowed(ends), borrowed(count)
    found = 0
    for ray in range(count.size):
        held, odd = -2, False
        for k in range(2 * count[ray]):
            node = _node(ends[ray, k >> 1, k & 1], first, pitch, nodes)
            if node != held:
                found += odd
                held, odd = node, False
            odd = not odd
        found += odd
    return found


@kernel
def find_edges(
    ends: Floats, count: Ints, ident: Ints, normal: Ints, first: float, pitch: float, nodes: int, corner: int, step: Longs,
    width: int, at: int, cell: Longs, end: Floats, facing: Ints, motion: Ints, low: Flags
) -> None:
    """Write down those edges from row `at` on, each with its last ray end: place of the first cell about it, the end (mm), its
    packed normal and motion, and whether the metal begins there. corner: place of the cell below the tile's first ray; step int64
    (3,): from place to place along the rays, along u and along v; width: rays along u."""
    ends, count, ident, normal, step = borrowed(ends), borrowed(count), borrowed(ident), borrowed(normal), borrowed(step)
    cell, end, facing, motion, low = borrowed(cell), borrowed(end), borrowed(facing), borrowed(motion), borrowed(low)
    for ray in range(count.size):
        base = corner + step[1] * (ray % width) + step[2] * (ray // width)
        n = 2 * count[ray]
        held, odd = -2, False
        for k in range(n + 1):
            node = _node(ends[ray, k >> 1, k & 1], first, pitch, nodes) if k < n else -3
            if node != held:
                if odd:
                    i, side = (k - 1) >> 1, (k - 1) & 1
                    cell[at], end[at] = base + step[0] * (held + 1), ends[ray, i, side]
                    facing[at], motion[at], low[at] = normal[ray, i, side], ident[ray, i, side], side == 0
                    at += 1
                held, odd = node, False
            odd = not odd


@kernel
def _bits(word: np.uint64) -> int:
    """How many bits are set."""
    one, two, four = np.uint64(0x5555555555555555), np.uint64(0x3333333333333333), np.uint64(0x0F0F0F0F0F0F0F0F)
    word = word - ((word >> np.uint64(1)) & one)
    word = (word & two) + ((word >> np.uint64(2)) & two)
    word = (word + (word >> np.uint64(4))) & four
    return int((word * np.uint64(0x0101010101010101)) >> np.uint64(56))


@kernel
def numbered(cell: Longs, about: Longs, places: int) -> Numbering:
    """Numbers for all places cell[e] + about[e's group, 0 .. 3]; cell int64 (n,), about int64 (groups, 5) whose last column is the
    row of `cell` where the next group begins; places: how many there are."""
    block = np.full((places >> 12) + 1, -1, np.int32)
    start = 0
    for group in range(about.shape[0]):
        for e in range(start, about[group, 4]):
            for k in range(4):
                block[(cell[e] + about[group, k]) >> 12] = 0
        start = about[group, 4]
    words = 0
    for b in range(block.size):
        if block[b] == 0:
            block[b] = words
            words += 64
    word, start = np.zeros(words, np.uint64), 0
    for group in range(about.shape[0]):
        for e in range(start, about[group, 4]):
            for k in range(4):
                place = cell[e] + about[group, k]
                word[block[place >> 12] + ((place >> 6) & 63)] |= np.uint64(1) << np.uint64(place & 63)
        start = about[group, 4]
    before, total = np.empty(words + 1, np.int32), 0
    for w in range(words):
        before[w] = total
        total += _bits(word[w])
    before[words] = total
    return Numbering(block, word, before, _places(block, word, total))


@kernel
def _places(block: Ints, word: NDArray[np.uint64], total: int) -> Longs:
    """The place of each bit that is set, in their order."""
    place, n = np.empty(total, np.int64), 0
    for b in range(block.size):
        if block[b] < 0:
            continue
        for w in range(64):
            bits, at = word[block[b] + w], (np.int64(b) << 12) + (w << 6)
            while bits != np.uint64(0):
                if bits & np.uint64(1):
                    place[n] = at
                    n += 1
                bits >>= np.uint64(1)
                at += 1
    return place


@kernel
def put_triangles(
    first: int, last: int, cell: Longs, about: Longs, numbering: Numbering, low: Flags, ident: Ints, number: Ints, triangles: Ints,
    motion: Ints
) -> None:
    """For edges first .. last (excluded) of one axis the numbers of their four cells, int32 (n, 4), counter-clockwise seen from the
    edge's upper end, and two triangles each, counter-clockwise seen from outside."""
    cell, about, low, ident = borrowed(cell), borrowed(about), borrowed(low), borrowed(ident)
    number, triangles, motion = borrowed(number), borrowed(triangles), borrowed(motion)
    block, word, before = borrowed(numbering.block), borrowed(numbering.word), borrowed(numbering.before)
    for e in range(first, last):
        for k in range(4):
            place = cell[e] + about[k]
            w = block[place >> 12] + ((place >> 6) & 63)
            below = (np.uint64(1) << np.uint64(place & 63)) - np.uint64(1)
            number[e, k] = before[w] + _bits(word[w] & below)
        for row in range(2 * e, 2 * e + 2):
            k = row - 2 * e
            if low[e]:
                triangles[row, 0], triangles[row, 1], triangles[row, 2] = number[e, 3], number[e, 2 - k], number[e, 1 - k]
            else:
                triangles[row, 0], triangles[row, 1], triangles[row, 2] = number[e, 0], number[e, 1 + k], number[e, 2 + k]
            motion[row] = ident[e]


@kernel
def _unpacked(packed: int) -> tuple[float, float, float]:
    """The unit direction of a packed one (see normals)."""
    whole = np.int64(packed) + 2147483648
    p, q = ((whole >> 16) - 32768) / 32767.0, ((whole & 65535) - 32768) / 32767.0
    x, y, z = p, q, 1.0 - abs(p) - abs(q)
    if z < 0.0:
        x, y = (1.0 - abs(q)) * (1.0 if p >= 0.0 else -1.0), (1.0 - abs(p)) * (1.0 if q >= 0.0 else -1.0)
    size = math.sqrt(x * x + y * y + z * z)
    return x / size, y / size, z / size


@kernel
def _along(place: int, axis: int, size: Longs) -> int:
    """Index of a cell on one axis."""
    if axis == 0:
        return int(place % size[0])
    return int((place // size[0]) % size[1]) if axis == 1 else int(place // (size[0] * size[1]))


@kernel
def add_up(
    axis: int, start: int, stop: int, cell: Longs, end: Floats, facing: Ints, number: Ints, first: Floats, pitch: Floats,
    size: Longs, least: int, sums: Floats
) -> None:
    """Add edges start .. stop (excluded) of one axis to the sums float64 (n, SUMS) of cells number least .. least + n."""
    cell, end, facing, number, sums = borrowed(cell), borrowed(end), borrowed(facing), borrowed(number), borrowed(sums)
    u, v, n = (axis + 1) % 3, (axis + 2) % 3, sums.shape[0]
    normal, point = np.empty(3), np.empty(3)
    for e in range(start, stop):
        mine = False
        for k in range(4):
            mine |= 0 <= number[e, k] - least < n
        if not mine:
            continue
        normal[0], normal[1], normal[2] = _unpacked(facing[e])
        point[axis] = end[e] - (first[axis] + (_along(cell[e], axis, size) - 0.5) * pitch[axis])
        for k in range(4):
            s = number[e, k] - least
            if not 0 <= s < n:
                continue
            point[u] = -0.5 * pitch[u] if k == 1 or k == 2 else 0.5 * pitch[u]
            point[v] = -0.5 * pitch[v] if k >= 2 else 0.5 * pitch[v]
            away = normal[0] * point[0] + normal[1] * point[1] + normal[2] * point[2]
            sums[s, 0] += 1.0
            at = 7
            for i in range(3):
                sums[s, 1 + i] += point[i]
                sums[s, 4 + i] += normal[i]
                sums[s, 13 + i] += normal[i] * away
                for j in range(i, 3):
                    sums[s, at] += normal[i] * normal[j]
                    at += 1


@kernel
def meet(
    sums: Floats, place: Longs, first: Floats, pitch: Floats, size: Longs, bottom: Floats, top: Floats, corners: Floats
) -> None:
    """A corner for each cell, float64 (n, 3) mm, from its sums: where the planes on its edges meet best, least squares about the
    mean of their points, small singular values dropped, kept inside the cell and the box bottom .. top. place int64 (n,): of the
    cells."""
    sums, place, corners = borrowed(sums), borrowed(place), borrowed(corners)
    square, axes = np.empty((3, 3)), np.empty((3, 3))
    mean, right, step = np.empty(3), np.empty(3), np.empty(3)
    for s in range(place.size):
        lean = math.sqrt(sums[s, 4] * sums[s, 4] + sums[s, 5] * sums[s, 5] + sums[s, 6] * sums[s, 6])
        for i in range(3):
            mean[i] = step[i] = sums[s, 1 + i] / sums[s, 0]
        if lean < sums[s, 0] * (1.0 - UNIT_VECTOR_ROUND_OFF):  # elsewhere all planes are parallel and their mean is the answer
            at = 7
            for i in range(3):
                for j in range(i, 3):
                    square[i, j] = square[j, i] = sums[s, at]
                    at += 1
            for i in range(3):
                right[i] = sums[s, 13 + i] - (square[i, 0] * mean[0] + square[i, 1] * mean[1] + square[i, 2] * mean[2])
            _turn(square, axes)
            most = max(square[0, 0], square[1, 1], square[2, 2])
            for k in range(3):
                if square[k, k] > _FLAT * most:
                    share = (axes[0, k] * right[0] + axes[1, k] * right[1] + axes[2, k] * right[2]) / square[k, k]
                    for i in range(3):
                        step[i] += share * axes[i, k]
        for i in range(3):
            index = _along(place[s], i, size)
            low, high = max(first[i] + (index - 1) * pitch[i], bottom[i]), min(first[i] + index * pitch[i], top[i])
            corners[s, i] = min(max(first[i] + (index - 0.5) * pitch[i] + step[i], low), high)


@kernel
def _turn(square: Floats, axes: Floats) -> None:
    """Turn a symmetric 3 x 3 matrix into a diagonal one by plane rotations (Jacobi); axes: the directions as columns."""
    for i in range(3):
        for j in range(3):
            axes[i, j] = 1.0 if i == j else 0.0
    for _ in range(_TURNS):
        beside = square[0, 1] * square[0, 1] + square[0, 2] * square[0, 2] + square[1, 2] * square[1, 2]
        if beside <= _NOTHING * (square[0, 0] * square[0, 0] + square[1, 1] * square[1, 1] + square[2, 2] * square[2, 2]):
            return
        for p in range(2):
            for q in range(p + 1, 3):
                if square[p, q] == 0.0:
                    continue
                half = (square[q, q] - square[p, p]) / (2.0 * square[p, q])
                tan = (1.0 if half >= 0.0 else -1.0) / (abs(half) + math.sqrt(half * half + 1.0))
                cos = 1.0 / math.sqrt(tan * tan + 1.0)
                sin = tan * cos
                square[p, p] -= tan * square[p, q]
                square[q, q] += tan * square[p, q]
                square[p, q] = square[q, p] = 0.0
                r = 3 - p - q
                by_p, by_q = square[r, p], square[r, q]
                square[r, p] = square[p, r] = cos * by_p - sin * by_q
                square[r, q] = square[q, r] = sin * by_p + cos * by_q
                for i in range(3):
                    by_p, by_q = axes[i, p], axes[i, q]
                    axes[i, p], axes[i, q] = cos * by_p - sin * by_q, sin * by_p + cos * by_q
