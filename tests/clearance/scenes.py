"""Small scenes for the clearance tests: moves through points, plain tools, meshes of simple solids."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, Piece, PieceTable, Role

CUBE = np.array([[0, 2, 1], [1, 2, 3], [4, 5, 6], [5, 7, 6], [0, 1, 4], [1, 5, 4], [2, 6, 3], [3, 6, 7], [0, 4, 2], [2, 4, 6],
                 [1, 3, 5], [3, 7, 5]])  # fmt: skip


def through(*points: tuple[float, float, float], tool: int = 0) -> Moves:
    """Straight moves from point to point."""
    at = np.array(points, np.float64)
    count = len(at) - 1
    return Moves(np.full(count, MoveKind.LINE, np.uint8), at[:-1], at[1:], np.zeros((count, 3)), np.full(count, 2, np.uint8),
                 np.zeros(count), np.full(count, tool, np.int32), np.ones(count, np.bool_),
                 np.arange(10, 10 + count, dtype=np.int32))  # fmt: skip


def at(*point: float) -> Moves:
    """A tool that stands still."""
    return through(point, point)  # type: ignore[arg-type]


def arc(centre: tuple[float, float, float], radius: float, start: float, sweep: float, *, axis: int = 2, rise: float = 0.0,
        miss: float = 0.0) -> Moves:  # fmt: skip
    """One arc or helix about `axis`; `miss`: how far its stated end lies outside its circle, mm."""
    u, v = (axis + 1) % 3, (axis + 2) % 3
    places = np.empty((2, 3))
    for row, angle, r in ((0, start, radius), (1, start + sweep, radius + miss)):
        places[row, u] = centre[u] + r * np.cos(angle)
        places[row, v] = centre[v] + r * np.sin(angle)
        places[row, axis] = centre[axis] + row * rise
    return Moves(np.array([MoveKind.ARC], np.uint8), places[:1], places[1:], np.array([centre], np.float64),
                 np.array([axis], np.uint8), np.array([sweep]),
                 np.zeros(1, np.int32), np.ones(1, np.bool_), np.array([3], np.int32))  # fmt: skip


def table(*pieces: Piece) -> PieceTable:
    """One tool."""
    return PieceTable.of([list(pieces)])


def cylinder(radius: float, z0: float, z1: float, role: Role = Role.CUTTING) -> Piece:
    """A cylinder."""
    return Piece(Meridian.LINE, z0, z1, radius, radius, role=role)


def cone(r0: float, r1: float, z0: float, z1: float) -> Piece:
    """A frustum."""
    return Piece(Meridian.LINE, z0, z1, r0, r1)


def ball(radius: float, z: float = 0.0) -> Piece:
    """A whole sphere about height z."""
    return Piece(Meridian.ARC, z - radius, z + radius, 0.0, 0.0, 0.0, z, radius)


def toroid(e: float, rho: float) -> Piece:
    """A torus zone with its filled inside, tip at 0: the end of a tool with rounded corners and its mirror image above."""
    return Piece(Meridian.ARC, 0.0, 2 * rho, e, e, e, rho, rho)


def cube_mesh(least: ArrayLike, greatest: ArrayLike) -> NDArray[np.float64]:
    """The twelve triangles of a box, turned outwards."""
    low, high = np.asarray(least, np.float64), np.asarray(greatest, np.float64)
    corners = np.array([[(low, high)[(c >> axis) & 1][axis] for axis in range(3)] for c in range(8)])
    return corners[CUBE]


def turned_about_z(points: NDArray[np.float64], angle: float, by: ArrayLike) -> NDArray[np.float64]:
    """Points (..., 3) turned about Z, then moved."""
    c, s = np.cos(angle), np.sin(angle)
    return points @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]]) + np.asarray(by)
