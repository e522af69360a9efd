"""Faces of the drawing, found on the simulated part where they are stated to lie."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.kit.station import Kit
from setwright.model.job import BOX_FACES, Face
from setwright.removal.field import Field
from setwright.removal.measure import PlaneFit, RoundFit, fit_plane, fit_round
from setwright.removal.ready import Ready
from setwright.removal.regions import BandRegion, BoxRegion, DiscRegion, Region

__all__ = ["NEAREST_MM", "SEARCH_MM", "WIDEST_MM", "Sight", "facing_of"]

SEARCH_MM: Final = (0.02, 0.2, 2.0)
"""How far from its stated place a face is looked for: near first, so that a neighbour is not taken for it."""

NEAREST_MM: Final = SEARCH_MM[:1]
WIDEST_MM: Final = SEARCH_MM[-1]

_AXES: Final = {"X": 0, "Y": 1, "Z": 2}
F = TypeVar("F")


@dataclass(frozen=True, slots=True)
class Sight:
    """One part of a setup as it is looked at; `shift` (mm, in W): its place beside the first one of a pallet."""

    kit: Kit
    part: Field | Ready
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def face(self, name: str) -> Face:
        """A face by its name: one the setup states, or one of the blank's six. Raises InputRefused with the known ones."""
        for face in self.kit.setup.face:
            if face.name == name:
                return face
        if name in BOX_FACES or name.removesuffix(" face") in BOX_FACES:
            return _box_face(name.removesuffix(" face"), self.kit)
        known = ", ".join(f"“{face.name}”" for face in self.kit.setup.face) or "none but the blank's six"
        raise InputRefused.because(f"no face is called “{name}”", why=f"the setup states {known}")

    def region(self, face: Face, reach: float) -> Region:
        """Where a flat or leaning face lies, `reach` to either side of it. Raises InputRefused for a bore or boss."""
        if face.slope is not None:
            at = np.array(face.slope.at) + self.shift
            return DiscRegion(at.tolist(), facing_of(face).tolist(), face.slope.across / 2, reach)
        if face.flat is None:
            raise InputRefused.because(f"“{face.name}” is round", why="a flat face is wanted")
        axis = _AXES[face.flat.facing[1]]
        half = np.zeros(3)
        half[[i for i in range(3) if i != axis]] = np.array(face.flat.size) / 2
        half[axis] = reach
        at = np.array(face.flat.at) + self.shift
        return BoxRegion((at - half).tolist(), (at + half).tolist())

    def plane(self, face: Face, within: Sequence[float] = SEARCH_MM, *, tilt: bool = False) -> PlaneFit:
        """The plane of a flat or leaning face. With `tilt`, and always if it leans, it is looked for in the widest region, of which
        a face that lies not quite as stated does not run out."""
        facing, tilted = facing_of(face).tolist(), tilt or face.slope is not None
        regions = [self.region(face, reach) for reach in ((WIDEST_MM,) if tilted else within)]
        return _first(lambda region: fit_plane(self.part, region, facing=facing, tilt=tilted), regions)

    def round(self, face: Face, within: Sequence[float] = SEARCH_MM) -> RoundFit:
        """The circle of a bore or boss. Raises InputRefused for a flat face."""
        stated = face.bore or face.boss
        if stated is None:
            raise InputRefused.because(f"“{face.name}” is flat", why="a diameter or a centre is wanted")
        radius, dz = stated.diameter / 2, self.shift[2]
        bottom, top = sorted((stated.from_, stated.to))
        centre = (stated.centre[0] + self.shift[0], stated.centre[1] + self.shift[1])
        regions = [BandRegion(centre, max(radius - reach, 0.0), radius + reach, bottom + dz, top + dz) for reach in within]
        return _first(lambda region: fit_round(self.part, region, hole=face.bore is not None), regions)


def facing_of(face: Face) -> NDArray[np.float64]:
    """Unit vector a flat or leaning face looks along, float64 (3,)."""
    if face.slope is not None:
        return np.asarray(np.array(face.slope.facing) / np.linalg.norm(face.slope.facing), np.float64)
    facing = np.zeros(3)
    if face.flat is not None:
        facing[_AXES[face.flat.facing[1]]] = 1.0 if face.flat.facing[0] == "+" else -1.0
    return facing


def _box_face(name: str, kit: Kit) -> Face:
    low, high = kit.extent
    middle, size = (low + high) / 2, high - low
    axis, positive = BOX_FACES.index(name) // 2, BOX_FACES.index(name) % 2 == 1  # in the order left, right, front, back, ...
    at = middle.copy()
    at[axis] = high[axis] if positive else low[axis]
    across = [float(size[i]) for i in range(3) if i != axis]
    facing = f"{'+' if positive else '-'}{'XYZ'[axis]}"
    return Face.model_validate({"name": name, "flat": {"facing": facing, "at": at.tolist(), "size": across}, "made": False})


def _first(fit: Callable[[Region], F], regions: Iterable[Region]) -> F:
    refused = None
    for region in regions:
        try:
            return fit(region)
        except InputRefused as refusal:
            refused = refusal
    if refused is None:
        raise ValueError("no region is given")
    raise refused
