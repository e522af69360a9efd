"""How near the tool assembly comes to each body over a program: never overstated."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from threading import Lock
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.threads import map_parts
from setwright.base.tolerance import CHORD_SAGITTA_MM, DISTANCE_GAP_MM, SAME_PLACE_MM
from setwright.clearance.bodies import Bodies
from setwright.clearance.cull import BLOCK, blocks_of
from setwright.clearance.scan import nearest_points, scan_least, scan_rows
from setwright.clearance.scene import GROUPS, NOBODY, Scene, scene_of
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable, Role

__all__ = ["ClearanceTable", "Progress", "counted", "least_clearance"]

_FIRST_LOOK: Final = 1024
_FIRST_SHARE: Final = 8
Progress = Callable[[int, int], None]
"""Called with parts done and parts in all, from any thread, one at a time; may raise `Cancelled`."""


@dataclass(frozen=True, slots=True, eq=False)
class ClearanceTable:
    """Least distances, one row a body and one column a group of pieces; lengths mm, in the frame of the moves.

    bodies, groups  their names
    lower, upper  float64 (b, g)  the least distance over all moves lies between them; 0 and 0 (0 and a chord's sagitta on an arc):
        they touch or overlap, `find_contacts` tells which. Where nothing came nearer than the cut-off, lower is the cut-off and
        upper is infinite
    ident  int32 (b, g)  the first motion that comes as near, by the caller's number; -1 where nothing came nearer than the cut-off
    row    int64 (b, g)  its row in the moves; -1 likewise
    piece  int64 (b, g)  the row of the piece in its table; -1 likewise
    on_tool, on_body  float64 (b, g, 3)  the two nearest points; nan likewise
    course  float64 (n, b)  lower bound of the distance in each move over all groups, up to `course_within`; None if not asked for
    course_within  where the course is cut off, mm: a value equal to it means "at least that"
    """

    bodies: tuple[str, ...]
    groups: tuple[str, ...]
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    ident: NDArray[np.int32]
    row: NDArray[np.int64]
    piece: NDArray[np.int64]
    on_tool: NDArray[np.float64]
    on_body: NDArray[np.float64]
    course: NDArray[np.float64] | None
    course_within: float


def least_clearance(
    moves: Moves, pieces: PieceTable, bodies: Bodies, *, groups: Mapping[str, Iterable[Role]] = GROUPS, cutoff: float = math.inf,
    course_within: float = 0.0, sagitta: float = CHORD_SAGITTA_MM, progress: Progress | None = None,
) -> ClearanceTable:  # fmt: skip
    """The least distance (mm) between each body and each group of pieces as they are carried along the moves.

    Pieces are exact (not faceted) and so are straight moves; arcs are followed by chords within `sagitta` where it matters. A piece
    that is wholly inside a body counts as distance 0. `cutoff`: distances beyond it are only said to be beyond it. `course_within`
    > 0 asks for the course of the distance from move to move, up to that distance. Groups leave out the roles they do not name.
    Raises `InputRefused` for coordinates that are not finite, a tool that is not in the table, a role in two groups.
    Error bound: upper - lower <= DISTANCE_GAP_MM on straight moves, plus 2 `sagitta` on arcs; lower never exceeds the truth by more
    than COORDINATE_ROUND_OFF_MM. The result does not depend on the number of threads.
    """
    scene, cutoff, course_within = scene_of(moves, pieces, bodies, groups, sagitta), float(cutoff), float(course_within)
    if not cutoff > 0.0 or not course_within >= 0.0 or not math.isfinite(course_within):
        raise InputRefused.because(f"cut-offs of {cutoff} and {course_within} mm make no sense",
                                   why="the first must be above 0, the course's finite and not below 0",
                                   remedy="give lengths in mm, for example 50")  # fmt: skip
    course = np.full((len(bodies), len(moves) if course_within else 0), course_within)
    blocks = blocks_of(scene.tracks)
    parts = [(body, part) for body in range(len(bodies)) for part in range(-(-len(moves) // BLOCK))]
    known = map_parts(lambda body: _first_look(scene, body, len(groups), cutoff, sagitta), range(len(bodies)))
    step = counted(progress, len(parts))

    def look(one: tuple[int, int]) -> _Least:
        body, part = one
        least = _Least.none(known[body])
        scan_least(scene, blocks, body, part, course_within, *least.arrays, course[body, part * BLOCK :])
        step()
        return least

    found = map_parts(look, parts)
    return _table(scene, moves, bodies, tuple(groups), cutoff, parts, found, course if course_within else None, course_within)


@dataclass(frozen=True, slots=True)
class _Least:
    """What a run over some moves found: the arrays of `scan_least`."""

    bounds: NDArray[np.float64]
    who: NDArray[np.int64]

    @classmethod
    def none(cls, bound: NDArray[np.float64]) -> _Least:
        """Nothing found yet below `bound` (g,)."""
        return cls(np.repeat(bound[:, None], 2, axis=1), np.full((bound.size, 2), NOBODY))

    @property
    def arrays(self) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """As the kernel takes them."""
        return self.bounds, self.who


def _first_look(scene: Scene, body: int, groups: int, cutoff: float, sagitta: float) -> NDArray[np.float64]:
    """Distances (g,) that the least of each group does not exceed, from a few moves spread over all: what makes the run quick."""
    least = _Least.none(np.full(groups, cutoff))
    moves = scene.tracks.kind.size
    rows = np.unique(np.linspace(0, moves - 1, min(_FIRST_LOOK, -(-moves // _FIRST_SHARE))).astype(np.int64))
    scan_rows(scene, body, rows, *least.arrays)
    # an arc that may touch ends the search although its upper bound is that much above 0: it must still be heard
    slack = 2 * SAME_PLACE_MM + DISTANCE_GAP_MM + 2 * sagitta
    return np.where(least.who[:, 0] >= 0, np.minimum(cutoff, least.bounds[:, 1] + slack), cutoff)


def _table(
    scene: Scene, moves: Moves, bodies: Bodies, groups: tuple[str, ...], cutoff: float, parts: list[tuple[int, int]],
    found: list[_Least], course: NDArray[np.float64] | None, course_within: float,
) -> ClearanceTable:  # fmt: skip
    """Join the parts in the order of the moves, by the same rule as within a part."""
    shape = (len(bodies), len(groups))
    lower, upper = np.full(shape, cutoff), np.full(shape, np.inf)
    row, piece, points = np.full(shape, NOBODY), np.full(shape, NOBODY), np.full((*shape, 6), np.nan)
    for (body, _), least in zip(parts, found, strict=True):
        lower[body] = np.minimum(lower[body], least.bounds[:, 0])
        for group in np.flatnonzero(least.who[:, 0] >= 0).tolist():
            if least.bounds[group, 1] < upper[body, group] - SAME_PLACE_MM:
                upper[body, group] = least.bounds[group, 1]
                row[body, group], piece[body, group] = least.who[group]
    for body, group in np.argwhere(row >= 0).tolist():
        points[body, group] = nearest_points(scene, body, int(row[body, group]), int(piece[body, group]))
    ident = np.where(row >= 0, moves.ident[np.maximum(row, 0)] if len(moves) else NOBODY, NOBODY).astype(np.int32)
    return ClearanceTable(bodies.names, groups, lower, upper, ident, row, piece, points[..., :3], points[..., 3:],
                          None if course is None else np.ascontiguousarray(course.T), course_within)  # fmt: skip


def counted(progress: Progress | None, total: int) -> Callable[[], None]:
    """A function to call once a part is done; it passes the count on, one thread at a time."""
    if progress is None:
        return lambda: None
    lock, done = Lock(), [0]

    def step() -> None:
        with lock:
            done[0] += 1
            progress(done[0], total)

    return step
