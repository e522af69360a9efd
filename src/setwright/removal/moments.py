"""The metal at any moment of a program: checkpoints on the way, and the motions from the last one run again."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.removal.contact import Progress
from setwright.removal.cut import Cut, cut
from setwright.removal.field import Field, Volume

__all__ = ["Moments", "cut_with_moments"]


@dataclass(frozen=True, slots=True)
class Moments:
    """Checkpoints of one run: `fields[k]` is the metal after `marks[k]` motions. Checkpoints share every tile that did not change
    between them."""

    moves: Moves
    pieces: PieceTable
    marks: tuple[int, ...]
    fields: tuple[Field, ...]

    def after(self, motions: int) -> Field:
        """The metal after the first `motions` motions, the very state the run went through; clipped to the run's length."""
        wanted = min(max(motions, 0), len(self.moves))
        k = int(np.searchsorted(self.marks, wanted, side="right")) - 1
        if self.marks[k] == wanted:
            return self.fields[k]
        return cut(self.fields[k], self.moves[self.marks[k] : wanted], self.pieces).field


def cut_with_moments(
    field: Field, moves: Moves, pieces: PieceTable, *, checkpoints: int = 24, progress: Progress | None = None
) -> tuple[Cut, Moments]:
    """`cut`, keeping about `checkpoints` states on the way. Results are those of `cut`; errors too."""
    n = len(moves)
    step = max(1, -(-n // max(1, checkpoints)))
    marks, fields, cuts = [0], [field], []
    for start in range(0, n, step):
        stop = min(n, start + step)
        told = None if progress is None else lambda done, _, start=start: progress(start + done, n)
        one = cut(fields[-1], moves[start:stop], pieces, progress=told)
        cuts.append(replace(one, contacts=tuple(replace(contact, row=contact.row + start) for contact in one.contacts)))
        marks.append(stop)
        fields.append(one.field)
    if not cuts:
        cuts.append(cut(field, moves, pieces, progress=progress))
    by_bundle = np.concatenate([one.by_bundle for one in cuts], axis=1)
    bound = field.volume().bound + cuts[-1].field.volume().bound
    whole = Cut(
        cuts[-1].field,
        np.concatenate([one.motion for one in cuts]),
        np.concatenate([one.removed for one in cuts]),
        by_bundle,
        np.concatenate([one.axial for one in cuts]),
        tuple(contact for one in cuts for contact in one.contacts),
        Volume.of(by_bundle.sum(axis=1).tolist(), bound),
    )
    return whole, Moments(moves, pieces, tuple(marks), tuple(fields))
