"""Which moves can come near a body at all, by their boxes: most cannot, and need no closer look."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.clearance.scene import NOBODY, Assemblies, Scene, Tracks
from setwright.geometry.moves import MoveKind
from setwright.geometry.pieces import Meridian

__all__ = ["rows_near"]

_Array = NDArray[np.float64]


def rows_near(scene: Scene, shift: _Array) -> list[NDArray[np.int64]]:
    """For each body the moves whose box, tool and all, meets its box, ascending; `shift` (3,) mm moves them. The others are clear
    of it: boxes are never too small."""
    low, high = _tips(scene.tracks)
    reach, bottom, top = _tools(scene.pieces)
    tool = scene.tracks.tool
    low, high = low + shift, high + shift
    low[:, :2] -= reach[tool, None]
    high[:, :2] += reach[tool, None]
    low[:, 2] += bottom[tool]
    high[:, 2] += top[tool]
    found = []
    for root in scene.forest.root.tolist():
        box = scene.forest.box[root]
        near = (low <= box[3:] + COORDINATE_ROUND_OFF_MM).all(axis=1) & (high >= box[:3] - COORDINATE_ROUND_OFF_MM).all(axis=1)
        found.append(np.flatnonzero(near))
    return found


def _tips(tracks: Tracks) -> tuple[_Array, _Array]:
    """Corners of boxes about the tip's way in each move, float64 (n, 3) each; about an arc that of its whole circle."""
    low, high = np.minimum(tracks.start, tracks.end), np.maximum(tracks.start, tracks.end)
    arcs = np.flatnonzero(tracks.kind == MoveKind.ARC)
    if arcs.size:
        across = np.arange(3) != tracks.axis[arcs, None]
        away = [np.where(across, point[arcs] - tracks.centre[arcs], 0.0) for point in (tracks.start, tracks.end)]
        radius = np.sqrt(np.maximum(*(np.square(each).sum(axis=1) for each in away)))[:, None]
        low[arcs] = np.where(across, tracks.centre[arcs] - radius, low[arcs])
        high[arcs] = np.where(across, tracks.centre[arcs] + radius, high[arcs])
    return low, high


def _tools(pieces: Assemblies) -> tuple[_Array, _Array, _Array]:
    """Greatest radius, lowest and highest height over the tip of each tool's pieces that are looked at, float64 (tools,) each, mm;
    a tool without any reaches nowhere."""
    count = pieces.first.size - 1
    reach, bottom, top = np.zeros(count), np.full(count, np.inf), np.full(count, -np.inf)
    z0, z1, r0, r1, e, _, rho = pieces.shape.T
    widest = np.maximum(np.maximum(r0, r1), np.where(pieces.meridian == Meridian.ARC, e + rho, 0.0))
    owner = np.repeat(np.arange(count), np.diff(pieces.first))
    seen = pieces.group != NOBODY
    np.maximum.at(reach, owner[seen], widest[seen])
    np.minimum.at(bottom, owner[seen], z0[seen])
    np.maximum.at(top, owner[seen], z1[seen])
    return reach, bottom, top
