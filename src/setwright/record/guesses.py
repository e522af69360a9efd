"""A guess of a drafted job settled: somebody checked it, wrote what is true, and the proof rests on it no longer."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any, Final

from setwright.jobfolder.document import read_toml
from setwright.record.readings import remove_block
from setwright.record.refusals import NotThere

__all__ = ["JOB_FILE", "all_settled", "settle_guess"]

JOB_FILE: Final = "job.toml"
_LIST: Final = "guess"


@lru_cache(maxsize=256)
def all_settled(text: str) -> str:
    """The text of a job.toml with every guess settled, whatever the order: what it says apart from how sure it is. Blank lines do
    not count."""
    for one in read_toml(text, shown=JOB_FILE).get(_LIST, []):
        text = settle_guess(text, setup=one.get("setup"), what=one.get("what"))
    return re.sub(r"\n\s*\n+", "\n", text).strip()


def settle_guess(text: str, *, setup: str, what: str) -> str:
    """The text of a job.toml without that guess, and without the mark beside its value where the mark belongs to no other guess.

    Every other byte stays. Raises NotThere when the job makes no such guess (any more).
    """
    guesses: list[dict[str, Any]] = list(read_toml(text, shown=JOB_FILE).get(_LIST, []))
    number = next((n for n, one in enumerate(guesses, start=1) if (one.get("setup"), one.get("what")) == (setup, what)), None)
    if number is None:
        raise NotThere.because(f'the job makes no guess "{what}" for "{setup}"', remedy="look at its guesses again")
    evidence = str(guesses[number - 1].get("evidence", ""))
    settled = remove_block(text, _LIST, number, file=JOB_FILE)
    if any(one.get("evidence") == evidence for n, one in enumerate(guesses, start=1) if n != number):
        return settled
    mark = re.escape(f"# guess: {evidence}")
    settled = re.sub(rf"(?m)^{mark}\r?\n", "", settled)
    return re.sub(rf"(?m)[ \t]+{mark}$", "", settled)
