"""Refusals that only a server gives, and the status each refusal has over HTTP."""

from __future__ import annotations

from typing import Final

from setwright.base.errors import InputRefused, LimitReached
from setwright.record.refusals import AlreadyThere, Clashing, Damaged, NotThere, Stale, Unavailable

__all__ = ["Busy", "Left", "NoRevisionNamed", "NotAllowed", "NotSignedIn", "TooManyTries", "TooSlow", "WrongOrigin", "status_of"]


class NotSignedIn(InputRefused):
    """Nobody is signed in."""


class NotAllowed(InputRefused):
    """The person's role is not enough."""


class WrongOrigin(InputRefused):
    """The request does not come from a page of this server."""


class TooManyTries(InputRefused):
    """Too many refused sign-ins."""


class Busy(InputRefused):
    """Too many ask at once for what takes long."""


class Left(InputRefused):
    """Whoever asked has left; nobody hears the answer."""


class TooSlow(InputRefused):
    """A request did not come whole within its time."""


class NoRevisionNamed(InputRefused):
    """A write does not say which revision it was made from."""


_STATUS: Final[tuple[tuple[type[InputRefused], int], ...]] = (
    (NotSignedIn, 401), (NotAllowed, 403), (WrongOrigin, 403), (NotThere, 404), (AlreadyThere, 409), (Clashing, 409), (Stale, 412),
    (LimitReached, 413), (NoRevisionNamed, 428), (TooManyTries, 429), (Damaged, 500), (Unavailable, 503), (Busy, 503),
    (TooSlow, 408), (Left, 408),
)  # fmt: skip


def status_of(refusal: InputRefused) -> int:
    """The status of a refusal: 422 unless it is one of the special ones."""
    return next((status for kind, status in _STATUS if isinstance(refusal, kind)), 422)
