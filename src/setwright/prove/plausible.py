"""What hurts only where a draft guessed metal: the motions run once more through the blank that no plausible answer leaves out.

A draft takes the blank as large as the program makes plausible, and says between which places each guessed face may lie. The metal
that stands wherever they lie is the sure blank. What meets that meets any blank; what meets only the rest is a question, told with
the place from which on the answer is yes. It is never left out: a guess does not acquit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import BoxShape
from setwright.geometry.moves import Moves, extent_of
from setwright.geometry.pieces import PieceTable, Role
from setwright.kit.station import Kit
from setwright.model.job import BOX_FACES, Guess
from setwright.prove.case import Contact
from setwright.prove.compute import NO_DOUBTS, PARTS, blank_contacts
from setwright.prove.parting import PartedPiece, parted
from setwright.prove.stage import blank_field
from setwright.removal.cut import Cut, cut
from setwright.removal.field import Field

__all__ = ["asked_contacts", "asked_pieces"]

_UPRIGHT: Final = (2,)
_Box = tuple[NDArray[np.float64], NDArray[np.float64]]


def asked_contacts(
    found: Sequence[Contact], kit: Kit, before: Field, moves: Moves, pieces: PieceTable, *, several: NDArray[np.bool_],
    doubts: Mapping[tuple[int, Role], str] = NO_DOUBTS,
) -> list[Contact]:  # fmt: skip
    """Contacts with the blank (see `blank_contacts`), those that only its guessed part brings about with `beyond`: past which
    places its faces must lie for it. Where a tool meets both, what it surely meets is one contact, and what it meets before in the
    guessed part another."""
    sure = _sure_box(kit, range(3))
    unwanted = [one for one in found if one.rapid or one.part != "cutter"]
    if sure is None or not unwanted:
        return list(found)
    done = _run(sure, kit, before, moves, pieces)
    certain = {} if done is None else {_key(one, moves): one for one in blank_contacts(done, moves, several=several, doubts=doubts)}
    answer = [one for one in found if one not in unwanted]
    for one in unwanted:
        same = certain.get(_key(one, moves))
        if same is None or same.row != one.row:
            answer.append(replace(one, beyond=tuple(_beyond(one, kit, sure, moves, pieces))))
        if same is not None:
            answer.append(one if same.row == one.row else same)
    return sorted(answer, key=lambda contact: contact.row)


def asked_pieces(
    found: Iterable[PartedPiece], kit: Kit, before: Field, moves: Moves, pieces: PieceTable
) -> tuple[PartedPiece, ...]:
    """Pieces that come loose, marked as `guessed` where none does in a blank that lies as high or low as it plausibly may."""
    every = tuple(found)
    sure = _sure_box(kit, _UPRIGHT)
    if sure is None or all(piece.held for piece in every):
        return every
    done = _run(sure, kit, before, moves, pieces)
    if done is not None and any(not piece.held for piece in parted(done.before, done.field, kit.placement.bodies)):
        return every
    return tuple(piece if piece.held else replace(piece, guessed=True) for piece in every)


def _key(one: Contact, moves: Moves) -> tuple[int, str, bool]:
    return int(moves.tool[np.searchsorted(moves.ident, one.row)]), one.part, one.rapid


def _sure_box(kit: Kit, axes: Iterable[int]) -> _Box | None:
    """Least and greatest corner of what every plausible blank fills, as far as it is guessed along these axes; the least may lie
    above the greatest, where two plausible blanks share nothing. None for a blank that is no box, or not guessed there."""
    if kit.setup.blank.box is None:
        return None
    low, high = (corner.astype(np.float64) for corner in kit.extent)
    for guess in kit.folder.job.guess:
        if guess.setup in ("", kit.setup.name) and guess.low and guess.key.startswith("job.toml: setup.blank."):
            _shrink(low, high, guess, kit)
    own = np.isin(np.arange(3), list(axes))
    low, high = np.where(own, low, kit.extent[0]), np.where(own, high, kit.extent[1])
    same = np.abs(low - kit.extent[0]).max() <= SAME_PLACE_MM and np.abs(high - kit.extent[1]).max() <= SAME_PLACE_MM
    return None if same else (low, high)


def _shrink(low: NDArray[np.float64], high: NDArray[np.float64], guess: Guess, kit: Kit) -> None:
    """Take away what the blank need not have by one guess: of its faces, or of the place of its corner."""
    for number, face in enumerate(guess.faces):
        axis, upper = divmod(BOX_FACES.index(face), 2)
        if upper:
            high[axis] = min(high[axis], guess.low[number])
        else:
            low[axis] = max(low[axis], guess.high[number])
    if guess.key.endswith(".corner"):
        now = np.array(kit.setup.blank.corner)
        low += np.maximum(np.array(guess.high) - now, 0.0)
        high += np.minimum(np.array(guess.low) - now, 0.0)


def _run(sure: _Box, kit: Kit, before: Field, moves: Moves, pieces: PieceTable) -> Cut | None:
    """The motions run through a smaller blank, the rays as far apart as in `before`; None where nothing of it is left."""
    if (sure[1] - sure[0]).min() <= SAME_PLACE_MM or kit.blank is None:
        return None
    (x, y, z), (p, q, r) = (corner.tolist() for corner in sure)
    smaller = replace(kit, blank=replace(kit.blank, shape=BoxShape((x, y, z), (p, q, r))))
    return cut(blank_field(smaller, float(before.grid.pitch.max())), moves, pieces)


def _beyond(one: Contact, kit: Kit, sure: _Box, moves: Moves, pieces: PieceTable) -> Iterator[tuple[str, float]]:
    """Beyond which places the blank's faces must lie to be met, by face: as far as the motion reaches, where it stays outside the
    sure blank altogether, else where it is met deepest; nothing on a pallet, whose parts lie beside each other."""
    if len(kit.copies) > 1:
        return
    rows = np.flatnonzero(moves.ident == one.row)
    reach = [extent[rows] for extent in extent_of(moves)]
    tools = np.unique(moves.tool[rows]).tolist()  # a row of a cycle may be made with the tool and with its core
    own = np.concatenate([np.arange(pieces.first[tool], pieces.first[tool + 1]) for tool in tools])
    shape = pieces.shape[own[[PARTS[Role(role)] == one.part for role in pieces.role[own]]]]
    radius = float(shape[:, 2:4].max())
    low = reach[0].min(axis=0) + np.array((-radius, -radius, shape[:, 0].min()))
    high = reach[1].max(axis=0) + np.array((radius, radius, shape[:, 1].max()))
    at = np.array(one.at)
    for ends in ((low, high), (at, at)):
        told = []
        for number, face in enumerate(BOX_FACES):
            axis, upper = divmod(number, 2)
            sign, place, edge = (1.0, ends[0][axis], sure[1][axis]) if upper else (-1.0, ends[1][axis], sure[0][axis])
            guessed = abs(edge - kit.extent[upper][axis]) > SAME_PLACE_MM
            if guessed and sign * (place - edge) >= -SAME_PLACE_MM:
                told.append((face, float(place)))
        if told:
            yield from told
            return
