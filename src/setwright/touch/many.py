"""The equations of a touch-off solved for many sets of readings at once, for drawing anew and for counting coverage.

The same equations as `equations`, with a leading axis for the sets. Every step uses the exact gradient of each set and one normal
matrix common to all, that of the first set's start (a chord method): the sets differ by their errors only, so its error shrinks by
the share of curvature a step, some hundredfold, and where it ends is the least-squares answer of each set itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import MANY_RELATIVE_OFFSET, TINY
from setwright.estimate.least_squares import Array, Prior
from setwright.touch.equations import Equations, signed_distance

__all__ = ["Many", "fit_many"]

_MOST_STEPS = 40


@dataclass(frozen=True, slots=True)
class Many:
    """Equations of S sets (1: the same for all), m rows and n unknowns each. Arrays as in Equations, with S in front."""

    point: Array
    centre: Array
    shift: Array
    carry: Array
    direct: Array
    constant: Array
    normal: Array
    pose: NDArray[np.int64]
    round: NDArray[np.intp]
    side: Array

    @classmethod
    def of(cls, sets: Sequence[Equations]) -> Many:
        """Sets with the same unknowns and the same kinds of rows in the same order."""
        first = sets[0]
        return cls(
            point=np.stack([s.point for s in sets]), centre=np.stack([s.centre for s in sets]),
            shift=np.stack([s.shift for s in sets]), carry=np.stack([s.carry for s in sets]),
            direct=np.stack([s.direct for s in sets]), constant=np.stack([s.constant for s in sets]),
            normal=first.normal, pose=first.pose, round=first.round, side=first.side,
        )  # fmt: skip

    def __call__(self, x: Array) -> tuple[Array, Array]:
        """Residuals (T, m) and Jacobian (T, m, n) at x (T, n)."""
        trials, n = x.shape
        m = self.point.shape[1]
        column = x[:, :, None]
        held = np.concatenate([x, np.zeros((trials, 1))], axis=1)[:, self.pose]
        turn, *slopes = _rotations(held[:, 3], held[:, 4], held[:, 5])

        def moved_by(table: Array) -> Array:
            return np.asarray(np.matmul(table.reshape(-1, 3 * m, n), column).reshape(trials, m, 3))

        moved = self.point + moved_by(self.shift) - held[:, None, :3]
        away = moved @ turn + moved_by(self.carry) - self.centre
        lateral = away[:, self.round, :2]
        distance = signed_distance(lateral, self.side)
        gradient = np.broadcast_to(self.normal, away.shape).copy()
        gradient[:, self.round, :2] = lateral / distance[:, :, None]
        residuals = np.matmul(self.direct, column)[:, :, 0] + self.constant + np.sum(self.normal * away, axis=2)
        residuals[:, self.round] += distance
        in_machine = gradient @ turn.transpose(0, 2, 1)
        jacobian = self.direct + np.matmul(in_machine[:, :, None, :], self.shift)[:, :, 0, :]
        jacobian += np.matmul(gradient[:, :, None, :], self.carry)[:, :, 0, :]
        for axis, at in enumerate(self.pose[:3]):
            if at >= 0:
                jacobian[:, :, at] -= in_machine[:, :, axis]
        for slope, at in zip(slopes, self.pose[3:], strict=True):
            if at >= 0:
                jacobian[:, :, at] += np.sum(gradient * (moved @ slope), axis=2)
        return residuals, jacobian


def _rotations(theta: Array, alpha: Array, beta: Array) -> tuple[Array, Array, Array, Array]:
    """R = Rz(θ) Ry(β) Rx(α) and its derivatives by θ, α, β, (T, 3, 3) each."""
    z, dz = _about(2, theta)
    x, dx = _about(0, alpha)
    y, dy = _about(1, beta)
    return z @ y @ x, dz @ y @ x, z @ y @ dx, z @ dy @ x


def _about(axis: int, angle: Array) -> tuple[Array, Array]:
    """A turn about an axis and its derivative, (T, 3, 3)."""
    one, two = (axis + 1) % 3, (axis + 2) % 3
    cosine, sine = np.cos(angle), np.sin(angle)
    turn, slope = np.zeros((angle.size, 3, 3)), np.zeros((angle.size, 3, 3))
    turn[:, axis, axis] = 1.0
    for i, j, value, rate in (
        (one, one, cosine, -sine),
        (two, two, cosine, -sine),
        (one, two, -sine, -cosine),
        (two, one, sine, cosine),
    ):
        turn[:, i, j] = value
        slope[:, i, j] = rate
    return turn, slope


def fit_many(
    equations: Many, start: Array, *, noise: Array, prior: Prior, readings: Array, means: Array
) -> tuple[Array, NDArray[np.bool_]]:
    """Least squares of T sets from `start` (n,): estimates (T, n), and whether each one settled (T,).

    `noise` (m,) and `prior` as in `least_squares.fit`; `readings` (T, m) is added to the residuals, `means` (T, n) to the prior's.
    Error bound: a settled set's next step is below MANY_RELATIVE_OFFSET of a standard uncertainty of each unknown.
    """
    known = prior.rows
    weight = 1.0 / (noise * noise)
    stiff = np.zeros(start.size)
    stiff[known] = 1.0 / prior.standard[known] ** 2
    centre = np.where(np.isfinite(prior.standard), prior.mean, 0.0) + means
    x = np.repeat(start[None, :], max(equations.point.shape[0], means.shape[0], readings.shape[0]), axis=0)
    jacobian = equations(x)[1][0]
    normal = (jacobian.T * weight) @ jacobian + np.diag(stiff)
    size = np.sqrt(np.diag(normal))
    inverse = np.linalg.inv(normal / np.outer(size, size)) / np.outer(size, size)
    spread = np.sqrt(np.diag(inverse))
    settled = np.zeros(x.shape[0], dtype=bool)
    for _ in range(_MOST_STEPS):
        # a set that runs away has not settled, which is what the caller is told
        with np.errstate(over="ignore", invalid="ignore"):
            residuals, slopes = equations(x)
            pull = np.matmul((weight * (residuals + readings))[:, None, :], slopes)[:, 0, :] + stiff * (x - centre)
            step = pull @ inverse
            x = x - step
        settled = np.all(np.abs(step) <= MANY_RELATIVE_OFFSET * spread + TINY, axis=1)
        if settled.all():
            break
    return x, settled
