"""Which moves bring which pieces into a body, and how deep: cheap enough to ask again for every "what if"."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.threads import map_parts
from setwright.base.tolerance import CHORD_SAGITTA_MM, CONTACT_DEPTH_MM, COORDINATE_ROUND_OFF_MM, DEPTH_STEP_MM
from setwright.clearance.bodies import Bodies
from setwright.clearance.cull import near_any, piece_boxes, rows_near
from setwright.clearance.least import Progress, counted
from setwright.clearance.push import PUSHES, Verdict, find_deepest, scan_verdicts
from setwright.clearance.scene import GROUPS, NOBODY, Scene, scene_of, tracks_of
from setwright.clearance.support import Solid
from setwright.clearance.tree import grow
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable, Role

__all__ = ["ContactTable", "contact_verdicts", "find_contacts", "moves_near"]

_PART: Final = 2048
_DEPTH_PART: Final = 512
_SAMPLES: Final = 16
_MOST_CHOSEN: Final = 20_000
_UNKNOWN: Final = np.array([0.0, 0.0, NOBODY, np.nan, np.nan, np.nan])


@dataclass(frozen=True, slots=True, eq=False)
class ContactTable:
    """Contacts, one row a body and one column a group of pieces; lengths mm, in the frame of the moves.

    bodies, groups           their names
    verdict  uint8   (n, b, g)  `Verdict` of each move: clear, touching or contact
    count    int64   (b, g)  how many moves are in contact
    first    int64   (b, g)  row of the first such move, -1 if there is none; `first_depth` float64 its depth, nan likewise
    deepest  int64   (b, g)  row of the deepest (the first of those equal to DEPTH_STEP_MM), -1 likewise; `depth` float64 its depth
    push     float64 (b, g, 3)  unit direction in which a push by `depth` frees the deepest move; nan likewise
    place    float64 (b, g, 3)  the place on the body that comes free last under that push; nan likewise

    Depth of a move = the least straight push along an axis (+Z, X, Y, -Z) that frees the group's pieces for the whole move,
    rounded up to DEPTH_STEP_MM and proven to free. It is an upper bound of the least push in any direction, never more than
    sqrt(3) times it against a flat face.
    """

    bodies: tuple[str, ...]
    groups: tuple[str, ...]
    verdict: NDArray[np.uint8]
    count: NDArray[np.int64]
    first: NDArray[np.int64]
    first_depth: NDArray[np.float64]
    deepest: NDArray[np.int64]
    depth: NDArray[np.float64]
    push: NDArray[np.float64]
    place: NDArray[np.float64]


def find_contacts(
    moves: Moves, pieces: PieceTable, bodies: Bodies, *, groups: Mapping[str, Iterable[Role]] = GROUPS,
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0), touching: float = CONTACT_DEPTH_MM, sagitta: float = CHORD_SAGITTA_MM,
    progress: Progress | None = None,
) -> ContactTable:  # fmt: skip
    """The moves in which a group of pieces overlaps a body by more than `touching` (mm; on arcs by more than 4 `sagitta`).

    `shift` moves the whole program against the bodies: a wrong offset or tool length without new arrays. Overlap of `touching` or
    less is reported as touching, so that parts which share a face by design do not count. A piece wholly inside a body is a
    contact. A move reported clear is proven clear. Raises `InputRefused` as `least_clearance` does. The result does not depend on
    the number of threads.
    """
    scene, by = scene_of(moves, pieces, bodies, groups, sagitta), np.array(shift, np.float64)
    if not touching > 0.0 or by.shape != (3,) or not np.isfinite(by).all():
        raise InputRefused.because(f"a shift of {shift} mm with a touching depth of {touching} mm makes no sense",
                                   why="the shift has three finite lengths, the depth is above 0",
                                   remedy="give lengths in mm")  # fmt: skip
    verdict = _verdicts(scene, len(bodies), len(groups), by, touching, progress)
    return _table(scene, bodies, tuple(groups), by, touching, verdict)


def contact_verdicts(
    moves: Moves, pieces: PieceTable, bodies: Bodies, *, groups: Mapping[str, Iterable[Role]] = GROUPS,
    touching: float = CONTACT_DEPTH_MM, sagitta: float = CHORD_SAGITTA_MM, progress: Progress | None = None,
) -> NDArray[np.uint8]:  # fmt: skip
    """Only the `verdict` of `find_contacts`, uint8 (n, b, g): no depths, so that many contacts take no longer than none."""
    scene = scene_of(moves, pieces, bodies, groups, sagitta)
    verdict = _verdicts(scene, len(bodies), len(groups), np.zeros(3), touching, progress)
    return np.ascontiguousarray(verdict.transpose(1, 0, 2))


def moves_near(
    moves: Moves, pieces: PieceTable, chosen: NDArray[np.intp], *, roles: Iterable[Role], within: float
) -> NDArray[np.bool_]:
    """Which moves may sweep with pieces of these roles what one of the moves `chosen` sweeps with any, or what is `within` (mm) of
    that; bool (n,). By boxes, so that none is left out; where more than _MOST_CHOSEN are chosen, it is every move."""
    if chosen.size > _MOST_CHOSEN:
        return np.ones(len(moves), np.bool_)
    about = piece_boxes(*tracks_of(moves, pieces, GROUPS), chosen)
    if not len(about):
        return np.zeros(len(moves), np.bool_)
    forest = grow([np.full(len(about), Solid.BOX, np.uint8)], [np.pad(about, ((0, 0), (0, 3)))], [about])
    return near_any(*tracks_of(moves, pieces, {"": roles}), forest, within + COORDINATE_ROUND_OFF_MM)


def _verdicts(
    scene: Scene, bodies: int, groups: int, by: NDArray[np.float64], touching: float, progress: Progress | None
) -> NDArray[np.uint8]:
    """The verdicts, uint8 (b, n, g)."""
    moves = int(scene.tracks.kind.size)
    verdict = np.zeros((bodies, moves, groups), np.uint8)
    near = rows_near(scene, by)
    parts = [(body, near[body][first : first + _PART]) for body in range(bodies) for first in range(0, near[body].size, _PART)]
    step = counted(progress, len(parts))

    def look(part: tuple[int, NDArray[np.int64]]) -> None:
        body, rows = part
        found = np.zeros((rows.size, groups), np.uint8)
        scan_verdicts(scene, body, groups, rows, by, float(touching), found)
        verdict[body, rows] = found
        step()

    map_parts(look, parts)
    return verdict


def _just_below(found: NDArray[np.float64]) -> NDArray[np.float64]:
    """What `find_deepest` is to exceed so that it finds again all that come as deep as `found`."""
    return np.array([max(found[0] - 4.0 * DEPTH_STEP_MM, 0.0), found[1], NOBODY, np.nan, np.nan, np.nan])


def _table(
    scene: Scene, bodies: Bodies, groups: tuple[str, ...], by: NDArray[np.float64], touching: float, verdict: NDArray[np.uint8]
) -> ContactTable:
    """Depths of the first and the deepest contact of each body and group."""
    shape = (len(bodies), len(groups))
    hit = verdict == Verdict.CONTACT
    first = np.where(hit.any(axis=1), hit.argmax(axis=1) if hit.shape[1] else NOBODY, NOBODY)
    pairs = [(body, group, np.flatnonzero(hit[body, :, group])) for body, group in np.argwhere(first >= 0).tolist()]
    parts = [(at, rows[[sample]], _UNKNOWN) for at, (_, _, rows) in enumerate(pairs)
             for sample in np.unique(np.linspace(0, rows.size - 1, min(_SAMPLES, rows.size)).astype(np.int64))]  # fmt: skip

    def dig(part: tuple[int, NDArray[np.int64], NDArray[np.float64]]) -> NDArray[np.float64]:
        at, rows, known = part
        found = known.copy()
        find_deepest(scene, *pairs[at][:2], rows, by, float(touching), found)
        return found

    sampled = [(part[0], found) for part, found in zip(parts, map_parts(dig, parts), strict=True)]
    known = [max((found for at, found in sampled if at == pair), key=lambda found: found[0]) for pair in range(len(pairs))]
    parts = [(at, rows[begin : begin + _DEPTH_PART], _just_below(known[at])) for at, (_, _, rows) in enumerate(pairs)
             for begin in range(0, rows.size, _DEPTH_PART)]  # fmt: skip
    first_depth, depth = np.full(shape, np.nan), np.full(shape, np.nan)
    deepest = np.full(shape, NOBODY)
    push, place = np.full((*shape, 3), np.nan), np.full((*shape, 3), np.nan)
    for pair, found in sampled:
        body, group, _ = pairs[pair]
        if math.isnan(first_depth[body, group]):
            first_depth[body, group] = found[0]
    for (pair, _, _), found in zip(parts, map_parts(dig, parts), strict=True):
        body, group, _ = pairs[pair]
        if found[2] >= 0 and not found[0] <= depth[body, group]:
            depth[body, group], deepest[body, group] = found[0], int(found[2])
            push[body, group], place[body, group] = PUSHES[int(found[1])], found[3:]
    by_move = np.ascontiguousarray(verdict.transpose(1, 0, 2))
    return ContactTable(bodies.names, groups, by_move, hit.sum(axis=1), first.astype(np.int64), first_depth, deepest, depth, push,
                        place)  # fmt: skip
