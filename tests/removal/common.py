"""Motions and tools in few words, for the tests of this folder."""

import numpy as np

from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, Piece, PieceTable, Role


def moves(*rows, tool=0):
    """Each row: ("line" | "rapid", start, end) or ("arc", start, end, centre, axis, sweep)."""
    n = len(rows)
    kinds = {"rapid": MoveKind.RAPID, "line": MoveKind.LINE, "arc": MoveKind.ARC}
    centre, axis, sweep = np.zeros((n, 3)), np.zeros(n, np.uint8), np.zeros(n)
    for k, row in enumerate(rows):
        if row[0] == "arc":
            centre[k], axis[k], sweep[k] = row[3], row[4], row[5]
    return Moves(
        np.array([kinds[row[0]] for row in rows], np.uint8),
        np.array([row[1] for row in rows], float).reshape(n, 3),
        np.array([row[2] for row in rows], float).reshape(n, 3),
        centre,
        axis,
        sweep,
        np.broadcast_to(np.asarray(tool, np.int32), n).copy(),
        np.array([row[0] != "rapid" for row in rows], bool),
        np.arange(n, dtype=np.int32),
    )


def cylinder(radius, bottom=0.0, top=20.0, role=Role.CUTTING):
    return Piece(Meridian.LINE, bottom, top, radius, radius, role=role)


def cone(low_radius, high_radius, bottom=0.0, top=5.0, role=Role.CUTTING):
    return Piece(Meridian.LINE, bottom, top, low_radius, high_radius, role=role)


def ball(radius, role=Role.CUTTING):
    """The lower half of a sphere about (0, radius)."""
    return Piece(Meridian.ARC, 0.0, radius, 0.0, radius, 0.0, radius, radius, role)


def zone(e, rho, f, z0, z1, role=Role.CUTTING):
    """Part of a sphere (e = 0) or of a torus."""
    r0, r1 = (e + float(np.sqrt(max(0.0, rho**2 - (z - f) ** 2))) for z in (z0, z1))
    return Piece(Meridian.ARC, z0, z1, r0, r1, e, f, rho, role)


def plain(piece):
    """The piece as the oracle takes it."""
    told = {"z0": piece.z0, "z1": piece.z1, "r0": piece.r0, "r1": piece.r1}
    return told | ({"e": piece.e, "f": piece.f, "rho": piece.rho} if piece.meridian == Meridian.ARC else {})


def tool(*pieces):
    return PieceTable.of([list(pieces)])
