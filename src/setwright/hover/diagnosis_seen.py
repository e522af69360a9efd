"""What a person says was seen, in words: "tip-over-datum x -5 mm", "tool-looked-at T3 differs", "block-under-tip T2 25.4 mm"."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from setwright.base.errors import InputRefused
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.hover.check_list import CheckHere
from setwright.hover.diagnosis import AS_SHEET, DIFFERS, Observed
from setwright.model.setup_check import NUMBERS

__all__ = ["parse_seen"]

_EXAMPLE = 'write a check, its tool or offset, the axis, and what was seen: "tip-over-datum x -5 mm", "tool-looked-at T3 differs"'

_SIZES = ("stick-out", "tool diameter", "blank size")


def parse_seen(text: str, checks: Sequence[CheckHere], *, units: str = "mm") -> list[Observed]:
    """The observations of one sentence. A number is what is read there (a height, a size, for the datum how far the tip stands
    off).

    Refuses an unknown check, tool, offset or axis by naming the nearest, and a value that is neither a length nor words.
    """
    words = text.split()
    if len(words) < 2:
        raise InputRefused.because(f'"{text}" does not say what was seen', remedy=_EXAMPLE)
    number, rest = _find(words, checks, text)
    check = checks[number]
    sights, rest = _sights(check, rest, text)
    said = " ".join(rest)
    if said in (AS_SHEET, DIFFERS):
        return _by_words(number, check, sights, said, text)
    if len(sights) > 1:
        sights = [k for k in sights if check.sights[k].what in NUMBERS] or sights
    if len(sights) != 1:
        axes = ", ".join(f'"{_short(check, k)}"' for k in sights)
        raise InputRefused.because(f'"{text}": {check.name} looks at several things', remedy=f"say which: {axes}")
    if check.sights[sights[0]].what not in NUMBERS:
        return [Observed(number, sights[0], said)]
    read = _length(said, units, text)
    if check.sights[sights[0]].what.startswith(_SIZES) and read <= 0.0:
        raise InputRefused.because(f'"{text}": no {check.sights[sights[0]].what} is {said}', why="a size is more than zero",
                                   remedy="read it again, and write what was read, not how far it is off")  # fmt: skip
    return [Observed(number, sights[0], read)]


def _find(words: list[str], checks: Sequence[CheckHere], text: str) -> tuple[int, list[str]]:
    """The check, and the words behind its name."""
    slug, behind = words[0], words[1]
    known = list(dict.fromkeys(check.slug for check in checks))
    if slug not in known:
        near = difflib.get_close_matches(slug, known, n=1, cutoff=0.5)
        remedy = f'did you mean "{near[0]}"?' if near else f"the checks of this setup are: {', '.join(known)}"
        raise InputRefused.because(f'"{text}": no check is called "{slug}"', remedy=remedy)
    same = [number for number, check in enumerate(checks) if check.slug == slug]
    named = [number for number in same if checks[number].on and checks[number].on.lower() == behind.lower()]
    if named:
        return named[0], words[2:]
    if len(same) == 1:
        return same[0], words[1:]
    listed = ", ".join(checks[number].on for number in same)
    raise InputRefused.because(f'"{text}": {slug} is made several times in this setup', remedy=f"say which behind it: {listed}")


def _sights(check: CheckHere, rest: list[str], text: str) -> tuple[list[int], list[str]]:
    """The sights spoken of, and the words that say what was seen."""
    if not rest:
        raise InputRefused.because(f'"{text}" does not say what was seen', remedy=_EXAMPLE)
    named = [k for k in range(len(check.sights)) if _short(check, k) == rest[0].lower()]
    return (named, rest[1:]) if named else (list(range(len(check.sights))), rest)


def _short(check: CheckHere, k: int) -> str:
    """The axis of a sight, or the first word of its name where it has none."""
    what = check.sights[k].what
    return what.rsplit(", ", 1)[1] if ", " in what else what.split()[0]


def _by_words(number: int, check: CheckHere, sights: list[int], said: str, text: str) -> list[Observed]:
    """ "as the sheet says" speaks of everything the check looks at, "differs" of what is only seen."""
    if said == AS_SHEET:
        return [Observed(number, k, right if isinstance(right := check.right[k], float) else AS_SHEET) for k in sights]
    words = [k for k in sights if check.sights[k].what not in NUMBERS]
    if len(words) != 1:
        which = ", ".join(f'"{_short(check, k)}"' for k in words)
        remedy = f"say which: {which}" if words else 'give the number that was read, for example "25.4 mm"'
        raise InputRefused.because(f'"{text}": it is not clear what differs', remedy=remedy)
    return [Observed(number, words[0], DIFFERS)]


def _length(said: str, units: str, text: str) -> float:
    try:
        return float(parse_quantity(said, Dimension.LENGTH, "in" if units in ("in", "inch") else "mm"))
    except UnitError as error:
        remedy = f'write a length, "{DIFFERS}" or "{AS_SHEET}"; the unit behind the number, for example "-5 mm"'
        raise InputRefused.because(f'"{text}": "{said}" is not a length ({error})', remedy=remedy) from error
