"""Run motions through the metal: what each removes, and what touches metal that must not.

A motion that may cut (`Moves.cuts`, not RAPID) removes what its cutting pieces sweep. Everything else the tool sweeps is tried
against the metal as it then stands, and a contact is reported once for each motion and role of piece, with its deepest overlap:
neck, shank, holder and nose always; cutting pieces in a rapid or in a motion that may not cut. Metal that is only touched is left
where it is. How deep a contact is: see contact.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.removal.contact import Contact, Progress, Touches, contacts_of, touches_of
from setwright.removal.field import ACROSS, Field
from setwright.removal.passage import Passage, Portion, portions_of
from setwright.removal.runs import Found
from setwright.removal.sweeps import MOTION, Sweeps, checked
from setwright.removal.volumes import Volume

__all__ = ["Cut", "Tally", "cut", "cut_along"]


@dataclass(frozen=True, slots=True)
class Cut:
    """What a run of motions did.

    field     the metal after them
    motion    int32 (n,)       their numbers
    removed   float64 (n,)     mm³ removed by each, from the bundle in which it changed the most rays
    by_bundle float64 (3, n)   the same as each bundle has it; their sum over the motions is exactly the bundle's change
    axial     float64 (n,)     mm; the longest stretch removed on one ray along Z: the axial depth of cut
    contacts  in the order of the motions, then by role
    before    the metal before them
    """

    field: Field
    motion: NDArray[np.int32]
    removed: NDArray[np.float64]
    by_bundle: NDArray[np.float64]
    axial: NDArray[np.float64]
    contacts: tuple[Contact, ...]
    before: Field

    @property
    def removed_volume(self) -> Volume:
        """Of all motions together; its bound is the sum of the bounds before and after."""
        return Volume.of(self.by_bundle.sum(axis=1).tolist(), self.before.volume().bound + self.field.volume().bound)

    def first_metal(self) -> int:
        """Number of the first motion that removed metal; -1 if none did."""
        rows = np.flatnonzero(self.by_bundle.max(axis=0) > 0)
        return int(self.motion[rows[0]]) if rows.size else -1


def cut(field: Field, moves: Moves, pieces: PieceTable, *, progress: Progress | None = None) -> Cut:
    """Run `moves` with `pieces` through `field`, in order. The field given is not changed.

    Raises InputRefused if motions or pieces cannot be computed with. Exact along every ray for lines and level arcs; for other
    arcs within CHORD_SAGITTA_MM (see sweeps). The result does not depend on the number of threads.
    """
    checked(moves, pieces)
    return _cut(field, moves, pieces, portions_of(field, moves, pieces), progress)


def cut_along(passage: Passage, field: Field) -> Cut:
    """`cut` with the motions of a passage, sooner where it knows the tiles."""
    return _cut(field, passage.moves, passage.pieces, passage.portions(field), None)


def _cut(field: Field, moves: Moves, pieces: PieceTable, portions: Iterable[Portion], progress: Progress | None) -> Cut:
    slack, tally = field.slack, Tally(moves, pieces, field)
    for portion in portions:
        slack = max(slack, portion.sweeps.slack)
        bundles = []
        for axis in range(3):
            bundle, found = portion.run(field, axis)
            bundles.append(bundle)
            tally.add(portion.sweeps, axis, found, portion.first)
        field = Field(field.grid, (bundles[0], bundles[1], bundles[2]), slack)
        if progress is not None:
            progress(portion.stop, len(moves))
    return tally.result(field, slack)


class Tally:
    """What the motions did, added up as the tiles report it; lengths on rays (mm) until `result`."""

    def __init__(self, moves: Moves, pieces: PieceTable, before: Field) -> None:
        n = len(moves)
        self._moves, self._pieces, self._before = moves, pieces, before
        self.by_bundle, self.rays, self.axial = np.zeros((3, n)), np.zeros((3, n), np.int64), np.zeros(n)
        self.touches: list[Touches] = []

    def add(self, sweeps: Sweeps, axis: int, found: list[Found], first_row: int) -> None:
        """Add what was found in one bundle; `first_row`: of the motions the sweeps belong to. All sweeps of a motion come in one
        call, tile after tile."""
        if not found:
            return
        self.touches += touches_of(sweeps, axis, found, first_row)
        rows = np.concatenate([one.rows for one in found])
        amount, rays = np.concatenate([one.amount for one in found]), np.concatenate([one.touched for one in found])
        longest = np.concatenate([np.where(one.touched > 0, one.longest, 0.0) for one in found]) if axis == 2 else np.zeros(0)
        motion = sweeps.code[rows, MOTION].astype(np.int64)
        self.add_rows(axis, motion, amount, rays, longest, slice(first_row, first_row + int(sweeps.code[-1, MOTION]) + 1))

    def add_rows(
        self, axis: int, motion: NDArray[np.int64], amount: NDArray[np.float64], rays: NDArray[np.int64],
        longest: NDArray[np.float64], here: slice
    ) -> None:  # fmt: skip
        """Add lengths removed and rays changed to the motions `here`, counted from its start; `longest` if `axis` is 2."""
        n = here.stop - here.start
        self.by_bundle[axis, here] += np.bincount(motion, amount, n)
        self.rays[axis, here] += np.bincount(motion, rays, n).astype(np.int64)
        if axis == 2:
            np.maximum.at(self.axial[here], motion, longest)

    def result(self, field: Field, slack: float) -> Cut:
        """The whole, `field` being the metal left."""
        area = [float(field.grid.pitch[u] * field.grid.pitch[v]) for u, v in ACROSS]
        by_bundle = self.by_bundle * np.array(area)[:, None]
        removed = np.take_along_axis(by_bundle, self.rays.argmax(axis=0)[None], axis=0)[0]
        contacts = contacts_of(self.touches, self._moves, self._pieces, slack=slack)
        return Cut(field, self._moves.ident.copy(), removed, by_bundle, self.axial, contacts, self._before)
