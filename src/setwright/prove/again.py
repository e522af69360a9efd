"""Prove a setup again after a change of a register, a tool, a block or a place: the metal is removed anew only where it matters.

The answer is the whole answer, byte for byte as a first proof gives it. Taken over from the proof before are the blank as a field
of rays, if it is the same blank, whatever of the removal the change cannot reach, and what was measured where the metal is the
same; everything about the holding is found anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.prove.compute import Progress
from setwright.prove.reading import Held
from setwright.prove.stage import blank_field, default_pitch, same_blank
from setwright.prove.station import Proof, prove
from setwright.removal.again import cut_again
from setwright.removal.cut import Cut
from setwright.removal.field import Field
from setwright.removal.kept import Kept, cut_kept

__all__ = ["Proved", "prove_again", "prove_kept"]


@dataclass(frozen=True, slots=True)
class Proved:
    """A proof to come back to: with the run of its motions through the metal, and the pitch that was asked for (None: by the
    blank's size)."""

    proof: Proof
    run: Kept = field(repr=False)
    pitch_mm: float | None = None


def prove_kept(
    kit: Kit, truth: Truth, *, held: Held | None = None, blank: Field | None = None, pitch_mm: float | None = None,
    until: tuple[str, int] | None = None, progress: Progress | None = None,
) -> Proved:  # fmt: skip
    """`prove`, keeping the run through the metal; arguments and errors as there."""
    removing = _Removing(None)
    proof = prove(kit, truth, held=held, blank=blank, pitch_mm=pitch_mm, until=until, cutter=removing, progress=progress)
    return Proved(proof, removing.run, pitch_mm)


def prove_again(
    before: Proved, kit: Kit, truth: Truth, *, held: Held | None = None, blank: Field | None = None,
    until: tuple[str, int] | None = None, progress: Progress | None = None,
) -> Proved:  # fmt: skip
    """`prove` of the setup as it is now, at the pitch of the proof `before`. Same answer and errors as `prove`; sooner, if little
    has changed. Give the newest proof each time, or the same one for many changes that do not build on each other."""
    metal = blank
    first = before.run.fields[0]
    if metal is None and kit.blank is not None:
        metal = first if _same_rays(kit, before.proof.kit) else blank_field(kit, before.pitch_mm or default_pitch(kit))
    if metal is not None and metal is not first and _same_metal(metal, first):
        metal = first
    removing = _Removing(before.run)
    proof = prove(kit, truth, held=held, blank=metal, pitch_mm=before.pitch_mm, until=until, cutter=removing,
                  measured=before.proof.part, progress=progress)  # fmt: skip
    return Proved(proof, removing.run, before.pitch_mm)


class _Removing:
    """Removes metal as `cut` does, upon an earlier run if that began with the same metal, and keeps the run."""

    def __init__(self, earlier: Kept | None) -> None:
        self._earlier, self._run = earlier, earlier

    def __call__(
        self, field: Field, moves: Moves, pieces: PieceTable, *, progress: Callable[[int, int], None] | None = None
    ) -> Cut:
        if self._earlier is not None and self._earlier.fields[0] is field:
            done, self._run = cut_again(self._earlier, moves, pieces, progress=progress)
        else:
            done, self._run = cut_kept(field, moves, pieces, progress=progress)
        return done

    @property
    def run(self) -> Kept:
        if self._run is None:
            raise AssertionError("a proof removed no metal")
        return self._run


def _same_rays(kit: Kit, before: Kit) -> bool:
    """Whether two kits begin with the same rays, if no pitch is asked for."""
    return same_blank(kit, before) and default_pitch(kit) == default_pitch(before)


def _same_metal(a: Field, b: Field) -> bool:
    """Whether two fields are the same byte for byte."""
    grids = ((getattr(a.grid, name), getattr(b.grid, name)) for name in ("low", "high", "first", "pitch", "count"))
    if a.slack != b.slack or not all(np.array_equal(x, y) for x, y in grids):
        return False
    tiles = ((s, t) for one, other in zip(a.bundles, b.bundles, strict=True) for s, t in zip(one.tiles, other.tiles, strict=True))
    return all(
        np.array_equal(s.count, t.count) and np.array_equal(s.ends, t.ends) and np.array_equal(s.ident, t.ident)
        and np.array_equal(s.normal, t.normal)
        for s, t in tiles
    )  # fmt: skip
