"""Convex revolved pieces: what every tool, shank, holder and spindle nose is made of, as arrays that kernels read.

A piece is the solid of revolution about the tool axis (+Z, away from the work) of a meridian r(z) that is concave over
[z0, z1]; so the piece is convex, and so is what it sweeps along a straight line. Two kinds of meridian suffice:

- LINE: r runs straight from r0 at z0 to r1 at z1 (cylinder, frustum, cone, disc when z0 = z1);
- ARC: r(z) = e + sqrt(rho² − (z − f)²), the part of a circle of radius rho about (e, f) that bulges outward, e >= 0
  (sphere zone when e = 0, torus zone with its filled inside otherwise); r0 and r1 are its values at z0 and z1.

Heights are measured from the tool tip (z = 0), in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Self

import numpy as np
from numpy.typing import NDArray

__all__ = ["Meridian", "Piece", "PieceTable", "Role"]


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
