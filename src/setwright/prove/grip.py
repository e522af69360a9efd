"""How much of the blank's faces in the vise is still there after the program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body
from setwright.removal.field import Field, Rays

__all__ = ["GripLoss", "grip_losses"]

_Ends = tuple[NDArray[np.float64], Rays]
_JAWS = ("fixed jaw", "moving jaw")


@dataclass(frozen=True, slots=True)
class GripLoss:
    """Metal cut away from the face a jaw presses on: area in mm² before and after; `row`: the first motion whose cut can be seen
    there, -1 if none can."""

    jaw: str
    before_mm2: float
    after_mm2: float
    row: int

    @property
    def share(self) -> float:
        """The share of the gripped area that is gone."""
        return 1.0 - self.after_mm2 / self.before_mm2


def grip_losses(before: Field, after: Field, bodies: Sequence[Body]) -> tuple[GripLoss, ...]:
    """One answer a jaw whose face loses metal; empty without a vise. Areas are those of whole cells of the rays."""
    jaws = [body for name in _JAWS for body in bodies if body.name == name]
    if len(jaws) != len(_JAWS):
        return ()
    lows, highs = (np.array(corners) for corners in zip(*(jaw.bounds() for jaw in jaws), strict=True))
    axis = int(np.argmax((lows.max(axis=0) - highs.min(axis=0))[:2]))  # the jaws stand apart along it
    found, ends = [], (before.points(axis), after.points(axis))
    for jaw, other in zip(jaws, reversed(jaws), strict=True):
        side = int(jaw.bounds()[0][axis] > other.bounds()[0][axis])
        loss = _loss(ends, float(np.prod(before.grid.pitch) / before.grid.pitch[axis]), jaw, side)
        if loss is not None:
            found.append(loss)
    return tuple(found)


def _loss(ends: tuple[_Ends, _Ends], cell: float, jaw: Body, side: int) -> GripLoss | None:
    old, new = (_against(one, jaw, side) for one in ends)
    lost = np.setdiff1d(old, new)
    if not lost.size:
        return None
    rays = ends[1][1]
    cut = rays.ident[np.isin(rays.ray, lost), side]
    cut = cut[cut >= 0]
    return GripLoss(jaw.name, old.size * cell, (old.size - lost.size) * cell, int(cut.min()) if cut.size else -1)


def _against(ends: _Ends, jaw: Body, side: int) -> NDArray[np.int64]:
    """The rays whose end on that side lies on the jaw."""
    points, rays = ends
    low, high = jaw.bounds()
    on = ((points[:, side] >= low - SAME_PLACE_MM) & (points[:, side] <= high + SAME_PLACE_MM)).all(axis=1)
    return np.unique(rays.ray[on])
