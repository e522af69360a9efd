"""The equation of every contact, and its derivatives.

The part's place: machine point = R(θ, α, β) · work point + t, with R = Rz(θ) Ry(β) Rx(α). A contact is a machine point p
(display less half a step) that the unknowns x may shift (backlash, growth, tool length):

    w = Rᵀ (p + S x − t) + K x                where the instrument's centre was, in work coordinates (K: scale, place of a feature)
    plane     n·w − offset           + D x = 0
    round     ±‖w_xy − centre‖ − radius + D x = 0      minus on the side of the centre where the tip cannot have met the wall
    middle    w_axis − centre_axis   + D x = 0
    linear    constant               + D x = 0

D carries the effective radius of the instrument and the size of the feature. Rows are built once; evaluation is a handful of array
operations, complex arguments included, so that derivatives can be checked by the complex step.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import TINY
from setwright.estimate.distribution import Distribution
from setwright.estimate.least_squares import Array
from setwright.touch.unknowns import POSE, Unknowns

__all__ = ["Equations", "Kind", "Row", "rotation", "signed_distance"]


class Kind(IntEnum):
    """Which of the four equations a row follows."""

    PLANE = 0
    ROUND = 1
    MIDDLE = 2
    LINEAR = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One observation. Lengths mm; `point` in M, `normal` and `centre` in W.

    normal: outward unit normal of a plane; the axis read, for MIDDLE; from the centre to the side met, for ROUND (zero: any side).
    offset: of the plane, the radius of a ROUND, the constant of
    LINEAR. shift: unknown's name -> machine vector; carry: name -> work vector; direct: name -> coefficient.
    noise: (line of the budget, error of this reading alone), each centred on zero. sense: +1 when a larger residual means that the
    instrument met the face before it should (burr), −1 when after, 0 where neither word fits. unread: half of the stretch (mm)
    along which the contact may lie because the coordinate across was not read; unread_depth: the same along Z for an upright face.
    reading: its number in the order of entry.
    """

    kind: Kind
    label: str
    point: tuple[float, float, float] = (0.0, 0.0, 0.0)
    normal: tuple[float, float, float] = (0.0, 0.0, 0.0)
    centre: tuple[float, float, float] = (0.0, 0.0, 0.0)
    offset: float = 0.0
    shift: tuple[tuple[str, tuple[float, float, float]], ...] = ()
    carry: tuple[tuple[str, tuple[float, float, float]], ...] = ()
    direct: tuple[tuple[str, float], ...] = ()
    noise: tuple[tuple[str, Distribution], ...] = ()
    sense: int = 0
    unread: float = 0.0
    unread_depth: float = 0.0
    reading: int = -1

    @property
    def standard(self) -> float:
        """Standard uncertainty of the reading alone."""
        return float(np.sqrt(sum(d.standard**2 for _, d in self.noise)))


def rotation(theta: Any, alpha: Any, beta: Any) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]]:
    """R = Rz(θ) Ry(β) Rx(α) and its derivatives by θ, α, β; (3, 3) each, complex if an angle is."""
    cz, sz, cx, sx, cy, sy = np.cos(theta), np.sin(theta), np.cos(alpha), np.sin(alpha), np.cos(beta), np.sin(beta)
    z, dz = np.array([[cz, -sz, 0.0], [sz, cz, 0.0], [0.0, 0.0, 1.0]]), np.array([[-sz, -cz, 0.0], [cz, -sz, 0.0], [0.0, 0.0, 0.0]])
    x, dx = np.array([[1.0, 0.0, 0.0], [0.0, cx, -sx], [0.0, sx, cx]]), np.array([[0.0, 0.0, 0.0], [0.0, -sx, -cx], [0.0, cx, -sx]])
    y, dy = np.array([[cy, 0.0, sy], [0.0, 1.0, 0.0], [-sy, 0.0, cy]]), np.array([[-sy, 0.0, cy], [0.0, 0.0, 0.0], [-cy, 0.0, -sy]])
    zy = z @ y
    return zy @ x, dz @ y @ x, zy @ dx, z @ dy @ x


def _triples(values: list[tuple[float, float, float]]) -> Array:
    return np.array(values, dtype=np.float64).reshape(-1, 3)


@dataclass(frozen=True, slots=True)
class Equations:
    """Rows as arrays; m rows, n unknowns.

    shift (m, 3, n) S, carry (m, 3, n) K, direct (m, n) D, point (m, 3), normal (m, 3) zero for ROUND and LINEAR, centre (m, 3).
    pose (6,): row of each of POSE in x, −1 where it is held at zero. constant (m,); round: indices of ROUND rows; side (r, 2):
    the side of the centre that each of those met.
    """

    point: Array
    normal: Array
    centre: Array
    shift: Array
    carry: Array
    direct: Array
    pose: NDArray[np.int64]
    constant: Array
    round: NDArray[np.intp]
    side: Array

    @classmethod
    def of(cls, rows: list[Row], unknowns: Unknowns) -> Equations:
        """Arrays from rows; every unknown a row names is in the table or held at zero."""
        m, n = len(rows), len(unknowns)
        shift, carry, direct = np.zeros((m, 3, n)), np.zeros((m, 3, n)), np.zeros((m, n))
        for i, row in enumerate(rows):
            for table, terms in ((shift, row.shift), (carry, row.carry)):
                for name, vector in terms:
                    j = unknowns.row(name)
                    if j is not None:
                        table[i, :, j] += vector
            for name, factor in row.direct:
                j = unknowns.row(name)
                if j is not None:
                    direct[i, j] += factor
        kind = np.array([int(row.kind) for row in rows], dtype=np.int64)
        pose = np.array([-1 if (at := unknowns.row(name)) is None else at for name in POSE], dtype=np.int64)
        offset, normal = np.array([row.offset for row in rows]), _triples([row.normal for row in rows])
        flat = (kind == Kind.PLANE) | (kind == Kind.MIDDLE)
        return cls(
            point=_triples([row.point for row in rows]), normal=normal * flat[:, None],
            centre=_triples([row.centre for row in rows]), shift=shift, carry=carry, direct=direct, pose=pose,
            constant=np.where(kind == Kind.LINEAR, offset, -offset), round=np.flatnonzero(kind == Kind.ROUND),
            side=normal[kind == Kind.ROUND, :2],
        )  # fmt: skip

    def __call__(self, x: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
        """Residuals (m,) and Jacobian (m, n) at x (n,), float64 or complex128."""
        held = np.append(x, 0.0)[self.pose]
        turn, *slopes = rotation(held[3], held[4], held[5])
        moved = self.point + self.shift @ x - held[:3]
        away = moved @ turn + self.carry @ x - self.centre
        lateral = away[self.round, :2]
        distance = signed_distance(lateral, self.side)
        gradient = self.normal.astype(away.dtype)
        gradient[self.round, :2] = lateral / distance[:, None]
        residuals = self.direct @ x + self.constant + np.sum(self.normal * away, axis=1)
        residuals[self.round] += distance
        jacobian = self.direct + np.einsum("mi,mij->mj", gradient @ turn.T, self.shift)
        jacobian = jacobian + np.einsum("mi,mij->mj", gradient, self.carry)
        for axis, column in enumerate(self.pose[:3]):
            if column >= 0:
                jacobian[:, column] -= gradient @ turn[axis]
        for slope, column in zip(slopes, self.pose[3:], strict=True):
            if column >= 0:
                jacobian[:, column] += np.sum(gradient * (moved @ slope), axis=1)
        return residuals, jacobian


def signed_distance(lateral: NDArray[Any], side: Array) -> NDArray[Any]:
    """How far a tip stands from the axis of a round face, negative on the side of it that `side` (…, 2) points away from; never 0.
    `lateral` (…, 2): from the axis to the tip, complex if an angle is."""
    turned = np.where(np.sum(np.real(lateral) * side, axis=-1) < 0.0, -1.0, 1.0)
    away: NDArray[Any] = turned * np.sqrt(np.sum(lateral * lateral, axis=-1) + TINY)
    return away
