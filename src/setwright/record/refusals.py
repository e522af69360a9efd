"""Refusals that only a record can give; each is an `InputRefused`, so that a person always hears what to do next."""

from __future__ import annotations

from setwright.base.errors import InputRefused

__all__ = ["AlreadyThere", "Damaged", "NotThere", "Stale", "Unavailable"]


class NotThere(InputRefused):
    """Nothing of that name is in the record."""


class AlreadyThere(InputRefused):
    """Something of that name is in the record already."""


class Stale(InputRefused):
    """The write was based on a revision that is not the newest any more."""


class Unavailable(InputRefused):
    """The database or its folder cannot be reached, or stayed busy for too long."""


class Damaged(InputRefused):
    """What is stored is not what was written: a byte is wrong or missing."""
