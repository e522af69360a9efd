"""Elementary sweeps: one convex piece along one straight line or one level arc, as rows that kernels read.

A motion becomes one sweep for each piece of its tool. Level arcs stay arcs. Helices and arcs in upright planes become chords:
their corners lie on the arc, so a chord runs on the side of the arc's axis, by at most `CHORD_SAGITTA_MM`.

What a sweep does follows from the motion and the piece: a cutting piece in a cutting motion removes metal; everything else only
touches. Where the tool rises a point enters the upper pieces first, so they are tried before the cutting pieces remove
anything; where it sinks or runs level the cutting pieces come first. As no cutting piece sits above a piece that must not
touch, both orders are exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused, Problem
from setwright.base.jit import kernel
from setwright.base.tolerance import CHORD_SAGITTA_MM, COORDINATE_ROUND_OFF_MM
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, PieceTable, Role
from setwright.removal.arrays import Flags, Floats, Ints, Longs
from setwright.removal.fill import Grid

__all__ = ["ACTION", "ARC_LONG", "ARC_SHORT", "ARC_WHOLE", "CUT", "LINE", "MERIDIAN", "MOTION", "PATH", "PIECE", "TOUCH", "Sweeps",
           "across_y", "checked", "sweeps_of"]  # fmt: skip

LINE: Final = 0
ARC_SHORT: Final = 1  # turns by at most half a turn
ARC_LONG: Final = 2  # by more than half a turn
ARC_WHOLE: Final = 3  # by a whole turn or more
CUT: Final = 0
TOUCH: Final = 1
PATH: Final = 0  # columns of `code`
MERIDIAN: Final = 1
ACTION: Final = 2
MOTION: Final = 3
PIECE: Final = 4
_LARGEST_MM: Final = 10_000.0
_CUTTING = int(Role.CUTTING)


@dataclass(frozen=True, slots=True)
class Sweeps:
    """Rows in the order in which they happen.

    shape  float64 (n, 16)  0-2 tip at the start; 3-5 way to the end; 6-12 the piece (z0, z1, r0, r1, e, f, rho); 13-14 centre and
                            15 radius of an arc, which always runs counter-clockwise seen from above; mm
    code   int32 (n, 5)     path (LINE, ARC_...), meridian, action (CUT, TOUCH), row of the motion in `Moves`, row of the piece
    box    float64 (n, 6)   least and greatest corner of what is swept
    slack  float64          the largest sagitta of a chord that stands for an arc (mm), 0 if none does
    """

    shape: NDArray[np.float64]
    code: NDArray[np.int32]
    box: NDArray[np.float64]
    slack: float

    def __len__(self) -> int:
        return int(self.code.shape[0])


def checked(moves: Moves, pieces: PieceTable) -> None:
    """Raise InputRefused, with everything found, if motions or pieces cannot be computed with."""
    problems = [*_piece_problems(pieces), *_move_problems(moves, pieces)]
    if problems:
        raise InputRefused(problems)


def _piece_problems(pieces: PieceTable) -> list[Problem]:
    problems: list[Problem] = []
    if _all_fine(pieces):
        return problems
    for row, (z0, z1, r0, r1, e, f, rho) in enumerate(pieces.shape.tolist()):
        tool = int(np.searchsorted(pieces.first, row, side="right")) - 1
        name = f"piece {row - int(pieces.first[tool]) + 1} of tool {tool + 1}"
        if not all(map(math.isfinite, (z0, z1, r0, r1, e, f, rho))):
            problems.append(Problem(f"{name} has a size that is not a number", remedy="give every size of the tool as a number"))
        elif max(abs(z0), abs(z1), r0, r1, e + rho) > _LARGEST_MM:
            problems.append(Problem(f"{name} is larger than 10 m", remedy="check unit and decimal point of the tool's sizes"))
        elif z1 < z0 or min(r0, r1, e, rho) < 0:
            problems.append(Problem(f"{name} has a negative size", remedy="give radii and heights from the tip up, all positive"))
        elif max(r0, r1) <= 0 and rho <= 0:
            problems.append(Problem(f"{name} has radius 0", why="it has no width to cut with", remedy="give its diameter"))
        elif pieces.meridian[row] == Meridian.ARC and (rho <= 0 or max(abs(z0 - f), abs(z1 - f)) > rho + COORDINATE_ROUND_OFF_MM):
            problems.append(Problem(f"{name} reaches beyond its own circle", remedy="keep z0 and z1 within f ± rho"))
    return problems


def _all_fine(pieces: PieceTable) -> bool:
    """Whether none of the problems of a piece is there, asked of all at once."""
    z0, z1, r0, r1, e, f, rho = pieces.shape.T
    wide = np.maximum(np.maximum(np.abs(z0), np.abs(z1)), np.maximum(np.maximum(r0, r1), e + rho))
    least = np.minimum(np.minimum(r0, r1), np.minimum(e, rho))
    fine = (wide <= _LARGEST_MM) & (z1 >= z0) & (least >= 0) & (np.maximum(np.maximum(r0, r1), rho) > 0)
    within = (rho > 0) & (np.maximum(np.abs(z0 - f), np.abs(z1 - f)) <= rho + COORDINATE_ROUND_OFF_MM)
    arc = pieces.meridian == Meridian.ARC
    return bool(np.isfinite(pieces.shape).all() and (fine & (within | ~arc)).all())


def _move_problems(moves: Moves, pieces: PieceTable) -> list[Problem]:
    problems = []
    bad, far = ~np.isfinite(moves.sweep), np.zeros(len(moves), np.bool_)
    for coordinate in (*moves.start.T, *moves.end.T, *moves.centre.T):
        bad |= ~np.isfinite(coordinate)
        far |= np.abs(coordinate) > _LARGEST_MM
    far &= ~bad
    tools = (moves.tool < 0) | (moves.tool >= pieces.first.size - 1)
    unordered = np.zeros(len(moves), np.bool_)
    unordered[1:] = np.diff(moves.ident) < 0
    unordered[:1] |= moves.ident[:1] < 0
    for wrong, what, remedy in (
        (bad, "has a coordinate that is not a number", "look at the program line it comes from"),
        (far, "goes farther than 10 m", "check the unit and the decimal point"),
        (tools, "uses a tool that is not in the tool table", "add the tool, or correct the tool call"),
        (unordered, "has a number below that of the motion before it", "number the motions in the order in which they happen"),
    ):
        if wrong.any():
            row = int(np.flatnonzero(wrong)[0])
            more = int(wrong.sum()) - 1
            why = f"so do {more} more" if more else ""
            problems.append(Problem(f"motion {int(moves.ident[row])} {what}", why=why, remedy=remedy))
    return problems


def sweeps_of(moves: Moves, pieces: PieceTable, *, within: Grid | None = None, touch_only: bool = False) -> Sweeps:
    """Every sweep of `moves` (checked) with the pieces of their tools, but for those that surely meet no ray of `within`; with
    `touch_only` none of them removes anything."""
    part, slack = _parts(moves)
    cutting = moves.cuts[part.motion] & (moves.kind[part.motion] != MoveKind.RAPID) & (not touch_only)
    low, high = (np.full(3, -np.inf), np.full(3, np.inf)) if within is None else (within.low, within.high)
    given = (part.motion, part.path, part.start, part.way, part.arc, part.box, moves.tool.astype(np.int64), cutting,
             pieces.first.astype(np.int64), pieces.shape, pieces.meridian.astype(np.int64), pieces.role == _CUTTING,
             _widths(pieces), low, high)  # fmt: skip
    count = _written(*given, np.empty((0, 16)), np.empty((0, 5), np.int32), np.empty((0, 6)))
    found = Sweeps(np.empty((count, 16)), np.empty((count, 5), np.int32), np.empty((count, 6)), slack)
    _written(*given, found.shape, found.code, found.box)
    return found


def _widths(pieces: PieceTable) -> NDArray[np.float64]:
    """The widest radius of each piece, float64 (n,), mm."""
    z0, z1, r0, r1, e, f, rho = pieces.shape.T
    belly = (pieces.meridian == Meridian.ARC) & (z0 <= f) & (f <= z1)
    return np.asarray(np.where(belly, e + rho, np.maximum(r0, r1)), np.float64)


@kernel
def _written(
    motion: Longs, path: Longs, start: Floats, way: Floats, arc: Floats, tip: Floats, tool: Longs, cutting: Flags, first: Longs,
    piece: Floats, meridian: Longs, cutter: Flags, width: Floats, low: Floats, high: Floats, shape: Floats, code: Ints, box: Floats
) -> int:  # fmt: skip
    """Count the sweeps (no room in `shape`) or write them; those whose box misses the box from `low` to `high` are left out."""
    n = 0
    for row in range(motion.size):
        t = tool[motion[row]]
        for turn in range(2):
            wanted = (turn == 0) != (way[row, 2] > 0.0)  # cutting pieces first, but for where the tool rises
            for k in range(first[t], first[t + 1]):
                cuts = cutting[row] and cutter[k]
                x0, y0, z0 = tip[row, 0] - width[k], tip[row, 1] - width[k], tip[row, 2] + piece[k, 0]
                x1, y1, z1 = tip[row, 3] + width[k], tip[row, 4] + width[k], tip[row, 5] + piece[k, 1]
                meets = x0 < high[0] and x1 > low[0] and y0 < high[1] and y1 > low[1] and z0 < high[2] and z1 > low[2]
                if cuts != wanted or not meets:
                    continue
                if shape.shape[0] > 0:
                    shape[n, :3], shape[n, 3:6], shape[n, 6:13], shape[n, 13:] = start[row], way[row], piece[k], arc[row]
                    code[n, 0], code[n, 1], code[n, 2], code[n, 3], code[n, 4] = path[row], meridian[k], not cuts, motion[row], k
                    box[n, 0], box[n, 1], box[n, 2], box[n, 3], box[n, 4], box[n, 5] = x0, y0, z0, x1, y1, z1
                n += 1
    return n


@dataclass(frozen=True, slots=True)
class _Parts:
    """Lines and level arcs of the tip: row of the motion, path, start, way, (centre x, centre y, radius), box of the tip."""

    motion: NDArray[np.int64]
    path: NDArray[np.int64]
    start: NDArray[np.float64]
    way: NDArray[np.float64]
    arc: NDArray[np.float64]
    box: NDArray[np.float64]


def _parts(moves: Moves) -> tuple[_Parts, float]:
    lines = np.flatnonzero(moves.kind != MoveKind.ARC)
    arcs = np.flatnonzero(moves.kind == MoveKind.ARC)
    if arcs.size == 0:
        return _line_parts(lines, moves.start, moves.end), 0.0
    found = [_line_parts(lines, moves.start[lines], moves.end[lines])]
    slack = 0.0
    for row in arcs.tolist():
        level = _level_arc(moves, row)
        if level is None:
            corners, sagitta = _corners(moves, row)
            slack = max(slack, sagitta)
            level = _line_parts(np.full(len(corners) - 1, row), corners[:-1], corners[1:])
        found.append(level)
    joined = [np.concatenate([getattr(p, name) for p in found]) for name in ("motion", "path", "start", "way", "arc", "box")]
    order = np.argsort(joined[0], kind="stable")
    return _Parts(*(values[order] for values in joined)), slack


def _line_parts(motion: NDArray[np.int64], start: NDArray[np.float64], end: NDArray[np.float64]) -> _Parts:
    box = np.column_stack([np.minimum(start, end), np.maximum(start, end)])
    return _Parts(motion, np.full(motion.size, LINE), start, end - start, np.zeros((motion.size, 3)), box)


def _level_arc(moves: Moves, row: int) -> _Parts | None:
    """The arc as one part, counter-clockwise; None if it is no level arc or does not come back to its own radius."""
    start, end, sweep = moves.start[row], moves.end[row], float(moves.sweep[row])
    if moves.axis[row] != 2 or start[2] != end[2] or sweep == 0.0:
        return None
    centre = _even_centre(start[:2], end[:2], moves.centre[row, :2], sweep)
    if centre is None:
        return None
    radius = float(np.hypot(*(start[:2] - centre)))
    first, last = (start, end) if sweep > 0 else (end, start)
    a, b = first[:2] - centre, last[:2] - centre
    if abs(sweep) >= 2 * math.pi - COORDINATE_ROUND_OFF_MM / max(radius, 1.0):
        path = ARC_WHOLE
    else:
        path = ARC_SHORT if a[0] * b[1] - a[1] * b[0] >= 0 else ARC_LONG
    low, high = np.minimum(start, end), np.maximum(start, end)
    for x, y in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
        after, before = a[0] * y - a[1] * x >= 0, x * b[1] - y * b[0] >= 0
        if path == ARC_WHOLE or (after and before if path == ARC_SHORT else after or before):
            reach = np.array([centre[0] + radius * x, centre[1] + radius * y])
            low[:2], high[:2] = np.minimum(low[:2], reach), np.maximum(high[:2], reach)
    arc = np.array([[centre[0], centre[1], radius]])
    return _Parts(np.array([row]), np.array([path]), first[None], (last - first)[None], arc, np.concatenate([low, high])[None])


def _even_centre(
    start: NDArray[np.float64], end: NDArray[np.float64], centre: NDArray[np.float64], sweep: float
) -> NDArray[np.float64] | None:
    """The point nearest `centre` that is equally far from both ends; None where the ends do not fix it well.

    Programs round centres to the last written place, so that the two radii differ a little; the arc that joins both ends
    exactly differs from either reading by less than that difference.
    """
    chord = end - start
    length = float(np.hypot(*chord))
    radius = float(np.hypot(*(start - centre)))
    mismatch = abs(radius - float(np.hypot(*(end - centre))))
    if mismatch <= COORDINATE_ROUND_OFF_MM / 1000:
        return centre if radius > 0 else None
    if length < radius / 4 or abs(sweep) >= 2 * math.pi:
        return None
    along = chord / length
    return np.asarray(centre + along * float(np.dot((start + end) / 2 - centre, along)), np.float64)


def _corners(moves: Moves, row: int) -> tuple[NDArray[np.float64], float]:
    """Corners float64 (k, 3) of the chords that stand for an arc, on the arc, and the sagitta they leave (mm).

    Where the radii at the ends differ the radius changes evenly with the turn.
    """
    axis = int(moves.axis[row])
    u, v = (axis + 1) % 3, (axis + 2) % 3
    start, end, centre, sweep = moves.start[row], moves.end[row], moves.centre[row], float(moves.sweep[row])
    radius0 = math.hypot(start[u] - centre[u], start[v] - centre[v])
    radius1 = math.hypot(end[u] - centre[u], end[v] - centre[v])
    radius = max(radius0, radius1)
    if radius <= CHORD_SAGITTA_MM:
        return np.array([start, centre + (start - centre) * np.eye(3)[axis], end]), radius
    step = 2 * math.acos(1 - CHORD_SAGITTA_MM / radius)
    count = max(1, math.ceil(abs(sweep) / step))
    share = np.arange(count + 1) / count
    angle = math.atan2(start[v] - centre[v], start[u] - centre[u]) + share * sweep
    around = radius0 + share * (radius1 - radius0)
    corners = np.empty((count + 1, 3))
    corners[:, u] = centre[u] + around * np.cos(angle)
    corners[:, v] = centre[v] + around * np.sin(angle)
    corners[:, axis] = start[axis] + share * (end[axis] - start[axis])
    corners[0], corners[-1] = start, end
    return corners, radius * (1 - math.cos(abs(sweep) / count / 2))


def across_y(sweeps: Sweeps) -> Sweeps:
    """The same sweeps with x and y exchanged, arcs turned round so that they run counter-clockwise again.

    Pieces are round, so rays along Y see the mirrored motion as rays along X would.
    """
    shape, box = sweeps.shape.copy(), sweeps.box[:, [1, 0, 2, 4, 3, 5]]
    turned = sweeps.code[:, PATH] != LINE
    shape[turned, :3] += shape[turned, 3:6]
    shape[turned, 3:6] *= -1
    shape = shape[:, [1, 0, 2, 4, 3, 5, 6, 7, 8, 9, 10, 11, 12, 14, 13, 15]]
    return Sweeps(np.ascontiguousarray(shape), sweeps.code, np.ascontiguousarray(box), sweeps.slack)
