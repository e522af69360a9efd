"""Slips of the demos and of a draft that was touched off, against whole proofs of folders into which they were written by hand:
same class, same first line.

A part of them here, spread over every kind of edit; all of them: python -m tests.hover.confirm.
"""

from __future__ import annotations

import pytest

from setwright.hover.course import course_of
from setwright.hover.study import occurrences_in, study
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.slips.catalogue import Occurrence
from setwright.slips.world import as_set
from tests.hover.by_hand import EDITS
from tests.hover.confirm import DRAFTS, SETUPS, differences, source_of

REGISTER_SLIPS = 4


def spread(found: tuple[Occurrence, ...]) -> list[Occurrence]:
    """One slip for each kind of edit, and some of those that are all in the registers."""
    edited: dict[tuple[object, ...], Occurrence] = {}
    for occurrence in found:
        if occurrence.slug in EDITS:
            edited.setdefault(EDITS[occurrence.slug], occurrence)
    held = [occurrence for occurrence in found if occurrence.slug not in EDITS]
    return [*edited.values(), *held[:: max(1, len(held) // REGISTER_SLIPS)]]


JOBS = (*SETUPS, DRAFTS[0])


@pytest.mark.parametrize(("job", "setup"), JOBS, ids=["-".join(pair).replace(" ", "-") for pair in JOBS])
def test_a_whole_proof_of_the_folder_says_the_same(job: str, setup: str) -> None:
    folder = load_job(source_of(job))
    together = kit(folder, folder.job.setup_named(setup))
    world = as_set(together, nominal_truth(together))
    chosen = spread(occurrences_in(course_of(world).case))
    found = study(world, occurrences=chosen)
    assert len(found.slips) >= REGISTER_SLIPS
    assert list(differences(job, setup, found, found.slips)) == []
