"""Confirm every slip of the demos by a whole proof of a folder into which it was written by hand.

    python -m tests.hover.confirm [EVERY] [DEMO] [SETUP]

EVERY: a number; 3 takes every third slip, which takes a third of the time.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from setwright.base.errors import InputRefused
from setwright.hover.study import StudiedSlip, Study, study
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.slips.world import as_set
from tests.hover.by_hand import DEMOS, as_proved, written_by_hand

__all__ = ["SETUPS", "differences", "studied"]

SETUPS = (("bearing-cap", "first side"), ("bearing-cap", "second side"), ("pintle", "top"), ("spacers", "pallet"))


def studied(demo: str, setup: str, *, pitch_mm: float | None = None) -> Study:
    """The study of a demo's setup."""
    folder = load_job(DEMOS / demo)
    together = kit(folder, folder.job.setup_named(setup))
    return study(as_set(together, nominal_truth(together)), pitch_mm=pitch_mm)


def differences(demo: str, setup: str, found: Study, slips: Iterable[StudiedSlip]) -> Iterator[str]:
    """What the whole proof of the hand-written folder says otherwise, a line each."""
    for slip in slips:
        if slip.occurrence.unknown:
            continue  # its text is not there to be written
        with tempfile.TemporaryDirectory() as room:
            folder = written_by_hand(demo, setup, slip, Path(room))
            try:
                proved = as_proved(folder, found.reference)
            except InputRefused as refusal:
                if not slip.consequence.stopped:  # a proof refuses what a control would stop at
                    yield f"{slip.occurrence.words}: refused: {refusal}"
                continue
        mine = slip.consequence
        if (mine.outcome, mine.line, mine.lost_line) != (proved.outcome, proved.line, proved.lost_line):
            said = (f"{one.outcome.value} {one.line} {one.lost_line} {one.text}" for one in (mine, proved))
            yield f"{slip.occurrence.slug}, {slip.occurrence.words}: {' / '.join(said)}"


def main() -> None:
    """All of them, or those named."""
    every = next((int(word) for word in sys.argv[1:] if word.isdigit()), 1)
    words = [word for word in sys.argv[1:] if not word.isdigit()]
    for demo, setup in (pair for pair in SETUPS if all(word in pair for word in words)):
        found = studied(demo, setup)
        slips = found.slips[::every]
        wrong = 0
        for line in differences(demo, setup, found, slips):
            print(line, flush=True)
            wrong += 1
        print(f"{demo}, {setup}: {len(slips)} of {len(found.slips)} slips, {wrong} otherwise", flush=True)


if __name__ == "__main__":
    main()
