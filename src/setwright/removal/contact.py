"""Contact: what the tool touches that it must not, in metal, jaws, clamps, table.

Depth of a contact: for each of the three directions of rays, the longest stretch of the body inside the swept piece on any one ray;
the depth is the least of the three that are not zero. It can be deeper between the rays: at a wall by up to an eighth of the
squared spacing over the tool's radius, and by more where an overlap thinner than the spacing is only grazed in another direction,
so that it is a lower bound. An overlap that no ray passes, smaller than the pitch in two directions of every bundle, is not seen;
bodies are given at least RAYS_THROUGH rays through their thinnest side, so none is thinner than what is seen, and the clearance of
the tool to bodies, which is exact, belongs beside this. A depth up to CONTACT_DEPTH_MM plus twice the field's `slack` is touching,
not contact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import CONTACT_DEPTH_MM
from setwright.geometry.bodies import Body
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import PieceTable, Role
from setwright.removal.field import Field, field_of
from setwright.removal.passage import MOTIONS_AT_ONCE, Passage, Portion, portions_of
from setwright.removal.runs import Found
from setwright.removal.sweeps import ACTION, MOTION, PIECE, TOUCH, Sweeps, checked

__all__ = ["RAYS_THROUGH", "Contact", "Progress", "Touches", "contacts_of", "contacts_with", "first_touch", "first_touch_along",
           "passages_in_turn", "touch", "touch_along", "touches_of"]  # fmt: skip

Progress = Callable[[int, int], None]
"""Called now and then with (motions done, motions in all); may raise Cancelled."""

RAYS_THROUGH: Final = 16
_AT_FIRST: Final = 512


@dataclass(frozen=True, slots=True)
class Contact:
    """Metal touched by what must not touch it, in one motion.

    `motion`: its number (`Moves.ident`); `row`: its row; `role` and `piece` (row of the PieceTable): what touched; `depth` mm (see
    the module's text), on a ray along `axis`; `at`: middle of the overlap there, mm in the field's frame; `cutting`: the motion was
    one that may cut; `body`: name of the body touched, "" for the metal being cut.
    """

    motion: int
    row: int
    role: Role
    piece: int
    depth: float
    at: tuple[float, float, float]
    cutting: bool
    body: str = ""
    axis: int = 2


class Touches(NamedTuple):
    """Overlaps found on rays: row of the motion, row of the piece, bundle, depth, place."""

    row: NDArray[np.int64]
    piece: NDArray[np.int64]
    axis: NDArray[np.int64]
    depth: NDArray[np.float64]
    at: NDArray[np.float64]


def touch(
    field: Field, moves: Moves, pieces: PieceTable, *, body: str = "", progress: Progress | None = None
) -> tuple[Contact, ...]:
    """Every overlap of the tools with metal that stands still: one contact for each motion and role, in order. Nothing is
    removed, and cutting pieces count in every motion. Raises InputRefused if motions or pieces cannot be computed with."""
    checked(moves, pieces)
    return _touch(field, moves, pieces, portions_of(field, moves, pieces, touch_only=True), body, progress)


def touch_along(passage: Passage, field: Field) -> tuple[Contact, ...]:
    """`touch` with the motions of a passage that only touches, sooner where it knows the tiles."""
    return _touch(field, passage.moves, passage.pieces, passage.portions(field), "", None)


def _touch(
    field: Field, moves: Moves, pieces: PieceTable, portions: Iterable[Portion], body: str, progress: Progress | None
) -> tuple[Contact, ...]:
    touches: list[Touches] = []
    slack = field.slack
    for portion in portions:
        slack = max(slack, portion.sweeps.slack)
        for axis in range(3):
            _, found = portion.run(field, axis)
            touches += touches_of(portion.sweeps, axis, found, portion.first)
        if progress is not None:
            progress(portion.stop, len(moves))
    return contacts_of(touches, moves, pieces, slack=slack, body=body)


def first_touch(field: Field, moves: Moves, pieces: PieceTable) -> int:
    """Number of the first motion that `touch` would name, -1 for none; found sooner the earlier it comes. Raises as `touch`."""
    return next((found[0].motion for some in _in_turn(moves) if (found := touch(field, some, pieces))), -1)


def first_touch_along(passages: Sequence[Passage], field: Field) -> int:
    """`first_touch` with the motions of `passages_in_turn`, sooner where they know the tiles."""
    return next((found[0].motion for passage in passages if (found := touch_along(passage, field))), -1)


def passages_in_turn(field: Field, moves: Moves, pieces: PieceTable) -> tuple[Passage, ...]:
    """Motions for `first_touch_along`, in portions; they remember what they do to `field`. Raises as `touch`."""
    passages = tuple(Passage(field, some, pieces, touch_only=True) for some in _in_turn(moves))
    for passage in passages:
        touch_along(passage, field)
        passage.close()
    return passages


def _in_turn(moves: Moves) -> Iterator[Moves]:
    """Portions that grow, so that an early touch is found soon."""
    begin, portion = 0, _AT_FIRST
    while begin < len(moves):
        yield moves[begin : begin + portion]
        begin, portion = begin + portion, min(4 * portion, MOTIONS_AT_ONCE)


def contacts_with(
    bodies: Sequence[Body], moves: Moves, pieces: PieceTable, *, pitch_mm: float, progress: Progress | None = None
) -> tuple[Contact, ...]:
    """`touch` for each body in turn (jaws, clamps, plate, table), with rays at most `pitch_mm` apart and at least RAYS_THROUGH
    through each side of a body. Raises InputRefused for a body without volume or an open mesh."""
    found: list[Contact] = []
    for number, body in enumerate(bodies):
        field = field_of(body.shape, pitch_mm=pitch_mm, least_rays=RAYS_THROUGH)
        found += touch(field, moves, pieces, body=body.name)
        if progress is not None:
            progress((number + 1) * len(moves), len(bodies) * len(moves))
    return tuple(sorted(found, key=lambda contact: contact.row))


def touches_of(sweeps: Sweeps, axis: int, found: list[Found], first_row: int) -> list[Touches]:
    """Overlaps among what was found in one bundle; `first_row`: of the motions the sweeps belong to."""
    touching = [one for one in found if one.where.shape[0]]  # where no sweep touches there are no places
    if not touching:
        return []
    rows, longest = (np.concatenate([getattr(one, name) for one in touching]) for name in ("rows", "longest"))
    hit = np.flatnonzero(longest > 0)
    hit = hit[sweeps.code[rows[hit], ACTION] == TOUCH]
    if hit.size == 0:
        return []
    code, where = sweeps.code[rows[hit]].astype(np.int64), np.concatenate([one.where for one in touching])
    return [Touches(first_row + code[:, MOTION], code[:, PIECE], np.full(hit.size, axis), longest[hit], where[hit])]


def contacts_of(
    touches: list[Touches], moves: Moves, pieces: PieceTable, *, slack: float, body: str = ""
) -> tuple[Contact, ...]:
    """One contact for each motion and role: the deepest overlap of each bundle, then the bundle with the least of them."""
    if not touches:
        return ()
    row, piece, axis, depth, at = (np.concatenate(column) for column in zip(*touches, strict=True))
    role = pieces.role[piece].astype(np.int64)
    order = np.lexsort((-depth, axis, role, row))
    order = order[_firsts(row[order], role[order], axis[order])]
    order = order[np.lexsort((depth[order], role[order], row[order]))]
    order = order[_firsts(row[order], role[order])]
    contacts = []
    for k in order[depth[order] > CONTACT_DEPTH_MM + 2 * slack].tolist():
        motion, which = int(row[k]), Role(int(role[k]))
        x, y, z = at[k].tolist()
        cutting = bool(moves.cuts[motion] and moves.kind[motion] != MoveKind.RAPID)
        ident = int(moves.ident[motion])
        contacts.append(Contact(ident, motion, which, int(piece[k]), float(depth[k]), (x, y, z), cutting, body,
                                int(axis[k])))
    return tuple(contacts)


def _firsts(*keys: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Where a run of equal keys begins."""
    begins = np.ones(keys[0].size, np.bool_)
    begins[1:] = np.any([np.diff(key) != 0 for key in keys], axis=0)
    return begins
