"""Convex revolved pieces: what every tool, shank, holder and spindle nose is made of, as arrays that kernels read.

A piece is the solid of revolution about the tool axis (+Z, away from the work) of a meridian r(z) that is concave over
[z0, z1]; so the piece is convex, and so is what it sweeps along a straight line. Two kinds of meridian suffice:

- LINE: r runs straight from r0 at z0 to r1 at z1 (cylinder, frustum, cone, disc when z0 = z1);
- ARC: r(z) = e + sqrt(rho² − (z − f)²), the part of a circle of radius rho about (e, f) that bulges outward, e >= 0
  (sphere zone when e = 0, torus zone with its filled inside otherwise); r0 and r1 are its values at z0 and z1.

Heights are measured from the tool tip (z = 0), in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Self

import numpy as np
from numpy.typing import NDArray

__all__ = ["Meridian", "Piece", "PieceTable", "Role", "thickened"]


class Meridian(IntEnum):
    """The shape of a piece's outline."""

    LINE = 0
    ARC = 1


class Role(IntEnum):
    """What a piece is: only CUTTING pieces may remove metal; any other that meets metal is a contact."""

    CUTTING = 0
    NECK = 1
    SHANK = 2
    HOLDER = 3
    NOSE = 4


@dataclass(frozen=True, slots=True)
class Piece:
    """One convex revolved piece; fields as in the module's description, mm from the tool tip."""

    meridian: Meridian
    z0: float
    z1: float
    r0: float
    r1: float
    e: float = 0.0
    f: float = 0.0
    rho: float = 0.0
    role: Role = Role.CUTTING

    @property
    def widest(self) -> float:
        """The largest radius of the piece, mm."""
        if self.meridian is Meridian.ARC and self.z0 <= self.f <= self.z1:
            return self.e + self.rho
        return max(self.r0, self.r1)


@dataclass(frozen=True, slots=True)
class PieceTable:
    """The pieces of several tools in flat arrays; tool t owns rows `first[t]` up to `first[t + 1]`.

    `meridian`, `role`: uint8 (n,). `shape`: float64 (n, 7), columns z0, z1, r0, r1, e, f, rho in mm from the tool tip.
    `first`: int64 (tools + 1,).
    """

    meridian: NDArray[np.uint8]
    role: NDArray[np.uint8]
    shape: NDArray[np.float64]
    first: NDArray[np.int64]

    @classmethod
    def of(cls, tools: list[list[Piece]]) -> Self:
        """Pack the pieces of each tool, in order."""
        pieces = [piece for tool in tools for piece in tool]
        shape = np.array([[p.z0, p.z1, p.r0, p.r1, p.e, p.f, p.rho] for p in pieces], np.float64).reshape(len(pieces), 7)
        return cls(
            np.array([p.meridian for p in pieces], np.uint8),
            np.array([p.role for p in pieces], np.uint8),
            shape,
            np.concatenate([[0], np.cumsum([len(tool) for tool in tools])]).astype(np.int64),
        )


def thickened(piece: Piece, by: float) -> list[Piece]:
    """Everything that lies within `by` (mm, above 0) of a piece, as pieces: its outline moved outward, and a round edge at
    each end. Exact but for round-off.

    >>> [(p.z0, p.z1) for p in thickened(Piece(Meridian.LINE, 0.0, 10.0, 5.0, 5.0), 1.0)]
    [(0.0, 10.0), (-1.0, 0.0), (10.0, 11.0)]
    """
    if piece.meridian is Meridian.ARC:
        grown = (piece.rho + by) / piece.rho
        first, last = by * (piece.z0 - piece.f) / piece.rho, by * (piece.z1 - piece.f) / piece.rho
        own = replace(piece, z0=piece.f + (piece.z0 - piece.f) * grown, z1=piece.f + (piece.z1 - piece.f) * grown,
                      r0=piece.e + (piece.r0 - piece.e) * grown, r1=piece.e + (piece.r1 - piece.e) * grown,
                      rho=piece.rho + by)  # fmt: skip
    else:
        high, wide = piece.z1 - piece.z0, piece.r1 - piece.r0
        slant = math.hypot(high, wide)
        out, first = (by * high / slant, -by * wide / slant) if high > 0.0 else (0.0, 0.0)
        last = first
        own = replace(piece, z0=piece.z0 + first, z1=piece.z1 + last, r0=piece.r0 + out, r1=piece.r1 + out)
    ends = [_round(piece.r0, piece.z0, by, -by, first, piece.role), _round(piece.r1, piece.z1, by, last, by, piece.role)]
    return [one for one in (own, *ends) if one.z1 > one.z0 or (one is own and max(one.r0, one.r1) > 0.0)]


def _round(e: float, f: float, rho: float, low: float, high: float, role: Role) -> Piece:
    """The part of a round edge of radius `rho` about (e, f) between two heights above f."""
    r0, r1 = (e + math.sqrt(max(rho**2 - height**2, 0.0)) for height in (low, high))
    return Piece(Meridian.ARC, f + low, f + high, r0, r1, e, f, rho, role)
