"""Faces whose skin a smaller blank would keep: the cut passes over them where the blank ends lower than it is stated to.

What is stated of the blank is its size give or take what it varies. A face that is cut on the blank as stated by less than that
may lie in the air on the blank as it comes: each direction by itself, and not on a face that zero is taken from, whose place is
known. What the motions leave is computed on the stated blank; how much of its skin they took tells the rest, ray by ray.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.model.job import BOX_FACES, Face
from setwright.prove.case import WHOLE_SHARE, RawFace, UnmadeFace
from setwright.prove.margin import spread_of
from setwright.prove.sight import NEAREST_MM, Sight, facing_of
from setwright.removal.field import BLANK, Field, Tile
from setwright.removal.ready import Ready
from setwright.removal.regions import BoxRegion

__all__ = ["raw_faces", "sides_after"]

_LEAST_FACING: Final = 0.5
_Array = NDArray[np.float64]


def raw_faces(
    kit: Kit, truth: Truth, before: Field, after: Field, part: Ready, *, unmade: Sequence[UnmadeFace]
) -> tuple[RawFace, ...]:
    """Every flat face stated as made, and of the blank's six each one that the program cuts on all of its area, of which more than
    the share for edges may stay raw. `before`: the blank as stated; `after`: what the program leaves of it, `part` the same made
    ready; `unmade`: faces that are not made even so. On a pallet the first part is looked at."""
    margin = _margins(kit, truth)
    if not (margin > SAME_PLACE_MM).any():
        return ()
    stated = [face for face in kit.setup.face if face.flat is not None and face.made]
    gone = {face.name for face in unmade}
    found = [raw for face in stated if face.name not in gone and (raw := _stated(face, kit, before, part, margin)) is not None]
    told = {_side_of(face) for face in stated if any(raw.name == face.name for raw in found)}
    sides = [(axis, side) for axis in range(3) for side in (0, 1) if (axis, side) not in told]
    return (*found, *_whole_sides(sides, before, after, margin))


def _margins(kit: Kit, truth: Truth) -> _Array:
    """How much lower each of the blank's sides may lie, float64 (axis, least or greatest side), mm."""
    return spread_of(kit, truth, kit.extent).ends.T


def sides_after(kit: Kit, truth: Truth, before: Field, after: Field) -> tuple[_Array, NDArray[np.bool_]]:
    """How far each side of what a program leaves may lie beside its place, float64 (axis, least or greatest side), mm, and which of
    them it cut on all of their area, bool (axis, side): a side that it cut lies as exactly as the setup is measured, unless the
    blank may end below the cut; one that it did not cut lies as the blank has it."""
    sides, measured = _margins(kit, truth), spread_of(kit, truth, kit.extent).measured
    made = np.zeros(sides.shape, np.bool_)
    for axis, side in np.ndindex(sides.shape):
        taken = _taken(before.bundles[axis].tiles, after.bundles[axis].tiles, side)
        if taken is not None:
            least = float(np.quantile(taken[0], 1.0 - WHOLE_SHARE, method="lower"))
            sides[axis, side], made[axis, side] = max(measured[axis], float(sides[axis, side]) - least), True
    return sides, made


def _side_of(face: Face) -> tuple[int, int]:
    facing = facing_of(face)
    axis = int(np.argmax(np.abs(facing)))
    return axis, int(facing[axis] > 0.0)


def _stated(face: Face, kit: Kit, before: Field, part: Ready, margin: _Array) -> RawFace | None:
    """A stated face over which the blank's skin stands by less than it may lie lower."""
    axis, side = _side_of(face)
    wide, sight = float(margin[axis, side]), Sight(kit, part)
    if wide <= SAME_PLACE_MM or face.flat is None:
        return None
    try:
        seen = sight.seen(face)
    except InputRefused:
        return None
    low, high = sight.region(face, reach=0.0).bounds()
    (high if side else low)[axis] += wide if side else -wide
    ends = Ready(before).ends_in(BoxRegion(low.tolist(), high.tolist()))
    square = ends.normals[:, axis] * (1.0 if side else -1.0) >= _LEAST_FACING
    ends = ends.where((ends.axis == axis) & (ends.ident == BLANK) & square)
    ends = ends.where(sight.whole(face, ends.points))
    lower = wide - np.abs(ends.points[:, axis] - face.flat.at[axis])
    raw = lower > SAME_PLACE_MM
    u, v = (c for c in range(3) if c != axis)
    share = float(raw.sum() * before.grid.pitch[u] * before.grid.pitch[v]) / seen.area
    if share <= 1.0 - WHOLE_SHARE:
        return None
    return RawFace(face.name, float(lower[raw].max()), min(share, 1.0), _maker(seen.ends.ident))


def _maker(ident: NDArray[np.int32]) -> int:
    """The motion that made most of it."""
    motions, count = np.unique(ident[ident != BLANK], return_counts=True)
    return int(motions[np.argmax(count)]) if motions.size else -1


def _whole_sides(sides: list[tuple[int, int]], before: Field, after: Field, margin: _Array) -> Iterator[RawFace]:
    """The blank's own sides that are cut on all of their area, of which a part is cut too thinly."""
    for axis, side in sides:
        if margin[axis, side] > SAME_PLACE_MM:
            taken = _taken(before.bundles[axis].tiles, after.bundles[axis].tiles, side)
            if taken is not None:
                depth, made = taken
                raw = depth < margin[axis, side] - SAME_PLACE_MM
                if raw.mean() > 1.0 - WHOLE_SHARE:
                    lower, name = float(margin[axis, side] - depth[raw].min()), f"{BOX_FACES[2 * axis + side]} of the blank"
                    yield RawFace(name, lower, float(raw.mean()), _maker(made[raw]))


def _taken(before: tuple[Tile, ...], after: tuple[Tile, ...], side: int) -> tuple[_Array, NDArray[np.int32]] | None:
    """How deep each ray of a side's skin is cut, mm, inf where nothing is left, and by which motion; None where more than the share
    for edges is not cut."""
    skins = [_outer(tile, side) for tile in before]
    far = max((float(way.max(initial=-np.inf)) for way, _ in skins))
    on_skin = [way >= far - NEAREST_MM for way, _ in skins]
    most = (1.0 - WHOLE_SHARE) * sum(int(on.sum()) for on in on_skin)
    depths, makers, uncut = [], [], 0
    for own, (way, _), on, then in zip(before, skins, on_skin, after, strict=True):
        if then is own:
            uncut += int(on.sum())
        else:
            left, made = _outer(then, side)
            deep = way[on] - left[on]
            uncut += int((deep <= SAME_PLACE_MM).sum())
            depths.append(deep)
            makers.append(made[on])
        if uncut > most:
            return None
    return np.concatenate(depths), np.concatenate(makers)


def _outer(tile: Tile, side: int) -> tuple[_Array, NDArray[np.int32]]:
    """The end of each ray farthest out on a side, mm along the way out, float64 (rays,), -inf where there is none; who made it."""
    rays = np.arange(tile.count.size)
    last = np.maximum(tile.count - 1, 0) if side else np.zeros(tile.count.size, np.int64)
    ends = tile.ends[rays, last, side] * (1.0 if side else -1.0)
    return np.where(tile.count > 0, ends, -np.inf), tile.ident[rays, last, side]
