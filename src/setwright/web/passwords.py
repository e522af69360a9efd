"""Passwords: never kept, only a slow salted hash of them."""

from __future__ import annotations

from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from setwright.base.errors import InputRefused

__all__ = ["SHORTEST", "fits", "hashed"]

SHORTEST: Final = 10
_FEWEST: Final = 5
_LONGEST: Final = 200


@cache
def _hasher() -> PasswordHasher:
    return PasswordHasher()


@cache
def _nobody() -> str:
    return _hasher().hash("nobody has this password")


def hashed(password: str) -> str:
    """The hash to keep. Refuses a password that is too short, too long, or of too few different characters."""
    if not SHORTEST <= len(password) <= _LONGEST:
        said = f"a password has {SHORTEST} to {_LONGEST} characters; this one has {len(password)}"
        raise InputRefused.because(said, remedy="four or five words in a row are easy to keep in mind", key="password")
    if len(set(password.casefold())) < _FEWEST:
        said = f"that password repeats itself: it has fewer than {_FEWEST} different characters"
        raise InputRefused.because(said, remedy="four or five words in a row are easy to keep in mind", key="password")
    return _hasher().hash(password)


def fits(password: str, secret: str) -> bool:
    """Whether a password belongs to a hash; takes the same time when there is no such person (`secret` empty)."""
    try:
        return _hasher().verify(secret or _nobody(), password[:_LONGEST]) and bool(secret)
    except (VerificationError, InvalidHashError):
        return False
