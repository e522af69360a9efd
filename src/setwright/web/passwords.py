"""Passwords: never kept, only a slow salted hash of them."""

from __future__ import annotations

from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from setwright.base.errors import InputRefused

__all__ = ["SHORTEST", "fits", "hashed"]

SHORTEST: Final = 10
_LONGEST: Final = 200
_JUDGED: Final = 72
"""More characters make no password easier to guess, and judging them takes long."""
_TRIES: Final = 10**8
"""What somebody who has the hashes can try in some months, at ten a second; a password that falls earlier is refused."""


@cache
def _hasher() -> PasswordHasher:
    return PasswordHasher()


@cache
def _nobody() -> str:
    return _hasher().hash("nobody has this password")


def hashed(password: str, *, name: str) -> str:
    """The hash to keep. Refuses a password that is too short, too long, or among the first somebody would try for this person."""
    if not SHORTEST <= len(password) <= _LONGEST:
        raise _refused(f"a password has {SHORTEST} to {_LONGEST} characters; this one has {len(password)}")
    from zxcvbn import zxcvbn  # its lists of words take a while to read, and few commands need them

    own = [name, *name.split(), "setwright"]
    if zxcvbn(password[:_JUDGED], user_inputs=own)["guesses"] < _TRIES:
        raise _refused("that password is among the first somebody would try: known words, names, dates, repeats, rows of keys")
    return _hasher().hash(password)


def _refused(said: str) -> InputRefused:
    return InputRefused.because(said, remedy="four or five words in a row are easy to keep in mind", key="password")


def fits(password: str, secret: str) -> bool:
    """Whether a password belongs to a hash; takes the same time when there is no such person (`secret` empty)."""
    try:
        return _hasher().verify(secret or _nobody(), password[:_LONGEST]) and bool(secret)
    except (VerificationError, InvalidHashError):
        return False
