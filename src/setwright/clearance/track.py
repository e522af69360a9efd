"""Distance of one piece along any move: straight, arc or helix.

A straight move is one convex sweep. An arc is looked at through chords, halved only where a nearer result could still come from:
the difference between arc and chord is taken off every lower bound and added to every upper one, so what comes out holds for the
arc.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.clearance.inside import is_inside
from setwright.clearance.scene import Scene, Tracks
from setwright.clearance.walk import near_line

__all__ = ["near_move", "starts_inside", "stray_of_chords"]

_ARC: Final = 2
_DEEPEST_HALVING: Final = 64


@kernel
def _turn(tracks: Tracks, row: int) -> tuple[float, float, float, float]:
    """Of an arc: start radius, end radius, start angle, and how far its own end misses the stated one (mm, mm, rad, mm)."""
    u, v = (tracks.axis[row] + 1) % 3, (tracks.axis[row] + 2) % 3
    cu, cv = tracks.centre[row, u], tracks.centre[row, v]
    first = math.hypot(tracks.start[row, u] - cu, tracks.start[row, v] - cv)
    last = math.hypot(tracks.end[row, u] - cu, tracks.end[row, v] - cv)
    angle = math.atan2(tracks.start[row, v] - cv, tracks.start[row, u] - cu)
    reached = angle + tracks.sweep[row]
    miss = math.hypot(cu + last * math.cos(reached) - tracks.end[row, u], cv + last * math.sin(reached) - tracks.end[row, v])
    return first, last, angle, miss


@kernel
def stray_of_chords(scene: Scene, row: int) -> float:
    """How far the finest chords of move `row` may lie from it, mm: 0 for a straight move."""
    return scene.sagitta + _turn(scene.tracks, row)[3] if scene.tracks.kind[row] == _ARC else 0.0


@kernel
def _set_chord(
    tracks: Tracks, row: int, turn: tuple[float, float, float, float], t0: float, t1: float, shift: NDArray[np.float64],
    line: NDArray[np.float64],
) -> float:  # fmt: skip
    """Write the chord of a move between two fractions of it into `line` (6,); return how far the move may stray from the chord, mm.

    Between its ends a curve differs from its chord, point for point, by at most (t1 - t0)² / 8 times its largest second derivative,
    here of c + r(t) (cos a(t), sin a(t)) with r and a linear in t. Source: the remainder of linear interpolation.
    """
    if tracks.kind[row] != _ARC:
        for axis in range(3):
            line[axis] = tracks.start[row, axis] + shift[axis]
            line[axis + 3] = tracks.end[row, axis] + shift[axis]
        return 0.0
    first, last, angle, miss = turn
    axis = tracks.axis[row]
    u, v = (axis + 1) % 3, (axis + 2) % 3
    for place, t in ((0, t0), (3, t1)):
        radius = first + t * (last - first)
        a = angle + t * tracks.sweep[row]
        line[place + u] = tracks.centre[row, u] + radius * math.cos(a) + shift[u]
        line[place + v] = tracks.centre[row, v] + radius * math.sin(a) + shift[v]
        line[place + axis] = tracks.start[row, axis] + t * (tracks.end[row, axis] - tracks.start[row, axis]) + shift[axis]
    sweep = abs(tracks.sweep[row])
    bend = float(max(first, last) * sweep * sweep + 2.0 * abs(last - first) * sweep)
    return bend * (t1 - t0) * (t1 - t0) / 8.0 + miss


@kernel
def starts_inside(scene: Scene, piece: int, row: int, body: int, shift: NDArray[np.float64], work: NDArray[np.float64]) -> bool:
    """Whether the middle of a piece at the start of its move is inside the body's surfaces; if so the place goes to `work[8]`."""
    for axis in range(3):
        work[8, axis] = scene.tracks.start[row, axis] + shift[axis]
    work[8, 2] += (scene.pieces.shape[piece, 0] + scene.pieces.shape[piece, 1]) / 2.0
    work[8, 3:6] = work[8, :3]
    return is_inside(scene.forest, body, work[8, 0], work[8, 1], work[8, 2])


@kernel
def near_move(
    scene: Scene, piece: int, row: int, body: int, shift: NDArray[np.float64], bound: float, hint: int, work: NDArray[np.float64]
) -> tuple[float, float, int]:
    """Least distance of a piece along move `row`, shifted as a whole by `shift` (3,), from a body, if less than `bound` (mm).

    Returns lower bound, upper bound and the nearest solid; the lower bound always holds and is never above `bound`; the others are
    inf and -1 if nothing nearer than `bound` was found. (0, 0, solid) for a straight move that meets the body, (0, u, solid) for an
    arc whose chords, straying from it by no more than u, do; solid is -2 for a piece that starts inside a closed surface. `hint`: a
    solid likely to be near, or -1; `work` float64 (`WORK_ROWS`, 9): on return `work[8, :6]` the nearest points on piece and body.
    Error bound: as `separate` for lines; for arcs upper - lower grows by at most twice the sagitta (and twice the miss of an arc
    whose stated end is off it).
    """
    if scene.forest.meshed[body] and starts_inside(scene, piece, row, body, shift, work):
        return 0.0, 0.0, -2
    tracks, finest = scene.tracks, stray_of_chords(scene, row)
    line, points, ends = np.empty(6), np.zeros(6), np.empty((_DEEPEST_HALVING, 2))
    turn = _turn(tracks, row)
    best, low, nearest = bound, bound, -1
    quarters = max(1, math.ceil(abs(tracks.sweep[row]) / (math.pi / 2.0))) if tracks.kind[row] == _ARC else 1
    for quarter in range(quarters):
        ends[0, 0], ends[0, 1], depth = quarter / quarters, (quarter + 1) / quarters, 1
        while depth and low > 0.0:
            depth -= 1
            t0, t1 = ends[depth, 0], ends[depth, 1]
            stray = _set_chord(tracks, row, turn, t0, t1, shift, line)
            lower, upper, solid = near_line(scene.pieces.meridian[piece], scene.pieces.shape[piece], line, scene.forest, body,
                                            best + stray, hint, work)  # fmt: skip
            if lower - stray >= best:
                continue
            if solid >= 0:
                hint = solid
                if upper + stray < best or nearest < 0:
                    best, nearest = min(best, upper + stray), solid
                    points[:] = work[8, :6]
            if stray > finest and depth + 2 <= _DEEPEST_HALVING:
                middle = (t0 + t1) / 2.0
                ends[depth, 0], ends[depth, 1] = middle, t1
                ends[depth + 1, 0], ends[depth + 1, 1] = t0, middle
                depth += 2
            else:
                low = max(0.0, min(low, lower - stray))
    if nearest < 0:
        return low, np.inf, -1
    work[8, :6] = points
    return min(low, best), best, nearest
