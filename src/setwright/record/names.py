"""Names of people: what can be one, and which two could be mistaken for each other on a screen."""

from __future__ import annotations

import unicodedata
from typing import Final

from setwright.base.errors import InputRefused

__all__ = ["folded", "person_name"]

_LONGEST: Final = 60
_PAIRS: Final = "0o 1l il |l 3e 5s łl аa вb еe кk мm нh оo рp сc тt уy хx іl јj ѕs ԁd ԛq ԝw ɡg αa βb εe ιl κk νv οo ρp τt υu χx ηn"
_MORE: Final = "ıl ɩl ɪl ȷj ɑa øo đd ħh ŧt ƒf ɴn ʀr ʏy ᴀa ᴇe ᴏo ᴠv"
_LOOKS: Final = str.maketrans({pair[0]: pair[1] for pair in (_PAIRS + " " + _MORE).split()})
"""What looks like a Latin letter, each before that letter; small letters, after folding. Not all there are: the common ones."""
_TOGETHER: Final = (("rn", "m"), ("vv", "w"))
"""Letters that look like another one when they stand side by side."""


def person_name(text: str) -> str:
    """A person's name with its blanks put right. Raises InputRefused for what cannot be read out as one."""
    shown = unicodedata.normalize("NFKC", " ".join(text.split()))
    if not shown or len(shown) > _LONGEST or not shown.isprintable() or not any(letter.isalpha() for letter in shown):
        raise InputRefused.because("that cannot be a person's name", remedy=f"write 1 to {_LONGEST} letters", key="name")
    if len(_scripts(shown)) > 1:
        raise InputRefused.because("that name mixes letters of several scripts", why="it could be mistaken for another's",
                                   remedy="write it in the letters of one script", key="name")  # fmt: skip
    return shown


def folded(name: str) -> str:
    """What names have in common that could be taken for each other: no capitals, accents, wide forms, letters that look alike."""
    plain = unicodedata.normalize("NFKD", " ".join(name.split()).casefold())
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter))
    looks = unicodedata.normalize("NFKC", bare).casefold().translate(_LOOKS)
    for pair, letter in _TOGETHER:
        looks = looks.replace(pair, letter)
    return looks[:200]


def _scripts(name: str) -> set[str]:
    """The first words of the letters' own names: LATIN, CYRILLIC, GREEK ..."""
    return {unicodedata.name(letter, "NAMELESS").split()[0] for letter in name if letter.isalpha()}
