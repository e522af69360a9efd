"""How much of the blank's faces in the vise is still there after the program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body
from setwright.removal.field import Field

__all__ = ["GripLoss", "grip_losses"]

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
    found = []
    for jaw, other in zip(jaws, reversed(jaws), strict=True):
        side = int(jaw.bounds()[0][axis] > other.bounds()[0][axis])
        loss = _loss(before, after, jaw, axis, side)
        if loss is not None:
            found.append(loss)
    return tuple(found)


def _loss(before: Field, after: Field, jaw: Body, axis: int, side: int) -> GripLoss | None:
    old, new = _against(before, jaw, axis, side), _against(after, jaw, axis, side)
    lost = np.setdiff1d(old, new)
    if not lost.size:
        return None
    rays = after.bundles[axis].rays()
    cut = rays.ident[np.isin(rays.ray, lost), side]
    cut = cut[cut >= 0]
    cell = float(np.prod(before.grid.pitch) / before.grid.pitch[axis])
    return GripLoss(jaw.name, old.size * cell, (old.size - lost.size) * cell, int(cut.min()) if cut.size else -1)


def _against(field: Field, jaw: Body, axis: int, side: int) -> NDArray[np.int64]:
    """The rays along `axis` whose end on that side lies on the jaw."""
    points, rays = field.points(axis)
    low, high = jaw.bounds()
    on = ((points[:, side] >= low - SAME_PLACE_MM) & (points[:, side] <= high + SAME_PLACE_MM)).all(axis=1)
    return np.unique(rays.ray[on])
