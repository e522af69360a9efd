"""The answer of Kit in one sentence: whether it goes together, on what, and what of it nobody has checked."""

from __future__ import annotations

from collections.abc import Sequence

from setwright.kit.station import Kit
from setwright.model.finding import Finding, worst_first

__all__ = ["kit_sentence"]


def kit_sentence(kits: Sequence[Kit], findings: Sequence[Finding]) -> str:
    """For all setups of a job, `findings` being those of Kit about them."""
    machines = " and ".join(dict.fromkeys(one.machine.name for one in kits))
    worst = next(iter(worst_first(list(findings))), None)
    said = f"It goes together on {machines}." if worst is None else f"{worst.text[:1].upper()}{worst.text[1:]}."
    guesses = sum(guess.setup in {one.setup.name for one in kits} for guess in kits[0].folder.job.guess) if kits else 0
    if guesses == 0:
        return said
    return f"{said} {'One guess is' if guesses == 1 else f'{guesses} guesses are'} still to be checked."
