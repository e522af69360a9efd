"""Where around the tool each motion takes its metal: the immersion map.

The motions run once more through the rays along Z alone, and every stretch that comes off a ray is asked where the cutter meets
it first: how far along the motion, at which angle about the tool, and how much of the motion goes into the surface there. Summed up
in cells, each some ray distances of way long, over SECTORS of the half turn before the tool; what the tip meets by going down is
kept apart.

Angles run from the left of the motion (0) over its front (90 degrees) to its right (180 degrees), as a right-hand cutter turns.
A stretch counts for the width of its ray's cell across the motion and along it, so that the map of an even cut is even. Error
bound: lengths on rays are exact; a border of the map may lie half a ray distance aside, and for pieces other than cylinders a
stretch is met in three parts, each at its middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.threads import map_parts
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import PieceTable
from setwright.removal.along import low_outline
from setwright.removal.arrays import Floats, Ints, Longs
from setwright.removal.bins import bins_of
from setwright.removal.field import ACROSS, TILE, Bundle, Field, Tile
from setwright.removal.gaps import GAP_COLUMNS, PLANE
from setwright.removal.passage import portions_of
from setwright.removal.reach import radius_at
from setwright.removal.sweeps import ACTION, CUT, MOTION, Sweeps, checked
from setwright.removal.tiles_along import work_along

__all__ = ["ANGLE", "BOTTOM", "INTO", "MOMENTS", "PER_RADIUS", "SECTORS", "UP", "VOLUME", "Cells", "Engagement", "cells_of",
           "engagement_of", "lengths_of"]  # fmt: skip

SECTORS: Final = 24
"""Sectors of the half turn before the tool, 7.5 degrees each."""

BOTTOM: Final = SECTORS
"""The place of what the flat bottom meets, behind the sectors."""

VOLUME, INTO, PER_RADIUS, UP, ANGLE = range(5)
MOMENTS: Final = 5
"""Columns: volume mm³; volume times the share of the motion that goes into the surface; volume over the distance from the axis mm²;
volume times the height of the surface's outward normal; volume times the angle, rad."""

_STRETCH_PARTS: Final = 3
_CELL_RAYS: Final = 4.0
_CELLS_AT_MOST: Final = 40_000
_STEPS: Final = 12
_LOG: Final = 4096


@dataclass(frozen=True, slots=True)
class Cells:
    """Ways of one tool at one feed and speed, in the order of the motions; a short way shares its cell with those before it.

    first, count int64 (motions,): the cells of a motion (count 0: it takes nothing off); length float64 (cells,) mm; motion int32
    (cells,): row of the cell's first motion.
    """

    first: NDArray[np.int64]
    count: NDArray[np.int64]
    length: NDArray[np.float64]
    motion: NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Engagement:
    """moments float64 (cells, SECTORS + 1, MOMENTS), from lengths on rays along Z; along float64 (motions,) mm³: the same summed by
    motion; deepest float64 (cells,) mm: the longest stretch a single ray lost to the motions of a cell, all at once."""

    cells: Cells
    moments: NDArray[np.float64]
    along: NDArray[np.float64]
    deepest: NDArray[np.float64]


def lengths_of(moves: Moves) -> NDArray[np.float64]:
    """How far the tip goes in each motion, float64 (n,) mm; of an arc whose radii differ, at their mean."""
    way = moves.end - moves.start
    length = np.sqrt(np.square(way).sum(axis=1))
    for k in np.flatnonzero(moves.kind == MoveKind.ARC).tolist():
        axis = int(moves.axis[k])
        radii = (np.linalg.norm(np.delete(end - moves.centre[k], axis)) for end in (moves.start[k], moves.end[k]))
        length[k] = math.hypot(sum(float(r) for r in radii) / 2.0 * float(moves.sweep[k]), float(way[k, axis]))
    return np.asarray(length)


def cells_of(
    moves: Moves, *, way_mm: NDArray[np.float64], pitch_mm: float, breaks: NDArray[np.bool_], twin: NDArray[np.bool_]
) -> Cells:
    """Cells of the motions that may cut, `way_mm` float64 (motions,) long, but at least four ray distances, and more if that would
    make too many of them.

    `breaks` bool (motions,): another cell begins here whatever the length (another feed or speed); `twin` bool (motions,): this
    row goes the same way as the next one and shares its cells.
    """
    n = len(moves)
    length = np.where(twin, 0.0, lengths_of(moves))
    cutting = moves.cuts & (moves.kind != MoveKind.RAPID)
    least = max(_CELL_RAYS * pitch_mm, float(length[cutting].sum()) / _CELLS_AT_MOST)
    steps = np.maximum(way_mm, least)
    apart = np.ones(n, np.bool_)
    if n > 1:
        jump = np.abs(moves.start[1:] - moves.end[:-1]).max(axis=1) > SAME_PLACE_MM
        apart[1:] = breaks[1:] | ((jump | (moves.tool[1:] != moves.tool[:-1])) & ~twin[:-1]) | ~cutting[:-1]
    first, count = np.zeros(n, np.int64), np.zeros(n, np.int64)
    sizes: list[float] = []
    rows: list[int] = []
    for k in np.flatnonzero(cutting & ~twin).tolist():
        own, step = float(length[k]), float(steps[k])
        lead = k - 1 if k and twin[k - 1] else k  # its twin stands before it
        new = bool(apart[lead]) or not sizes or sizes[-1] >= step or own >= step
        if own >= 2.0 * step:
            parts = int(own / step)
            first[k], count[k] = len(sizes), parts
            sizes += [own / parts] * parts
            rows += [k] * parts
            continue
        if new:
            sizes.append(0.0)
            rows.append(k)
        first[k], count[k] = len(sizes) - 1, 1
        sizes[-1] += own
    for k in np.flatnonzero(cutting & twin).tolist():
        first[k], count[k] = first[k + 1], count[k + 1]
    return Cells(first, count, np.array(sizes), np.array(rows, np.int32))


def engagement_of(field: Field, moves: Moves, pieces: PieceTable, cells: Cells) -> Engagement:
    """The immersion map of motions on their way through the metal. Raises InputRefused as `cut` does. The result does not depend on
    the number of threads."""
    checked(moves, pieces)
    area = float(field.grid.pitch[0] * field.grid.pitch[1])
    moments, along = np.zeros((cells.length.size, SECTORS + 1, MOMENTS)), np.zeros(len(moves))
    deepest = np.zeros(cells.length.size)
    for portion in portions_of(field, moves, pieces):
        sweeps = _cutting(portion.sweeps)
        if not len(sweeps):
            continue
        bundle, found = _run(field, sweeps, cells, moves, portion.first)
        for ids, sums, by_motion, deep in found:
            moments[ids] += sums
            np.maximum.at(deepest, ids, deep)
            along += np.bincount(portion.first + by_motion[0].astype(np.int64), by_motion[1], along.size)
        field = replace(field, bundles=(field.bundles[0], field.bundles[1], bundle))
    return Engagement(cells, moments * area, along * area, deepest)


def _cutting(sweeps: Sweeps) -> Sweeps:
    rows = np.flatnonzero(sweeps.code[:, ACTION] == CUT)
    return Sweeps(sweeps.shape[rows], sweeps.code[rows], sweeps.box[rows], sweeps.slack)


def _shares(sweeps: Sweeps) -> NDArray[np.float64]:
    """From which to which share of its motion a sweep runs, float64 (n, 2): chords of an arc follow each other."""
    motion, way = sweeps.code[:, MOTION], sweeps.shape[:, :6]
    n = motion.size
    other = np.ones(n, np.bool_)  # another chord than the sweep before (which may be another piece on the same chord)
    other[1:] = (motion[1:] != motion[:-1]) | (way[1:] != way[:-1]).any(axis=1)
    starts = np.ones(n, np.bool_)
    starts[1:] = motion[1:] != motion[:-1]
    length = np.where(other, np.sqrt(np.square(way[:, 3:]).sum(axis=1)), 0.0)
    end = np.cumsum(length)
    begin = (end - length)[np.flatnonzero(starts)][np.cumsum(starts) - 1]
    whole = np.bincount(motion, length, int(motion.max()) + 1)[motion] + COORDINATE_ROUND_OFF_MM
    last = (end - begin) / whole
    own = np.sqrt(np.square(way[:, 3:]).sum(axis=1)) / whole
    return np.column_stack([last - own, last])


_Found = tuple[NDArray[np.int64], NDArray[np.float64], tuple[NDArray[np.int32], NDArray[np.float64]], NDArray[np.float64]]


def _run(field: Field, sweeps: Sweeps, cells: Cells, moves: Moves, first_row: int) -> tuple[Bundle, list[_Found]]:
    """The bundle along Z after the sweeps, and what each tile says: cells, their moments in mm of ray, motions and their sums."""
    bundle, bins, shares = field.bundles[2], bins_of(sweeps, field, 2), _shares(sweeps)
    across = list(ACROSS[2])
    first, pitch = field.grid.first[across], field.grid.pitch[across]
    turn = moves.sweep[first_row:]
    reached = np.flatnonzero(np.diff(bins.first)).tolist()

    def one(number: int) -> tuple[Tile, _Found]:
        tile, rows = bundle.tiles[number], bins.rows[bins.first[number] : bins.first[number + 1]]
        amount, longest, touched = np.zeros(rows.size), np.zeros(rows.size), np.zeros(rows.size, np.int64)
        at = first + pitch * np.array([tile.u0, tile.v0])
        ends, count, log, logged = _log_tile(at, pitch, tile.nu, tile.nv, sweeps.shape, sweeps.code, sweeps.box, rows, tile.count,
                                             tile.ends, amount, longest, touched)  # fmt: skip
        mark = np.full(cells.length.size, -1, np.int64)
        ids, sums, deep = _gather(log[:logged], rows, at, pitch, tile.nu, sweeps.shape, sweeps.code, shares, turn,
                                  cells.first[first_row:], cells.count[first_row:], mark)  # fmt: skip
        void = np.zeros(ends.shape, np.int32)
        after = Tile(tile.u0, tile.v0, tile.nu, tile.nv, count, ends, void, void)
        did = np.flatnonzero(touched > 0)
        return after, (ids, sums, (sweeps.code[rows[did], MOTION], amount[did]), deep)

    tiles, done = list(bundle.tiles), map_parts(one, reached)
    for number, (tile, _) in zip(reached, done, strict=True):
        tiles[number] = tile
    return Bundle(2, bundle.nu, bundle.nv, tuple(tiles)), [found for _, found in done]


@kernel
def _log_tile(
    first: Floats, pitch: Floats, nu: int, nv: int, shape: Floats, code: Ints, box: Floats, rows: Ints, count: Ints, ends: Floats,
    amount: Floats, longest: Floats, touched: Longs
) -> tuple[Floats, Ints, Floats, int]:
    """Ends and count of a tile after sweeps that cut, and the log of what they took off; see work_along."""
    new_ends, new_count = ends.copy(), count.copy()
    tags = np.zeros(ends.shape, np.int32)
    columns, scratch, held = np.empty(GAP_COLUMNS * PLANE), np.empty((7, 2 * TILE)), np.empty((3, TILE), np.int64)
    new_ends, tags, log, logged = work_along(
        first, pitch, nu, nv, shape, code, box, rows, new_ends, tags, new_count, amount, longest, touched, np.empty((0, 3)),
        columns, scratch, held, np.empty((_LOG, 4), np.float64))  # fmt: skip
    return new_ends, new_count, log, logged


@kernel
def _first_met(shape: Floats, meridian: int, x: float, y: float, z: float) -> tuple[float, float, float, float, float]:
    """When a straight sweep with some way along the table meets a point first, and where: (share of the sweep, beside and before
    the axis and its distance then in mm, height over the tip). Exact for cylinders and level motions; else by steps that repeat."""
    px, py, dx, dy, dz = x - shape[0], y - shape[1], shape[3], shape[4], shape[5]
    level, over, z0, z1 = math.sqrt(dx * dx + dy * dy), z - shape[2], shape[6], shape[7]
    if level <= COORDINATE_ROUND_OFF_MM:  # straight up: what is above the edges is no cut
        out = math.sqrt(px * px + py * py)
        return 0.0, 0.0, out, out, min(max(over, z0), z1)
    ex, ey = dx / level, dy / level
    along, beside = px * ex + py * ey, py * ex - px * ey
    share, height = 0.0, 0.0
    for _ in range(_STEPS if dz != 0.0 else 1):
        height = min(max(over - share * dz, z0), z1)
        radius = radius_at(meridian, z0, z1, shape[8], shape[9], shape[10], shape[11], shape[12], height)
        half = math.sqrt(max(0.0, radius * radius - beside * beside))
        last, share = share, min(max((along - half) / level, 0.0), 1.0)
        if abs(share - last) * (level + abs(dz)) <= SAME_PLACE_MM:
            break
    before = along - share * level
    return share, beside, before, math.sqrt(before * before + beside * beside), height


@kernel
def _first_met_on_arc(
    shape: Floats, meridian: int, turn: float, x: float, y: float, z: float
) -> tuple[float, float, float, float, float]:
    """As `_first_met` for a level arc that turns by `turn` (rad, signed): (share, beside, before, distance, height)."""
    cx, cy, big = shape[13], shape[14], shape[15]
    height = min(max(z - shape[2], shape[6]), shape[7])
    radius = radius_at(meridian, shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12], height)
    px, py = x - cx, y - cy
    out = math.sqrt(px * px + py * py)
    ahead = math.acos(min(1.0, max(-1.0, (big * big + out * out - radius * radius) / (2.0 * big * out)))) if out > 0.0 else 0.0
    sense = 1.0 if turn > 0.0 else -1.0
    start = math.atan2(shape[1] - cy, shape[0] - cx)  # the sweep runs counter-clockwise: the end of a clockwise motion
    angle = math.atan2(py, px) - sense * ahead
    gone = (angle - start) % (2.0 * math.pi)
    whole = min(abs(turn), 2.0 * math.pi)
    if gone > whole:  # met where the motion begins, as near as rounding can tell
        past, short = gone - whole, 2.0 * math.pi - gone
        gone = whole if past < short else 0.0
    share = gone / whole if turn > 0.0 else 1.0 - gone / whole
    at = start + gone
    hx, hy = -sense * math.sin(at), sense * math.cos(at)
    qx, qy = px - big * math.cos(at), py - big * math.sin(at)
    before, beside = qx * hx + qy * hy, qy * hx - qx * hy
    return share, beside, before, math.sqrt(qx * qx + qy * qy), height


@kernel
def _add_side(
    sums: Floats, cell: int, beside: float, before: float, radius: float, wide: float, lift: float, level: float, rise: float,
    amount: float
) -> None:
    """Add a stretch met at the side, `level` and `rise` the shares of the motion along the table and up, `lift` the height of the
    normal; over the width `wide` of its ray's cell, if that is not 0."""
    flat = math.sqrt(max(0.0, 1.0 - lift * lift))
    low, high = max(-radius, beside - 0.5 * wide), min(radius, beside + 0.5 * wide)
    if wide == 0.0 or high <= low:
        angle = min(max(math.atan2(max(before, 0.0), beside), 0.0), math.pi)
        into = min(max(level * flat * math.sin(angle) + rise * lift, 0.0), 1.0)
        _add(sums, cell, min(int(angle / math.pi * SECTORS), SECTORS - 1), amount, into, radius, lift, angle)
        return
    begin, end = math.acos(min(1.0, high / radius)), math.acos(max(-1.0, low / radius))
    a, b = int(begin / math.pi * SECTORS), min(int(end / math.pi * SECTORS), SECTORS - 1)
    for sector in range(a, b + 1):
        u, v = max(begin, sector * math.pi / SECTORS), min(end, (sector + 1) * math.pi / SECTORS)
        if v <= u:
            continue
        part = amount * radius * (math.cos(u) - math.cos(v)) / (high - low)
        angle = 0.5 * (u + v)
        _add(sums, cell, sector, part, min(max(level * flat * math.sin(angle) + rise * lift, 0.0), 1.0), radius, lift, angle)


@kernel
def _add(sums: Floats, cell: int, sector: int, amount: float, into: float, radius: float, lift: float, angle: float) -> None:
    sums[cell, sector, 0] += amount
    sums[cell, sector, 1] += amount * into
    sums[cell, sector, 2] += amount / max(radius, COORDINATE_ROUND_OFF_MM)
    sums[cell, sector, 3] += amount * lift
    sums[cell, sector, 4] += amount * angle


@kernel
def _lift(shape: Floats, meridian: int, height: float) -> float:
    """Height of the outward normal of a piece's side at a height over the tip."""
    if meridian == 1:
        return float(min(max((height - shape[11]) / shape[12], -1.0), 1.0))
    rise, out = shape[7] - shape[6], shape[9] - shape[8]
    return float(-out / math.sqrt(out * out + rise * rise)) if rise > 0.0 else -1.0


@kernel
def _place(mark: Longs, ids: Longs, total: Longs, cell: int) -> int:
    """The number of a cell among those met, given to it when it is met first; `ids` has room."""
    if mark[cell] < 0:
        mark[cell], ids[total[0]] = total[0], cell
        total[0] += 1
    return int(mark[cell])


@kernel
def _met_going_down(
    shape: Floats, meridian: int, x: float, y: float, low: float, high: float, shares: Floats, cell_first: int, cell_count: int,
    mark: Longs, ids: Longs, total: Longs, sums: Floats, deep: Floats, wide: float
) -> None:
    """A stretch met by a cylinder that goes down along a slope, or by any piece that goes straight down: its upper part at once by
    the side, the rest bit by bit by what is below. Exact."""
    dz, level = shape[5], math.sqrt(shape[3] * shape[3] + shape[4] * shape[4])
    way = math.sqrt(level * level + dz * dz)
    side, beside, before, out = 0.0, 0.0, 0.0, 0.0
    if level > COORDINATE_ROUND_OFF_MM:
        ex, ey = shape[3] / level, shape[4] / level
        along = (x - shape[0]) * ex + (y - shape[1]) * ey
        beside = (y - shape[1]) * ex - (x - shape[0]) * ey
        half = math.sqrt(max(0.0, shape[8] * shape[8] - beside * beside))
        side = min(max((along - half) / level, 0.0), 1.0)
        before = along - side * level
    else:
        beside, before = 0.0, math.sqrt((x - shape[0]) * (x - shape[0]) + (y - shape[1]) * (y - shape[1]))
    out = math.sqrt(beside * beside + before * before)
    foot = low_outline(meridian, shape[6], shape[7], shape[8], shape[9], shape[10], shape[11], shape[12], out)
    flat = level > COORDINATE_ROUND_OFF_MM or out <= shape[8] or shape[9] <= shape[8]
    angle = min(max(math.atan2(max(before, 0.0), beside), 0.0), math.pi)
    split = min(max(shape[2] + foot + side * dz, low), high)
    if high > split:
        share = shares[0] + side * (shares[1] - shares[0])
        cell = _place(mark, ids, total, cell_first + min(int(max(share, 0.0) * cell_count), cell_count - 1))
        deep[cell] = max(deep[cell], high - split)
        _add_side(sums, cell, beside, before, shape[8], wide, 0.0, level / way, dz / way, high - split)
    if split <= low:
        return
    lift = -1.0 if flat else _lift(shape, meridian, foot)
    first, last = (shape[2] + foot - split) / -dz, (shape[2] + foot - low) / -dz
    first = max(shares[0] + min(max(first, 0.0), 1.0) * (shares[1] - shares[0]), 0.0)
    last = max(shares[0] + min(max(last, 0.0), 1.0) * (shares[1] - shares[0]), 0.0)
    a, b = min(int(first * cell_count), cell_count - 1), min(int(last * cell_count), cell_count - 1)
    for k in range(a, b + 1):
        begin, end = max(first, k / cell_count) if k > a else first, min(last, (k + 1) / cell_count) if k < b else last
        amount = (split - low) * ((end - begin) / (last - first) if last > first else 1.0 / (b - a + 1))
        cell = _place(mark, ids, total, cell_first + k)
        deep[cell] = max(deep[cell], amount)
        _add(sums, cell, BOTTOM, amount, dz / way * lift, max(out, 0.25 * wide), lift, angle)


@kernel
def _gather(
    log: Floats, rows: Ints, first: Floats, pitch: Floats, nu: int, shape: Floats, code: Ints, shares: Floats, turn: Floats,
    cell_first: Longs, cell_count: Longs, mark: Longs
) -> tuple[Longs, Floats, Floats]:
    """Cells that a tile's log speaks of, int64 (m,), their moments float64 (m, SECTORS + 1, MOMENTS) in mm of ray, and the longest
    stretch in each, mm. `mark` int64 (cells,), -1 throughout: scratch."""
    total, ids, sums, deep = np.zeros(1, np.int64), np.empty(64, np.int64), np.zeros((64, SECTORS + 1, MOMENTS)), np.zeros(64)
    for row in range(log.shape[0]):
        s, ray, low, taken = rows[int(log[row, 0])], int(log[row, 1]), log[row, 2], log[row, 3]
        one, path, meridian, motion = shape[s], code[s, 0], code[s, 1], code[s, 3]
        many, cells = cell_count[motion], cell_first[motion]
        if many == 0:
            continue
        if total[0] + many > ids.size:
            more = ids.size + many
            ids, deep = np.concatenate((ids, np.zeros(more, np.int64))), np.concatenate((deep, np.zeros(more)))
            sums = np.concatenate((sums, np.zeros((more, SECTORS + 1, MOMENTS))))
        x, y = first[0] + pitch[0] * (ray % nu), first[1] + pitch[1] * (ray // nu)
        upright = meridian == 0 and one[8] == one[9]
        level = math.sqrt(one[3] * one[3] + one[4] * one[4])
        way = math.sqrt(level * level + one[5] * one[5])
        across = max(abs(one[3]), abs(one[4])) / level if path == 0 and level > 0.0 else 1.0
        wide = pitch[0] * across
        if path == 0 and one[5] < 0.0 and (upright or level <= COORDINATE_ROUND_OFF_MM):
            _met_going_down(one, meridian, x, y, low, low + taken, shares[s], cells, many, mark, ids, total, sums, deep, wide)
            continue
        parts = 1 if upright else _STRETCH_PARTS
        for part in range(parts):
            z = low + taken * (part + 0.5) / parts
            if path == 0:
                share, beside, before, radius, height = _first_met(one, meridian, x, y, z)
                share = shares[s, 0] + share * (shares[s, 1] - shares[s, 0])
            else:
                share, beside, before, radius, height = _first_met_on_arc(one, meridian, turn[motion], x, y, z)
            straight = path == 0 and way > 0.0
            run = one[15] * abs(turn[motion]) if path != 0 else (way / (shares[s, 1] - shares[s, 0]) if straight else 1.0)
            begin, end = max(share - 0.5 * wide / run, 0.0), min(share + 0.5 * wide / run, 1.0)
            first_cell, last_cell = min(int(begin * many), many - 1), min(int(end * many), many - 1)
            for k in range(first_cell, last_cell + 1):
                low_end, high_end = max(begin, k / many), min(end, (k + 1) / many)
                part_of = (high_end - low_end) / (end - begin) if last_cell > first_cell else 1.0
                cell = _place(mark, ids, total, cells + k)
                deep[cell] = max(deep[cell], taken)
                _add_side(sums, cell, beside, before, one[8] if upright else radius, wide if upright else 0.0,
                          _lift(one, meridian, height), level / way if straight else 1.0, one[5] / way if straight else 0.0,
                          part_of * taken / parts)  # fmt: skip
    return ids[: total[0]], sums[: total[0]], deep[: total[0]]
