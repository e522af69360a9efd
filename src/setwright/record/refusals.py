"""Refusals that only a record can give; each is an `InputRefused`, so that a person always hears what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from setwright.base.errors import InputRefused, Problem

__all__ = ["AlreadyThere", "Clashing", "Damaged", "NotThere", "Stale", "Unavailable"]


class NotThere(InputRefused):
    """Nothing of that name is in the record."""


class AlreadyThere(InputRefused):
    """Something of that name is in the record already."""


class Stale(InputRefused):
    """The write was based on a revision that is not the newest any more."""


class Clashing(InputRefused):
    """A change overlaps one that somebody else made meanwhile; `clashes` as plain data, `newest` the revision that holds theirs."""

    def __init__(self, problems: Iterable[Problem], clashes: Sequence[Mapping[str, Any]], newest: int) -> None:
        super().__init__(problems)
        self.clashes, self.newest = tuple(clashes), newest


class Unavailable(InputRefused):
    """The database or its folder cannot be reached, or stayed busy for too long."""


class Damaged(InputRefused):
    """What is stored is not what was written: a byte is wrong or missing."""
