"""The first motion of a stretch that meets the holding or the table: whether first, how deep only where it is."""

from __future__ import annotations

from typing import Final

import numpy as np

from setwright.clearance import Bodies, Verdict, contact_verdicts
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.prove.case import Contact
from setwright.prove.compute import holding_contacts

__all__ = ["first_holding_contact"]

_AT_FIRST: Final = 512
_THEN: Final = 65_536


def first_holding_contact(moves: Moves, pieces: PieceTable, bodies: Bodies) -> Contact | None:
    """The contact of the first motion that meets a body. Motions are looked at in order, in portions, so that a crash at the
    beginning is found at once."""
    begin, portion = 0, _AT_FIRST
    while begin < len(moves):
        part = moves[begin : begin + portion]
        hit = (contact_verdicts(part, pieces, bodies) == Verdict.CONTACT).any(axis=(1, 2))
        if hit.any():
            number = int(part.ident[int(np.argmax(hit))])
            return holding_contacts(part[part.ident == number], pieces, bodies)[0]
        begin, portion = begin + portion, _THEN
    return None
