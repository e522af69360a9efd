"""Which moves can come near a body at all, by their boxes: most cannot, and need no closer look.

Moves that follow each other are taken together, eight at a time, then eight such blocks, and so on: one box about the tip's way in
a block, together with a piece of the tool, tells of all its moves at once that none comes nearer than what is known.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.clearance.scene import NOBODY, Assemblies, Scene, Tracks
from setwright.clearance.tree import DEEPEST, Forest
from setwright.geometry.pieces import Meridian

__all__ = ["BLOCK", "FAN", "LEVELS", "Blocks", "blocks_of", "near_any", "piece_boxes", "room_around", "rows_near", "set_piece_box",
           "set_tip_box"]  # fmt: skip

FAN: Final = 8
LEVELS: Final = 4
BLOCK: Final = FAN**LEVELS
"""Moves in a block of the highest level."""

_ARC: Final = 2
_SEVERAL: Final = -1
_Array = NDArray[np.float64]


class Blocks(NamedTuple):
    """Blocks of FAN, FAN² ... moves, level after level; block `i` of a level holds the moves from `i` times its size on.

    box   float64 (k, 6)      about the tip's way, least x y z, greatest x y z, mm
    tool  int32   (k,)        the tool of all its moves, -1 where there are several
    first int64   (LEVELS + 1,) the first block of each level (of level 0, the moves themselves, there are none)
    """

    box: NDArray[np.float64]
    tool: NDArray[np.int32]
    first: NDArray[np.int64]


@kernel
def set_tip_box(tracks: Tracks, row: int, box: NDArray[np.float64]) -> None:
    """Write into `box` (6,) the least and greatest corner of the tip's way in a move, mm; about an arc that of its whole circle."""
    for axis in range(3):
        box[axis] = min(tracks.start[row, axis], tracks.end[row, axis])
        box[axis + 3] = max(tracks.start[row, axis], tracks.end[row, axis])
    if tracks.kind[row] == _ARC:
        u, v = (tracks.axis[row] + 1) % 3, (tracks.axis[row] + 2) % 3
        cu, cv = tracks.centre[row, u], tracks.centre[row, v]
        first = math.hypot(tracks.start[row, u] - cu, tracks.start[row, v] - cv)
        radius = max(first, math.hypot(tracks.end[row, u] - cu, tracks.end[row, v] - cv)) + COORDINATE_ROUND_OFF_MM
        box[u], box[u + 3], box[v], box[v + 3] = cu - radius, cu + radius, cv - radius, cv + radius


@kernel
def set_piece_box(shape: NDArray[np.float64], meridian: int, tip: NDArray[np.float64], swept: NDArray[np.float64]) -> None:
    """Write into `swept` (6,) the least and greatest corner of a piece whose tip goes from the one to the other corner of `tip`
    (6,), or anywhere between them."""
    wide = max(shape[2], shape[3])
    if meridian == 1 and shape[0] <= shape[5] <= shape[1]:
        wide = shape[4] + shape[6]
    for axis in range(3):
        low, high = (shape[0], shape[1]) if axis == 2 else (-wide, wide)
        swept[axis] = min(tip[axis], tip[axis + 3]) + low
        swept[axis + 3] = max(tip[axis], tip[axis + 3]) + high


@kernel
def _fill_blocks(tracks: Tracks, blocks: Blocks) -> None:
    """Write the boxes and tools, each level from the one below."""
    below, tip = tracks.kind.size, np.empty(6)
    for level in range(1, LEVELS + 1):
        count = (below + FAN - 1) // FAN
        for place in range(count):
            block = blocks.first[level] + place
            blocks.box[block, :3], blocks.box[block, 3:] = np.inf, -np.inf
            for part in range(FAN * place, min(FAN * place + FAN, below)):
                inner = blocks.first[level - 1] + part
                if level == 1:
                    set_tip_box(tracks, part, tip)
                box, tool = (tip, tracks.tool[part]) if level == 1 else (blocks.box[inner], blocks.tool[inner])
                for axis in range(3):
                    blocks.box[block, axis] = min(blocks.box[block, axis], box[axis])
                    blocks.box[block, axis + 3] = max(blocks.box[block, axis + 3], box[axis + 3])
                same = part == FAN * place or blocks.tool[block] == tool
                blocks.tool[block] = tool if same else _SEVERAL
        below = count


def blocks_of(tracks: Tracks) -> Blocks:
    """The blocks of the moves `tracks`, a seventh as many as there are moves."""
    count = [int(tracks.kind.size)]
    for _ in range(LEVELS):
        count.append(-(-count[-1] // FAN))
    first = np.concatenate([[0], np.cumsum([0, *count[1:]])]).astype(np.int64)
    blocks = Blocks(np.empty((sum(count[1:]), 6)), np.empty(sum(count[1:]), np.int32), first[:-1])
    _fill_blocks(tracks, blocks)
    return blocks


@kernel
def _gap(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """Distance between two boxes (6,)."""
    square = 0.0
    for axis in range(3):
        apart = max(one[axis] - other[axis + 3], other[axis] - one[axis + 3])
        if apart > 0.0:
            square += apart * apart
    return math.sqrt(square)


@kernel
def room_around(forest: Forest, body: int, box: NDArray[np.float64], enough: float) -> float:
    """Lower bound of the distance (mm) of whatever is in `box` (6,) from the solids of a body, by the boxes of its tree; the search
    ends where one is nearer than `enough`. A box wholly inside a closed surface has room around it too."""
    root = forest.root[body]
    gap = _gap(forest.box[root], box)
    if gap >= enough or forest.left[root] < 0:
        return gap
    stack, least, depth = np.empty(DEEPEST, np.int64), np.inf, 1
    stack[0] = root
    while depth:
        depth -= 1
        node = stack[depth]
        gap = _gap(forest.box[node], box)
        if gap >= enough or forest.left[node] < 0:
            least = min(least, gap)
            if gap < enough:
                return least
            continue
        stack[depth], stack[depth + 1] = forest.left[node] + 1, forest.left[node]
        depth += 2
    return least


def rows_near(scene: Scene, shift: _Array) -> list[NDArray[np.int64]]:
    """For each body the moves whose box, tool and all, meets its box, ascending; `shift` (3,) mm moves them. The others are clear
    of it: boxes are never too small."""
    near = np.zeros((scene.forest.root.size, scene.tracks.kind.size), np.bool_)
    _mark_near(scene, _tools(scene.pieces), shift, near)
    return [np.flatnonzero(each) for each in near]


@kernel
def piece_boxes(tracks: Tracks, pieces: Assemblies, rows: NDArray[np.int64]) -> NDArray[np.float64]:
    """A box about each piece that is looked at, in each of the moves `rows` in turn, float64 (boxes, 6): least x y z, greatest x y
    z, mm; never too small."""
    tip, count = np.empty(6), 0
    for row in rows:
        count += pieces.first[tracks.tool[row] + 1] - pieces.first[tracks.tool[row]]
    boxes, count = np.empty((count, 6)), 0
    for row in rows:
        set_tip_box(tracks, row, tip)
        for piece in range(pieces.first[tracks.tool[row]], pieces.first[tracks.tool[row] + 1]):
            if pieces.group[piece] != NOBODY:
                set_piece_box(pieces.shape[piece], pieces.meridian[piece], tip, boxes[count])
                count += 1
    return boxes[:count]


@kernel
def near_any(tracks: Tracks, pieces: Assemblies, forest: Forest, within: float) -> NDArray[np.bool_]:
    """Moves of which a piece that is looked at may come as near as `within` (mm) to the first body, by boxes; bool (n,)."""
    found, tip, box = np.zeros(tracks.kind.size, np.bool_), np.empty(6), np.empty(6)
    for row in range(tracks.kind.size):
        set_tip_box(tracks, row, tip)
        for piece in range(pieces.first[tracks.tool[row]], pieces.first[tracks.tool[row] + 1]):
            if pieces.group[piece] != NOBODY and not found[row]:
                set_piece_box(pieces.shape[piece], pieces.meridian[piece], tip, box)
                found[row] = room_around(forest, 0, box, within) < within
    return found


@kernel
def _mark_near(scene: Scene, tools: NDArray[np.float64], shift: NDArray[np.float64], near: NDArray[np.bool_]) -> None:
    """Write into `near` (bodies, n) whether boxes meet; `tools` (tools, 6) as from `_tools`."""
    box = np.empty(6)
    for row in range(scene.tracks.kind.size):
        set_tip_box(scene.tracks, row, box)
        tool = scene.tracks.tool[row]
        for axis in range(3):
            box[axis] += shift[axis] + tools[tool, axis] - COORDINATE_ROUND_OFF_MM
            box[axis + 3] += shift[axis] + tools[tool, axis + 3] + COORDINATE_ROUND_OFF_MM
        for body in range(scene.forest.root.size):
            other = scene.forest.box[scene.forest.root[body]]
            meets = True
            for axis in range(3):
                meets = meets and box[axis] <= other[axis + 3] and box[axis + 3] >= other[axis]
            near[body, row] = meets


def _tools(pieces: Assemblies) -> NDArray[np.float64]:
    """The box about each tool's pieces that are looked at, its tip at the origin, float64 (tools, 6), mm; a tool without any is
    nowhere."""
    count = pieces.first.size - 1
    reach, bottom, top = np.full(count, -np.inf), np.full(count, np.inf), np.full(count, -np.inf)
    z0, z1, r0, r1, e, _, rho = pieces.shape.T
    widest = np.maximum(np.maximum(r0, r1), np.where(pieces.meridian == Meridian.ARC, e + rho, 0.0))
    owner = np.repeat(np.arange(count), np.diff(pieces.first))
    seen = pieces.group != NOBODY
    np.maximum.at(reach, owner[seen], widest[seen])
    np.minimum.at(bottom, owner[seen], z0[seen])
    np.maximum.at(top, owner[seen], z1[seen])
    return np.column_stack([-reach, -reach, bottom, reach, reach, top])
