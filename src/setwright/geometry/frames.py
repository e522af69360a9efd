"""Rigid motions between frames, named by what they do: `machine_from_work` takes a point given in W to the same point in M.

Frames: M the machine (gauge point where the display of machine position shows it), W the work offset's, P the part's.
Chains read by matching neighbours: `machine_from_work @ work_from_part`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from setwright.model.job import Turn

__all__ = ["Transform", "quarter_turns", "shifted", "turned_about_z"]


@dataclass(frozen=True, slots=True)
class Transform:
    """`a_from_b`: point_in_a = rotation @ point_in_b + shift. rotation float64 (3, 3) proper orthogonal; shift float64 (3,) mm."""

    rotation: NDArray[np.float64]
    shift: NDArray[np.float64]

    def __matmul__(self, other: Transform) -> Transform:
        return Transform(self.rotation @ other.rotation, self.rotation @ other.shift + self.shift)

    def inverse(self) -> Transform:
        """`b_from_a`."""
        return Transform(self.rotation.T, -self.rotation.T @ self.shift)

    def points(self, points: ArrayLike) -> NDArray[np.float64]:
        """Points (..., 3) of b in a."""
        moved: NDArray[np.float64] = np.asarray(points, np.float64) @ self.rotation.T + self.shift
        return moved

    def directions(self, directions: ArrayLike) -> NDArray[np.float64]:
        """Directions (..., 3) of b in a."""
        turned: NDArray[np.float64] = np.asarray(directions, np.float64) @ self.rotation.T
        return turned


def shifted(x: float, y: float, z: float) -> Transform:
    """A pure shift."""
    return Transform(np.eye(3), np.array([x, y, z], np.float64))


def turned_about_z(angle: float) -> Transform:
    """A turn about +Z by `angle` rad, counter-clockwise seen from above."""
    c, s = math.cos(angle), math.sin(angle)
    return Transform(np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]), np.zeros(3))


def quarter_turns(turns: tuple[Turn, ...]) -> NDArray[np.int64]:
    """The turns one after the other as an exact integer rotation matrix (3, 3)."""
    total = np.eye(3, dtype=np.int64)
    for turn in turns:
        axis = "xyz".index(turn.about)
        a, b = (axis + 1) % 3, (axis + 2) % 3
        once = np.zeros((3, 3), np.int64)
        once[axis, axis], once[b, a], once[a, b] = 1, 1, -1
        for _ in range(turn.by // 90):
            total = once @ total
    return total
