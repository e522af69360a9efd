"""A run of motions made ready to go through one state of the metal after another.

What the motions do to a tile depends on the tile and on those of them that reach it, and on nothing else. So what they did on the
first passage is remembered tile by tile, and where a later one meets the very same tile that is taken over. It has the bytes of a
run of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.removal.field import Bundle, Field
from setwright.removal.runs import Found, Known, portions, run_bundle
from setwright.removal.sweeps import MOTION, Sweeps, checked, sweeps_of

__all__ = ["MOTIONS_AT_ONCE", "Passage", "Portion", "portions_of"]

MOTIONS_AT_ONCE: Final = 262_144


@dataclass(frozen=True, slots=True)
class Portion:
    """Sweeps that are run at once. `first`: the row of a motion their rows count from; `stop`: one past the last row they belong
    to; `ident`: numbers of the motions from `first` on; `known`: what became of the tiles of each bundle, if that is kept."""

    sweeps: Sweeps
    first: int
    stop: int
    ident: NDArray[np.int32]
    known: tuple[Known, Known, Known] | None = None

    def run(self, field: Field, axis: int) -> tuple[Bundle, list[Found]]:
        """Apply them to one bundle, as `run_bundle`."""
        return run_bundle(field, axis, self.sweeps, self.ident, known=None if self.known is None else self.known[axis])


def portions_of(field: Field, moves: Moves, pieces: PieceTable, *, touch_only: bool = False) -> Iterator[Portion]:
    """The sweeps of motions (checked) in portions, in order, as they are asked for."""
    for first in range(0, len(moves), MOTIONS_AT_ONCE):
        some = moves[first : first + MOTIONS_AT_ONCE]
        sweeps = sweeps_of(some, pieces, within=field.grid, touch_only=touch_only)
        for part in portions(sweeps, field) or [sweeps]:
            stop = first + (int(part.code[-1, MOTION]) + 1 if len(part) else len(some))
            yield Portion(part, first, stop, some.ident)


class Passage:
    """Motions with their tools, to be run through states of metal on the rays of `field`; with `touch_only` they remove nothing.
    The first run is remembered, later ones are not. Holds its sweeps (some 200 bytes for each motion and piece) and the tiles of
    the first run. Raises InputRefused if motions or pieces cannot be computed with."""

    def __init__(self, field: Field, moves: Moves, pieces: PieceTable, *, touch_only: bool = False) -> None:
        checked(moves, pieces)
        self.moves, self.pieces, self.touch_only, self._grid = moves, pieces, touch_only, field.grid
        self._portions = tuple(
            Portion(one.sweeps, one.first, one.stop, one.ident, (Known(), Known(), Known()))
            for one in portions_of(field, moves, pieces, touch_only=touch_only)
        )

    def portions(self, field: Field) -> Iterable[Portion]:
        """The sweeps in portions, for a state of the metal; made anew if that stands on other rays."""
        if field.grid is self._grid:
            return self._portions
        return portions_of(field, self.moves, self.pieces, touch_only=self.touch_only)

    def close(self) -> None:
        """The first run is over: remember no more."""
        for portion in self._portions:
            for known in portion.known or ():
                known.close()
