"""Pieces into which a program parts the metal, which of them the holding still holds, and what strikes those it does not hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body, BodyRole
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.removal.contact import touch
from setwright.removal.cut import cut
from setwright.removal.field import ACROSS, Field, Rays, bundle_of
from setwright.removal.fill import Shape, inside_spans
from setwright.removal.parts import Parts, fewest_parts, parts_of

__all__ = ["PartedPiece", "fallen", "holders_of", "parted"]

_CARRIERS = ("fixture plate", "vise body", "parallel at fixed jaw", "parallel at moving jaw")


@dataclass(frozen=True, slots=True)
class PartedPiece:
    """A piece parted from the largest one of its blank.

    `volume` mm³; `middle` and `size` of its box in W, mm; `row`: the last motion that cut it, after which at the latest it is by
    itself; `held`: whether bodies of the holding stand against it from two opposite sides. `struck_row`: the first motion after
    that which runs into it where it came loose, -1 if none does.
    """

    volume: float
    middle: tuple[float, float, float]
    size: tuple[float, float, float]
    row: int
    held: bool
    struck_row: int = -1
    guessed: bool = False
    """Whether it comes loose only where the blank lies as high as a draft guessed."""
    inside: tuple[tuple[int, int, float], ...] = ()
    """A place inside it and one inside the piece that stays: axis and number of a ray, and how far along."""
    alone: bool = False
    """Whether nothing stays: no piece of its blank is held any more."""


def parted(before: Field, after: Field, bodies: Sequence[Body]) -> tuple[PartedPiece, ...]:
    """The pieces the metal falls into besides the one that stays held, of several the largest, largest first. Where bodies are
    there to hold the metal and none holds a piece, every piece is loose; where nobody says what holds it, the largest stays."""
    blanks = fewest_parts(before, 1)
    parts = fewest_parts(after, blanks.large.size)
    if parts.large.size <= max(1, blanks.large.size):
        return ()
    held, last = _touched(after, parts, bodies)
    found = []
    of_blank = _blank_of(before, parts)
    for blank in np.unique(of_blank[parts.large]).tolist():
        mine = [part for part in parts.large.tolist() if of_blank[part] == blank]
        mine.sort(key=lambda part: (not held[part], -parts.volume[part]))
        if len(mine) < 2:
            continue
        alone = holders_of(bodies) != [] and not held[mine[0]]
        for part in mine if alone else mine[1:]:
            piece, other = _piece(after, parts, part, int(last[part]), held=bool(held[part])), mine[1 if part == mine[0] else 0]
            found.append(replace(piece, inside=(_inside(parts, part), _inside(parts, other)), alone=alone))
    return tuple(sorted(found, key=lambda piece: -piece.volume))


def _inside(parts: Parts, part: int) -> tuple[int, int, float]:
    """A place inside a part: the middle of its longest interval."""
    own = np.flatnonzero(parts.part == part)
    longest = own[np.argmax(parts.rays.ends[own, 1] - parts.rays.ends[own, 0])]
    return parts.axis, int(parts.rays.ray[longest]), float(parts.rays.ends[longest].mean())


def fallen(piece: PartedPiece, before: Field, moves: Moves, pieces: PieceTable, bodies: Sequence[Body]) -> PartedPiece:
    """A loose piece with the motion that frees it (takes it off the rest, or the rest off what held both) and the first one after
    that which runs into it; `moves` are those that cut `before`. The piece is taken to stay where it came loose: what strikes it
    there strikes it or is struck wherever it lies."""
    (axis, ray, along), (_, other_ray, other_along) = piece.inside
    low, high = 0, int(np.searchsorted(moves.ident, piece.row, side="right"))  # it is loose after `high` motions
    whole = parts_of(before, axis)
    lost = piece.alone and bool(_touched(before, whole, bodies)[0][_part_at(whole, np.array([ray]), np.array([along]))[0]])
    state = cut(before, moves[:high], pieces).field
    while high - low > 1:
        middle = (low + high) // 2
        metal = cut(before, moves[:middle], pieces).field
        parts = parts_of(metal, axis)
        one, other = _part_at(parts, np.array([ray, other_ray]), np.array([along, other_along])).tolist()
        if one != other or (lost and not _touched(metal, parts, bodies)[0][one]):
            high, state = middle, metal
        else:
            low = middle
    alone = parts_of(state, axis)
    own = alone.part == _part_at(alone, np.array([ray]), np.array([along]))[0]
    bundles = [bundle_of(_some(alone.rays, own if bundle.axis == axis else np.zeros(own.size, np.bool_)), axis=bundle.axis,
                         nu=bundle.nu, nv=bundle.nv) for bundle in state.bundles]  # fmt: skip
    struck = touch(replace(state, bundles=(bundles[0], bundles[1], bundles[2])), moves[high:], pieces)
    return replace(piece, row=int(moves.ident[high - 1]), struck_row=struck[0].motion if struck else -1)


def _some(rays: Rays, chosen: NDArray[np.bool_]) -> Rays:
    return Rays(rays.ray[chosen], rays.ends[chosen], rays.ident[chosen], rays.normal[chosen])


def holders_of(bodies: Sequence[Body]) -> list[Body]:
    """The bodies that hold the blank down or between them, if anything does: not what only carries it."""
    return [body for body in bodies if body.role is BodyRole.HOLDING and body.name not in _CARRIERS]


def _blank_of(before: Field, parts: Parts) -> NDArray[np.int64]:
    """The part of the metal before the program that each part was cut from, int64 (parts,); by one interval of each."""
    source = parts_of(before, parts.axis)
    one = np.unique(parts.part, return_index=True)[1]
    return _part_at(source, parts.rays.ray[one], parts.rays.ends[one].mean(axis=1))


def _part_at(parts: Parts, ray: NDArray[np.int64], along: NDArray[np.float64]) -> NDArray[np.int64]:
    """The part at places on rays; -1 where there is no metal."""
    order = np.lexsort((parts.rays.ends[:, 0], parts.rays.ray))
    rays, ends = parts.rays.ray[order], parts.rays.ends[order]
    found = np.full(ray.size, -1, np.int64)
    begin, stop = np.searchsorted(rays, ray), np.searchsorted(rays, ray, side="right")
    for step in range(int((stop - begin).max(initial=0))):
        row = np.minimum(begin + step, max(rays.size - 1, 0))
        inside = (begin + step < stop) & (ends[row, 0] <= along) & (along <= ends[row, 1])
        found[inside] = parts.part[order[row[inside]]]
    return found


def _touched(field: Field, parts: Parts, bodies: Sequence[Body]) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """Which parts have bodies of the holding against them from two opposite sides, bool (parts,), and the number of the last motion
    that cut each, int64 (parts,), -1 if none did."""
    holding = [body.shape for body in bodies if body.role is BodyRole.HOLDING]
    held, last = np.zeros(parts.volume.size, np.bool_), np.full(parts.volume.size, -1, np.int64)
    for axis in range(3):
        points, rays = field.points(axis)
        sides, against = np.zeros((2, held.size), np.bool_), _against(holding, field, rays, axis)
        for side in (0, 1):
            part = _part_of_ends(field, parts, points, axis=axis, side=side)
            known = part >= 0
            np.maximum.at(last, part[known], rays.ident[known, side])
            sides[side, part[known & against[side]]] = True
        held |= sides[0] & sides[1]
    return held, last


def _against(holding: Sequence[Shape], field: Field, rays: Rays, axis: int) -> NDArray[np.bool_]:
    """Whether a body of the holding stands against the lower and the upper end of each interval, bool (2, n): the body's own
    surface on the ray that carries the end, within SAME_PLACE_MM."""
    found = np.zeros((2, rays.ray.size), np.bool_)
    if not holding:
        return found
    ray, spans, _ = inside_spans(holding, axis, field.grid)
    begin, stop = np.searchsorted(ray, rays.ray), np.searchsorted(ray, rays.ray, side="right")
    for step in range(int((stop - begin).max(initial=0))):
        there = begin + step < stop
        span = spans[np.minimum(begin + step, len(spans) - 1)]
        found[0] |= there & (span[:, 0] < rays.ends[:, 0]) & (rays.ends[:, 0] <= span[:, 1] + SAME_PLACE_MM)
        found[1] |= there & (span[:, 0] - SAME_PLACE_MM <= rays.ends[:, 1]) & (rays.ends[:, 1] < span[:, 1])
    return found


def _part_of_ends(field: Field, parts: Parts, points: NDArray[np.float64], *, axis: int, side: int) -> NDArray[np.int64]:
    """The part of each interval float64 (n, 2, 3) of the bundle along `axis`, int64 (n,): looked up where it crosses the ray of the
    parts' own bundle next to its end `side`; -1 if it is too short to cross one."""
    if axis == parts.axis:
        return parts.part
    grid = field.grid
    place = points[:, side].copy()
    index = (place[:, axis] - grid.first[axis]) / grid.pitch[axis]
    place[:, axis] = grid.first[axis] + grid.pitch[axis] * (np.ceil(index) if side == 0 else np.floor(index))
    crosses = (points[:, 0, axis] <= place[:, axis]) & (place[:, axis] <= points[:, 1, axis])
    number = np.rint((place - grid.first) / grid.pitch).astype(np.int64)
    crosses &= ((number >= 0) & (number < grid.count)).all(axis=1)
    u, v = ACROSS[parts.axis]
    ray = number[crosses, v] * int(grid.count[u]) + number[crosses, u]
    found = np.full(len(points), -1, np.int64)
    found[crosses] = _part_at(parts, ray, place[crosses, parts.axis])
    return found


def _piece(field: Field, parts: Parts, part: int, row: int, *, held: bool) -> PartedPiece:
    points = field.points(parts.axis)[0]
    corners = points[parts.part == part].reshape(-1, 3)
    low, high = corners.min(axis=0), corners.max(axis=0)
    for axis in ACROSS[parts.axis]:  # rays stand in the middle of their cells
        low[axis] -= field.grid.pitch[axis] / 2
        high[axis] += field.grid.pitch[axis] / 2
    middle, size = ((low + high) / 2).tolist(), (high - low).tolist()
    return PartedPiece(float(parts.volume[part]), (middle[0], middle[1], middle[2]), (size[0], size[1], size[2]), row, held)
